// @ts-check
/**
 * Brings the corners of a label's square to its own dots, and tells how soft their edges are. Pure: works on
 * grey pixels. Places are continuous: the middle of the first pixel is (0.5, 0.5).
 */
import { cornersOf, pixelOf, planeOf, sidePx } from "./squareplane.js";

/**
 * @typedef {import("./squareplane.js").Point} Point
 * @typedef {import("./squareplane.js").Plane} Plane
 * @typedef {{data: ArrayLike<number>, width: number, height: number}} Grey
 * @typedef {{corners: Point[], blur: number, contrast: number, off: number}} Fit
 *   `blur` is the spread of an edge and `off` how far the last step moved a corner, both in dots
 */

const ROUNDS = 12;
const STEP = 0.4;
const SOFT = 0.6;
const PROBE = 0.25;
const MOST_MISREAD = 4;
// What pixels and reading between them add to the spread of an edge, in pixels (worked out on drawn squares).
const OF_PIXELS = 0.58;

/**
 * Grey of a place, between pixels.
 * @param {Grey} grey
 * @param {number} x
 * @param {number} y
 */
export function greyAt({ data, width, height }, x, y) {
  const px = Math.min(Math.max(x - 0.5, 0), width - 1.001);
  const py = Math.min(Math.max(y - 0.5, 0), height - 1.001);
  const left = Math.floor(px);
  const top = Math.floor(py);
  const fx = px - left;
  const fy = py - top;
  const n = top * width + left;
  return (data[n] * (1 - fx) + data[n + 1] * fx) * (1 - fy) + (data[n + width] * (1 - fx) + data[n + width + 1] * fx) * fy;
}

/**
 * Bring a label's corners from where a reader saw them to where its own dots lie, and tell how soft they are.
 * @param {Grey} grey
 * @param {Point[]} seen corners within half a dot or so
 * @param {number} dots along a side
 * @returns {Fit | null} null where there is no such square
 */
export function fitted(grey, seen, dots) {
  let plane = planeOf(turnedRight(grey, seen, dots));
  let pattern = patternIn(grey, plane, dots);
  let off = Infinity;
  const dot = sidePx(seen) / dots;
  for (let round = 0; round < ROUNDS && off > 0.003; round += 1) {
    const step = stepOf(grey, plane, pattern, dots);
    if (!step) return null;
    const next = plane.map((value, n) => value + step[n]);
    off = Math.max(...cornersOf(next).map((one, n) => Math.hypot(one.x - cornersOf(plane)[n].x, one.y - cornersOf(plane)[n].y))) / dot;
    if (!(off < 3)) return null;
    plane = next;
    pattern = patternIn(grey, plane, dots);
  }
  if (misread(pattern, dots) > MOST_MISREAD) return null;
  return { corners: cornersOf(plane), off, ...softness(grey, plane, pattern, dots) };
}

/**
 * The corners in the order TL, TR, BR, BL, whichever of them a reader named first.
 * @param {Grey} grey
 * @param {Point[]} seen
 * @param {number} dots
 */
function turnedRight(grey, seen, dots) {
  const turns = seen.map((_, n) => [...seen.slice(n), ...seen.slice(0, n)]);
  const wrong = turns.map((corners) => misread(patternIn(grey, planeOf(corners), dots), dots));
  return turns[wrong.indexOf(Math.min(...wrong))];
}

/**
 * How many dots of the three finder squares are not as they have to be (ISO/IEC 18004:2015, 6.3.3).
 * @param {Uint8Array} pattern
 * @param {number} dots
 */
function misread(pattern, dots) {
  let wrong = 0;
  for (const [left, top] of [[0, 0], [dots - 7, 0], [0, dots - 7]]) {
    for (let n = 0; n < 49; n += 1) {
      const [across, down] = [n % 7, Math.floor(n / 7)];
      const ring = Math.max(Math.abs(across - 3), Math.abs(down - 3));
      if (pattern[(top + down + 1) * (dots + 2) + left + across + 1] !== (ring === 2 ? 0 : 1)) wrong += 1;
    }
  }
  return wrong;
}

/**
 * Dark (1) or light (0) of every dot, read at its middle; a margin of one light dot goes around.
 * @param {Grey} grey
 * @param {Plane} plane
 * @param {number} dots
 */
function patternIn(grey, plane, dots) {
  const side = dots + 2;
  const read = Float64Array.from({ length: dots * dots }, (_, n) => greyOn(grey, plane, dots, n % dots + 0.5, Math.floor(n / dots) + 0.5));
  const sorted = Float64Array.from(read).sort();
  const cut = (sorted[Math.floor(sorted.length * 0.1)] + sorted[Math.floor(sorted.length * 0.9)]) / 2;
  const pattern = new Uint8Array(side * side);
  read.forEach((value, n) => { pattern[(Math.floor(n / dots) + 1) * side + n % dots + 1] = value < cut ? 1 : 0; });
  return pattern;
}

/**
 * Grey of a place of the square, counted in dots from its corner.
 * @param {Grey} grey
 * @param {Plane} plane
 * @param {number} dots
 * @param {number} across
 * @param {number} down
 */
function greyOn(grey, plane, dots, across, down) {
  const { x, y } = pixelOf(plane, 2 * across / dots - 1, 2 * down / dots - 1);
  return greyAt(grey, x, y);
}

/**
 * How dark the pattern is at a place counted in dots, with edges a little soft.
 * @param {Uint8Array} pattern
 * @param {number} dots
 * @param {number} across
 * @param {number} down
 */
function darkAt(pattern, dots, across, down) {
  const side = dots + 2;
  const left = Math.floor(across + 0.5);
  const top = Math.floor(down + 0.5);
  const fx = Math.min(1, Math.max(0, (across - left) / SOFT + 0.5));
  const fy = Math.min(1, Math.max(0, (down - top) / SOFT + 0.5));
  const n = top * side + left;
  return (pattern[n] * (1 - fx) + pattern[n + 1] * fx) * (1 - fy) + (pattern[n + side] * (1 - fx) + pattern[n + side + 1] * fx) * fy;
}

/**
 * One step of least squares (Gauss-Newton) of the picture against light + contrast * pattern.
 * @param {Grey} grey
 * @param {Plane} p
 * @param {Uint8Array} pattern
 * @param {number} dots
 */
function stepOf(grey, p, pattern, dots) {
  const rows = new Float64Array(110);
  const row = new Float64Array(11);
  for (let down = -0.4; down < dots + 0.4; down += STEP) {
    for (let across = -0.4; across < dots + 0.4; across += STEP) {
      const u = 2 * across / dots - 1;
      const v = 2 * down / dots - 1;
      const w = p[6] * u + p[7] * v + 1;
      const x = (p[0] * u + p[1] * v + p[2]) / w;
      const y = (p[3] * u + p[4] * v + p[5]) / w;
      const gx = (greyAt(grey, x + 0.5, y) - greyAt(grey, x - 0.5, y)) / w;
      const gy = (greyAt(grey, x, y + 0.5) - greyAt(grey, x, y - 0.5)) / w;
      const pull = -(gx * x + gy * y);
      row.set([gx * u, gx * v, gx, gy * u, gy * v, gy, pull * u, pull * v, -1, -darkAt(pattern, dots, across, down), -greyAt(grey, x, y)]);
      for (let n = 0; n < 10; n += 1) {
        for (let m = n; m < 11; m += 1) rows[n * 11 + m] += row[n] * row[m];
      }
    }
  }
  for (let n = 1; n < 10; n += 1) for (let m = 0; m < n; m += 1) rows[n * 11 + m] = rows[m * 11 + n];
  return solved(rows);
}

/**
 * Ten unknowns by elimination with the largest pivot; null where they are not told apart.
 * @param {Float64Array} m ten rows of eleven
 */
function solved(m) {
  for (let n = 0; n < 10; n += 1) {
    let best = n;
    for (let row = n + 1; row < 10; row += 1) if (Math.abs(m[row * 11 + n]) > Math.abs(m[best * 11 + n])) best = row;
    if (!(Math.abs(m[best * 11 + n]) > 1e-9)) return null;
    for (let k = 0; k < 11; k += 1) [m[n * 11 + k], m[best * 11 + k]] = [m[best * 11 + k], m[n * 11 + k]];
    for (let row = 0; row < 10; row += 1) {
      const part = row === n ? 0 : m[row * 11 + n] / m[n * 11 + n];
      if (part) for (let k = n; k < 11; k += 1) m[row * 11 + k] -= part * m[n * 11 + k];
    }
  }
  return Array.from({ length: 10 }, (_, n) => m[n * 11 + 10] / m[n * 11 + n]);
}

/**
 * The spread of the dots' edges, from how much of the contrast is passed within a quarter dot to either side.
 * @param {Grey} grey
 * @param {Plane} plane
 * @param {Uint8Array} pattern
 * @param {number} dots
 */
function softness(grey, plane, pattern, dots) {
  const side = dots + 2;
  const at = (/** @type {number} */ across, /** @type {number} */ down) => greyOn(grey, plane, dots, across, down);
  const read = Float64Array.from({ length: dots * dots }, (_, n) => at(n % dots + 0.5, Math.floor(n / dots) + 0.5)).sort();
  const contrast = read[Math.floor(read.length * 0.95)] - read[Math.floor(read.length * 0.05)];
  let [passed, edges] = [0, 0];
  for (let n = 0; n < dots * dots; n += 1) {
    const [across, down] = [n % dots, Math.floor(n / dots)];
    const here = pattern[(down + 1) * side + across + 1];
    for (const [right, below] of [[1, 0], [0, 1]]) {
      const there = pattern[(down + 1 + below) * side + across + 1 + right];
      if (here === there) continue;
      const [x, y] = right ? [across + 1, down + 0.5] : [across + 0.5, down + 1];
      const run = at(x + right * PROBE, y + below * PROBE) - at(x - right * PROBE, y - below * PROBE);
      passed += here ? run : -run;
      edges += 1;
    }
  }
  const whole = spread(edges && contrast > 0 ? passed / edges / contrast : 0);
  const ofPixels = OF_PIXELS * dots / sidePx(cornersOf(plane));
  return { contrast, blur: Math.sqrt(Math.max(0, whole ** 2 - ofPixels ** 2)) };
}

/**
 * The spread of a Gauss edge of which so much lies within a quarter dot to either side.
 * @param {number} share
 */
function spread(share) {
  // erf(x) is near tanh(1.2 x) here: within 0.02 for x from 0 to 2, worked out anew.
  const part = Math.min(0.999, Math.max(0.02, share));
  return PROBE / Math.SQRT2 / (Math.atanh(part) / 1.2);
}
