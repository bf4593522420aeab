// @ts-check
/** The label's square as a plane seen by a camera. Corners go round as TL, TR, BR, BL; u and v run from -1 to 1. */

/**
 * @typedef {{x: number, y: number}} Point
 * @typedef {number[]} Plane eight figures that take (u, v) to a pixel
 */

// Letters and figures that a square of version 1, 2, 3 ... holds at level Q in alphanumeric mode
// (ISO/IEC 18004:2015, table 7); its side counts 17 + 4 dots a version.
const HOLDS = [16, 29, 47, 67, 87, 108, 125, 157, 189, 221];

/**
 * How many dots a label's square counts along a side, by the text it holds.
 * @param {string} text
 */
export function dotsOf(text) {
  const version = HOLDS.findIndex((most) => text.length <= most) + 1;
  return 17 + 4 * (version || HOLDS.length);
}

/**
 * The plane that takes the corners of the square -1 to 1 to four pixels.
 * Source: projective map of a quadrilateral, in closed form (Heckbert 1989, section 2.2).
 * @param {Point[]} corners
 * @returns {Plane}
 */
export function planeOf([a, b, c, d]) {
  const [sx, sy] = [a.x - b.x + c.x - d.x, a.y - b.y + c.y - d.y];
  const [dx1, dy1, dx2, dy2] = [b.x - c.x, b.y - c.y, d.x - c.x, d.y - c.y];
  const whole = dx1 * dy2 - dx2 * dy1;
  const [g, h] = [(sx * dy2 - dx2 * sy) / whole, (dx1 * sy - sx * dy1) / whole];
  const unit = [b.x - a.x + g * b.x, d.x - a.x + h * d.x, a.x, b.y - a.y + g * b.y, d.y - a.y + h * d.y, a.y, g, h, 1];
  return centred(unit);
}

/**
 * From the square 0 to 1 to the square -1 to 1.
 * @param {number[]} m
 */
function centred(m) {
  const rows = [0, 3, 6].map((n) => [m[n] / 2, m[n + 1] / 2, m[n + 2] + m[n] / 2 + m[n + 1] / 2]).flat();
  return rows.slice(0, 8).map((value) => value / rows[8]);
}

/**
 * @param {Plane} p
 * @param {number} u
 * @param {number} v
 * @returns {Point}
 */
export function pixelOf(p, u, v) {
  const w = p[6] * u + p[7] * v + 1;
  return { x: (p[0] * u + p[1] * v + p[2]) / w, y: (p[3] * u + p[4] * v + p[5]) / w };
}

/** @param {Plane} p */
export function cornersOf(p) {
  return [[-1, -1], [1, -1], [1, 1], [-1, 1]].map(([u, v]) => pixelOf(p, u, v));
}

/**
 * The mean side of the square in pixels.
 * @param {Point[]} corners
 */
export function sidePx(corners) {
  return corners.reduce((sum, one, n) => sum + Math.hypot(one.x - corners[(n + 1) % 4].x, one.y - corners[(n + 1) % 4].y), 0) / 4;
}

/**
 * The angle between the label's plane and the picture's, by the line where parallels of the label meet.
 * @param {Point[]} corners
 * @param {number} focalPx
 * @param {Point} centre the middle of the picture
 */
export function tiltDeg(corners, focalPx, centre) {
  const p = planeOf(corners.map((one) => ({ x: (one.x - centre.x) / focalPx, y: (one.y - centre.y) / focalPx })));
  const [one, other] = [[p[0], p[3], p[6]], [p[1], p[4], p[7]]];
  const upright = [
    one[1] * other[2] - one[2] * other[1], one[2] * other[0] - one[0] * other[2], one[0] * other[1] - one[1] * other[0],
  ];
  return Math.acos(Math.min(1, Math.abs(upright[2]) / Math.hypot(...upright))) * 180 / Math.PI;
}
