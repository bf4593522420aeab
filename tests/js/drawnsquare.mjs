/** Draws squares as a camera sees them: known place, tilt, softness and noise. */
import { planeOf, sidePx } from "../../static/js/squareplane.js";

/** A row of chance that is the same in every run (Numerical Recipes' linear congruence). */
export function chance(seed) {
  let state = seed;
  const even = () => { state = (Math.imul(state, 1664525) + 1013904223) >>> 0; return state / 2 ** 32; };
  return { even, gauss: () => Math.sqrt(-2 * Math.log(1 - even())) * Math.cos(2 * Math.PI * even()) };
}

/** The corners of a square of so many mm seen by a camera: mm and degrees, the picture 1280 by 960. */
export function seen({ tilt = 0, across = 0, mm = 20, distance = 300, focal = 996, aside = [0, 0], turn = 0.3 }) {
  const [t, a] = [tilt, across].map((deg) => deg * Math.PI / 180);
  const axis = [Math.cos(a), Math.sin(a)];
  return [[-1, -1], [1, -1], [1, 1], [-1, 1]].map(([u, v]) => {
    const x = mm / 2 * (u * Math.cos(turn) - v * Math.sin(turn));
    const y = mm / 2 * (u * Math.sin(turn) + v * Math.cos(turn));
    const along = axis[0] * x + axis[1] * y;
    const [px, py] = [x * Math.cos(t) + axis[0] * along * (1 - Math.cos(t)), y * Math.cos(t) + axis[1] * along * (1 - Math.cos(t))];
    const pz = (axis[0] * y - axis[1] * x) * Math.sin(t) + distance;
    return { x: focal * (px + aside[0]) / pz + 640, y: focal * (py + aside[1]) / pz + 480 };
  });
}

/** Dots by chance, with the three finder squares and their light border (ISO/IEC 18004:2015, 6.3.3). */
export function pattern(dots, { even }) {
  const dark = Uint8Array.from({ length: dots * dots }, () => (even() < 0.5 ? 1 : 0));
  for (const [left, top] of [[0, 0], [dots - 7, 0], [0, dots - 7]]) {
    for (let down = -1; down < 8; down += 1) {
      for (let over = -1; over < 8; over += 1) {
        const [x, y] = [left + over, top + down];
        if (x < 0 || y < 0 || x >= dots || y >= dots) continue;
        const ring = Math.max(Math.abs(over - 3), Math.abs(down - 3));
        dark[y * dots + x] = ring === 4 || ring === 2 ? 0 : 1;
      }
    }
  }
  return dark;
}

/** A grey picture just large enough, moved so that it starts at (0, 0); `blur` in dots, `noise` in grey. */
export function picture(corners, dots, { blur = 0.12, noise = 4, seed = 7 } = {}) {
  const by = chance(seed);
  const dark = pattern(dots, by);
  const [left, top] = [Math.floor(Math.min(...corners.map((c) => c.x))) - 12, Math.floor(Math.min(...corners.map((c) => c.y))) - 12];
  const placed = corners.map((c) => ({ x: c.x - left, y: c.y - top }));
  const [width, height] = [Math.ceil(Math.max(...placed.map((c) => c.x))) + 12, Math.ceil(Math.max(...placed.map((c) => c.y))) + 12];
  const spread = blur * sidePx(corners) / dots;
  const back = inverse([...planeOf(placed), 1]);
  const data = new Float32Array(width * height);
  for (let n = 0; n < data.length; n += 1) {
    let sum = 0;
    for (let k = 0; k < 25; k += 1) {
      const at = [n % width + (k % 5 + 0.5) / 5 + by.gauss() * spread, Math.floor(n / width) + (Math.floor(k / 5) + 0.5) / 5 + by.gauss() * spread];
      const [u, v] = through(back, at);
      const [x, y] = [Math.floor((u + 1) / 2 * dots), Math.floor((v + 1) / 2 * dots)];
      sum += x >= 0 && y >= 0 && x < dots && y < dots && dark[y * dots + x] ? 40 : 215;
    }
    data[n] = sum / 25 + noise * by.gauss();
  }
  return { grey: { data, width, height }, corners: placed };
}

function through(m, [x, y]) {
  const w = m[6] * x + m[7] * y + m[8];
  return [(m[0] * x + m[1] * y + m[2]) / w, (m[3] * x + m[4] * y + m[5]) / w];
}

function inverse([a, b, c, d, e, f, g, h, i]) {
  return [e * i - f * h, c * h - b * i, b * f - c * e, f * g - d * i, a * i - c * g, c * d - a * f, d * h - e * g, b * g - a * h, a * e - b * d];
}

/** Corners moved by chance, as a reader gives them; `by` in dots. */
export function roughly(corners, dots, by, seed) {
  const { gauss } = chance(seed);
  const dot = sidePx(corners) / dots;
  return corners.map(({ x, y }) => ({ x: x + gauss() * by * dot, y: y + gauss() * by * dot }));
}

/** How far the farthest of four corners lies from where it should, in pixels. */
export function farthest(found, corners) {
  return Math.max(...found.map((one, n) => Math.hypot(one.x - corners[n].x, one.y - corners[n].y)));
}

