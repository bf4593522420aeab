// @ts-check
/**
 * Looks for ringed marks in a small frame: a patch of the mark's colour with the ring's colour around it.
 * A quick look while framing, no measurement: the bench PC looks at the photo itself. Pure.
 */
import { MARK, pencilled, RING } from "./pencilled.js";

/**
 * @typedef {import("./pencilled.js").Frame} Frame
 * @typedef {import("./pencilled.js").Colours} Colours
 * @typedef {{x: number, y: number, radius: number}} Ringed
 */

const APART = 2;
// A ring drawn by hand: seen in three of four ways at least, and no farther from round than this.
const WAYS = 16;
const LEAST_HITS = 12;
const UNROUND = 0.28;

/**
 * @param {Frame} frame
 * @param {Colours} colours
 * @param {{least: number, most: number}} across how wide a ring may be, in pixels
 * @returns {Ringed[]} from left to right
 */
export function ringedMarks(frame, colours, across) {
  const kinds = pencilled(frame, colours);
  const seen = new Uint8Array(kinds.length);
  /** @type {Ringed[]} */
  const found = [];
  for (let n = 0; n < kinds.length; n += 1) {
    if (kinds[n] === 0 || seen[n]) continue;
    const box = patchFrom(n, kinds, seen, frame);
    const [wide, high] = [box.right - box.left + 1, box.bottom - box.top + 1];
    if (box.area < 3 || Math.max(wide, high) > across.most) continue;
    const ringed = surrounded({ x: box.left + wide / 2, y: box.top + high / 2 }, kinds, frame, across);
    const known = ringed && found.some((one) => Math.hypot(one.x - ringed.x, one.y - ringed.y) < Math.max(one.radius, ringed.radius));
    if (ringed && !known) found.push(ringed);
  }
  return found.sort((one, other) => one.x - other.x);
}

/** @typedef {{left: number, right: number, top: number, bottom: number, area: number}} Box */

/**
 * The patch of one colour that a pixel belongs to; small gaps do not part it.
 * @param {number} start
 * @param {Uint8Array} kinds
 * @param {Uint8Array} seen
 * @param {Frame} frame
 * @returns {Box}
 */
function patchFrom(start, kinds, seen, { width, height }) {
  const box = { left: width, right: 0, top: height, bottom: 0, area: 0 };
  const open = [start];
  seen[start] = 1;
  for (let n = open.pop(); n !== undefined; n = open.pop()) {
    const [x, y] = [n % width, Math.floor(n / width)];
    Object.assign(box, { left: Math.min(box.left, x), right: Math.max(box.right, x), top: Math.min(box.top, y), bottom: Math.max(box.bottom, y) });
    box.area += 1;
    for (let dy = Math.max(-APART, -y); dy <= Math.min(APART, height - 1 - y); dy += 1) {
      for (let dx = Math.max(-APART, -x); dx <= Math.min(APART, width - 1 - x); dx += 1) {
        const near = n + dy * width + dx;
        if (kinds[near] !== kinds[start] || seen[near]) continue;
        seen[near] = 1;
        open.push(near);
      }
    }
  }
  return box;
}

/**
 * The ring around a place with a mark in it; null where it is not closed by far, is no round one, or is bare.
 * @param {{x: number, y: number}} at
 * @param {Uint8Array} kinds
 * @param {Frame} frame
 * @param {{least: number, most: number}} across
 * @returns {Ringed | null}
 */
function surrounded(at, kinds, frame, across) {
  let centre = at;
  for (let round = 0; round < 3; round += 1) {
    const hits = hitsFrom(centre, kinds, frame, across.most);
    if (hits.length < LEAST_HITS) return null;
    centre = { x: mean(hits.map((one) => one.x)), y: mean(hits.map((one) => one.y)) };
  }
  const far = hitsFrom(centre, kinds, frame, across.most).map((one) => Math.hypot(one.x - centre.x, one.y - centre.y));
  const radius = mean(far);
  const spread = Math.sqrt(mean(far.map((one) => (one - radius) ** 2)));
  const fits = far.length >= LEAST_HITS && 2 * radius >= across.least && 2 * radius <= across.most && spread <= UNROUND * radius;
  return fits ? markIn(centre, radius, kinds, frame.width) : null;
}

/** @param {number[]} values */
function mean(values) {
  return values.reduce((sum, one) => sum + one, 0) / values.length;
}

/**
 * The first pixels of the ring's colour from a place outward, in sixteen ways.
 * @param {{x: number, y: number}} centre
 * @param {Uint8Array} kinds
 * @param {Frame} frame
 * @param {number} most how far to look, in pixels
 */
function hitsFrom({ x, y }, kinds, { width, height }, most) {
  const hits = [];
  for (let way = 0; way < WAYS; way += 1) {
    const [dx, dy] = [Math.cos(2 * Math.PI * way / WAYS), Math.sin(2 * Math.PI * way / WAYS)];
    for (let far = 1.5; far < 0.7 * most; far += 0.5) {
      const [px, py] = [Math.floor(x + far * dx), Math.floor(y + far * dy)];
      if (px < 0 || py < 0 || px >= width || py >= height) break;
      if (kinds[py * width + px] !== RING) continue;
      hits.push({ x: x + far * dx, y: y + far * dy });
      break;
    }
  }
  return hits;
}

/**
 * The mark inside a ring, null where its middle is bare.
 * @param {{x: number, y: number}} centre
 * @param {number} radius
 * @param {Uint8Array} kinds
 * @param {number} width
 * @returns {Ringed | null}
 */
function markIn({ x, y }, radius, kinds, width) {
  let [count, sumX, sumY] = [0, 0, 0];
  const reach = 0.7 * radius;
  for (let py = Math.ceil(y - reach); py <= y + reach; py += 1) {
    for (let px = Math.ceil(x - reach); px <= x + reach; px += 1) {
      if (kinds[py * width + px] !== MARK || Math.hypot(px + 0.5 - x, py + 0.5 - y) > reach) continue;
      [count, sumX, sumY] = [count + 1, sumX + px + 0.5, sumY + py + 0.5];
    }
  }
  return count < Math.max(4, 0.04 * radius * radius) ? null : { x: sumX / count, y: sumY / count, radius };
}
