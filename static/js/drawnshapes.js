// @ts-check
/** Arrows and circles over a photo, in shares of its width and height: made, moved, sized, written down. Pure. */

/**
 * @typedef {[number, number]} Share x and y from 0 to 1
 * @typedef {{sort: "arrow" | "circle", start: Share, end: Share, text: string}} Shape
 *   an arrow from its tail to its head; a circle from its middle to a place on it
 * @typedef {{width: number, height: number}} Size of the picture in pixels
 */

export const MOST_SHAPES = 20;
export const MOST_LETTERS = 60;
const LEAST = 0.01;
const FIGURE = "(?:0(?:\\.\\d{1,4})?|1(?:\\.0{1,4})?)";
const WRITTEN = new RegExp(`^(arrow|circle) (${FIGURE}) (${FIGURE}) (${FIGURE}) (${FIGURE})(?: ([\\s\\S]*))?$`);
/** @type {Record<string, Share>} */
const WAYS = { ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] };
const STEP = 0.01;
const FINE = 0.002;

/** @param {number} value */
function kept(value) {
  return Number(Math.min(1, Math.max(0, value)).toFixed(4));
}

/**
 * @param {Share} at
 * @returns {Share}
 */
export function inside([x, y]) {
  return [kept(x), kept(y)];
}

/**
 * A shape as an entry holds it.
 * @param {Shape} shape
 */
export function written({ sort, start, end, text }) {
  return [sort, ...inside(start), ...inside(end), text.replace(/\s+/g, " ").trim().slice(0, MOST_LETTERS)].join(" ").trim();
}

/**
 * @param {string} text
 * @returns {Shape | null}
 */
export function readShape(text) {
  const found = WRITTEN.exec(text);
  if (!found) return null;
  const [x1, y1, x2, y2] = found.slice(2, 6).map(Number);
  return { sort: /** @type {Shape["sort"]} */ (found[1]), start: [x1, y1], end: [x2, y2], text: found[6] ?? "" };
}

/**
 * A shape long enough to be seen; one too short is drawn out to the right.
 * @param {Shape} shape
 * @returns {Shape}
 */
export function longEnough(shape) {
  const [dx, dy] = [shape.end[0] - shape.start[0], shape.end[1] - shape.start[1]];
  if (Math.hypot(dx, dy) >= LEAST) return shape;
  return { ...shape, end: inside([shape.start[0] + (shape.start[0] > 0.8 ? -0.12 : 0.12), shape.start[1]]) };
}

/**
 * A new shape in the middle, a little aside of the last one, for whoever adds it by a key.
 * @param {Shape["sort"]} sort
 * @param {number} count how many there are already
 * @returns {Shape}
 */
export function fresh(sort, count) {
  const aside = 0.04 * (count % 6);
  const start = inside([0.42 + aside, 0.42 + aside]);
  return { sort, start, end: inside([start[0] + (sort === "arrow" ? 0.15 : 0.08), start[1] + (sort === "arrow" ? 0.1 : 0)]), text: "" };
}

/**
 * The whole shape by so much; it stays in the picture and keeps its size.
 * @param {Shape} shape
 * @param {Share} by
 * @returns {Shape}
 */
export function moved(shape, by) {
  const room = (/** @type {0 | 1} */ axis) => {
    const [low, high] = [Math.min(shape.start[axis], shape.end[axis]), Math.max(shape.start[axis], shape.end[axis])];
    return Math.min(1 - high, Math.max(-low, by[axis]));
  };
  const [dx, dy] = [room(0), room(1)];
  return { ...shape, start: inside([shape.start[0] + dx, shape.start[1] + dy]), end: inside([shape.end[0] + dx, shape.end[1] + dy]) };
}

/**
 * What a key does to a shape: an arrow key moves it, with shift its end; with alt a fifth as far. Null for others.
 * @param {{key: string, shiftKey: boolean, altKey: boolean}} event
 * @param {Shape} shape
 * @param {Size} size
 * @returns {Shape | null}
 */
export function byKey({ key, shiftKey, altKey }, shape, size) {
  const way = WAYS[key];
  if (!way) return null;
  const step = altKey ? FINE : STEP;
  /** @type {Share} */
  const by = [way[0] * step, way[1] * step * size.width / size.height];
  return shiftKey ? sized(shape, [shape.end[0] + by[0], shape.end[1] + by[1]]) : moved(shape, by);
}

/**
 * The shape with its end elsewhere, unless nothing would be left of it.
 * @param {Shape} shape
 * @param {Share} end
 * @returns {Shape}
 */
export function sized(shape, end) {
  const next = { ...shape, end: inside(end) };
  return Math.hypot(next.end[0] - next.start[0], next.end[1] - next.start[1]) < LEAST ? shape : next;
}

/**
 * How far a place is from the stroke of a shape, in pixels.
 * @param {Shape} shape
 * @param {Share} at
 * @param {Size} size
 */
export function farFrom({ sort, start, end }, at, size) {
  const [a, b, p] = [start, end, at].map(([x, y]) => [x * size.width, y * size.height]);
  if (sort === "circle") return Math.abs(Math.hypot(p[0] - a[0], p[1] - a[1]) - Math.hypot(b[0] - a[0], b[1] - a[1]));
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const along = Math.min(1, Math.max(0, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / (dx * dx + dy * dy)));
  return Math.hypot(p[0] - a[0] - along * dx, p[1] - a[1] - along * dy);
}

/**
 * The stroke of an arrow with its head, as a path; the page of the photo draws the same.
 * @param {Shape} shape
 * @param {Size} size
 */
export function arrowPath({ start, end }, { width, height }) {
  const [x1, y1, x2, y2] = [start[0] * width, start[1] * height, end[0] * width, end[1] * height];
  const length = Math.hypot(x2 - x1, y2 - y1) || 1;
  const [ux, uy, h] = [(x2 - x1) / length, (y2 - y1) / length, width * 0.024];
  const point = (/** @type {number} */ x, /** @type {number} */ y) => `${x.toFixed(1)} ${y.toFixed(1)}`;
  const one = point(x2 - h * (ux + 0.6 * uy), y2 - h * (uy - 0.6 * ux));
  const other = point(x2 - h * (ux - 0.6 * uy), y2 - h * (uy + 0.6 * ux));
  return `M${point(x1, y1)}L${point(x2, y2)}M${one}L${point(x2, y2)}L${other}`;
}

/**
 * The shapes with a step back: every change is put on a pile, the last one comes off it first.
 * @typedef {{shapes: Shape[], before: Shape[][], chosen: number}} Sheet `chosen` is -1 where none is
 */

/**
 * @param {Sheet} sheet
 * @param {Shape[]} shapes
 * @param {number} chosen
 * @returns {Sheet}
 */
export function changed(sheet, shapes, chosen = sheet.chosen) {
  return { shapes, before: [...sheet.before.slice(-99), sheet.shapes], chosen: Math.min(chosen, shapes.length - 1) };
}

/**
 * @param {Sheet} sheet
 * @returns {Sheet}
 */
export function undone(sheet) {
  const last = sheet.before[sheet.before.length - 1];
  return last ? { shapes: last, before: sheet.before.slice(0, -1), chosen: Math.min(sheet.chosen, last.length - 1) } : sheet;
}
