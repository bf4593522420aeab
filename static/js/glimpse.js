// @ts-check
/** One look at a frame or a photo: its label read and brought to its own dots, its ringed marks counted. */
import { isCode, plainCode } from "./codes.js";
import { ringedMarks } from "./ringed.js";
import { fitted } from "./squarefit.js";
import { dotsOf, sidePx } from "./squareplane.js";

/**
 * @typedef {import("./squareplane.js").Point} Point
 * @typedef {import("./ringed.js").Ringed} Ringed
 * @typedef {import("./framing.js").Look & {rings: Ringed[]}} Glimpse
 * @typedef {{left: number, top: number, width: number, height: number}} Part of a picture, in its pixels
 * @typedef {(source: CanvasImageSource, width: number, height: number, scale?: number) => Promise<Glimpse>} Look
 */

const WHOLE_PX = 1280;
const CLOSE_PX = 2200;
const MARKS_PX = 1280;
// Finer than this a dot tells no more, and edges lie too far apart for the fit's steps.
const DOT_PX = 6;
// Rings are drawn around marks by hand: 2 to 10 mm across (common practice, no source).
const RING_MM = { least: 2, most: 10 };

/**
 * A look that remembers where the label was, so that the next one is quick.
 * @param {import("./qrread.js").Find} find
 * @param {import("./ringed.js").Colours | null} colours null where marks are not looked for
 * @param {number} labelMm side of the label's square
 * @returns {Look}
 */
export function glimpser(find, colours, labelMm) {
  const [canvas, held] = [document.createElement("canvas"), document.createElement("canvas")];
  /** @type {Point[] | null} */
  let last = null;
  let turn = 0;
  return async (shown, width, height, scale = 1) => {
    // Everything is looked for in one and the same frame: while it is read the live picture moves on.
    const source = shown instanceof HTMLVideoElement ? frozen(held, shown, width, height) : shown;
    const whole = { left: 0, top: 0, width, height };
    turn += 1;
    const seen = (last && await readIn(canvas, source, around(last, 0.6, whole), CLOSE_PX, find))
      || await readIn(canvas, source, whole, turn % 2 ? WHOLE_PX : CLOSE_PX, find);
    last = seen?.corners ?? null;
    const label = seen ? settled(canvas, source, seen, whole) : null;
    const rings = colours ? ringsIn(canvas, source, whole, colours, label, labelMm) : null;
    return { label, marks: rings?.length ?? null, rings: rings ?? [], width, height, scale };
  };
}

/**
 * @param {HTMLCanvasElement} held
 * @param {HTMLVideoElement} video
 * @param {number} width
 * @param {number} height
 */
function frozen(held, video, width, height) {
  if (held.width !== width || held.height !== height) Object.assign(held, { width, height });
  held.getContext("2d", { willReadFrequently: true })?.drawImage(video, 0, 0, width, height);
  return held;
}

/**
 * The part of a picture around some points, with a margin in shares of its size.
 * @param {Point[]} points
 * @param {number} margin
 * @param {Part} whole
 * @returns {Part}
 */
export function around(points, margin, whole) {
  const [xs, ys] = [points.map((one) => one.x), points.map((one) => one.y)];
  const wide = Math.max(Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys)) * margin;
  const [left, top] = [Math.max(0, Math.floor(Math.min(...xs) - wide)), Math.max(0, Math.floor(Math.min(...ys) - wide))];
  return {
    left, top, width: Math.max(1, Math.min(whole.width, Math.ceil(Math.max(...xs) + wide)) - left),
    height: Math.max(1, Math.min(whole.height, Math.ceil(Math.max(...ys) + wide)) - top),
  };
}

/**
 * Draw a part of a picture no larger than asked; returns how many of its pixels go to one drawn.
 * @param {HTMLCanvasElement} canvas
 * @param {CanvasImageSource} source
 * @param {Part} part
 * @param {number} mostPx
 */
function drawn(canvas, source, part, mostPx) {
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  const shrink = Math.max(1, Math.max(part.width, part.height) / mostPx);
  canvas.width = Math.max(1, Math.round(part.width / shrink));
  canvas.height = Math.max(1, Math.round(part.height / shrink));
  if (pen) pen.imageSmoothingQuality = "high";
  pen?.drawImage(source, part.left, part.top, part.width, part.height, 0, 0, canvas.width, canvas.height);
  return { shrink, image: () => /** @type {CanvasRenderingContext2D} */ (pen).getImageData(0, 0, canvas.width, canvas.height) };
}

/**
 * @param {HTMLCanvasElement} canvas
 * @param {CanvasImageSource} source
 * @param {Part} part
 * @param {number} mostPx
 * @param {import("./qrread.js").Find} find
 */
async function readIn(canvas, source, part, mostPx, find) {
  const { shrink } = drawn(canvas, source, part, mostPx);
  const seen = await find(canvas);
  if (!seen || seen.corners.length !== 4) return null;
  return { text: seen.text, corners: seen.corners.map(({ x, y }) => ({ x: x * shrink + part.left, y: y * shrink + part.top })) };
}

/**
 * The label with its corners brought to its own dots at full size; with those of the reader where that fails.
 * @param {HTMLCanvasElement} canvas
 * @param {CanvasImageSource} source
 * @param {import("./qrread.js").Label} seen
 * @param {Part} whole
 */
function settled(canvas, source, seen, whole) {
  const part = around(seen.corners, 0.12, whole);
  const { shrink, image } = drawn(canvas, source, part, 1.3 * DOT_PX * dotsOf(seen.text));
  const corners = seen.corners.map(({ x, y }) => ({ x: (x - part.left) / shrink, y: (y - part.top) / shrink }));
  const fit = fitted(greyOf(image()), corners, dotsOf(seen.text));
  const code = isCode(plainCode(seen.text)) ? plainCode(seen.text) : "";
  if (!fit) return { text: seen.text, code, corners: seen.corners, blur: null };
  const placed = fit.corners.map(({ x, y }) => ({ x: x * shrink + part.left, y: y * shrink + part.top }));
  return { text: seen.text, code, corners: placed, blur: fit.blur };
}

/**
 * @param {ImageData} image
 * @returns {import("./squarefit.js").Grey}
 */
export function greyOf({ data, width, height }) {
  const grey = new Float32Array(width * height);
  for (let n = 0; n < grey.length; n += 1) grey[n] = 0.299 * data[4 * n] + 0.587 * data[4 * n + 1] + 0.114 * data[4 * n + 2];
  return { data: grey, width, height };
}

/**
 * @param {HTMLCanvasElement} canvas
 * @param {CanvasImageSource} source
 * @param {Part} whole
 * @param {import("./ringed.js").Colours} colours
 * @param {import("./framing.js").Look["label"]} label
 * @param {number} labelMm
 */
function ringsIn(canvas, source, whole, colours, label, labelMm) {
  const { shrink, image } = drawn(canvas, source, whole, MARKS_PX);
  const pxPerMm = label ? sidePx(label.corners) / labelMm / shrink : null;
  const across = pxPerMm
    ? { least: Math.max(4, RING_MM.least * pxPerMm), most: RING_MM.most * pxPerMm }
    : { least: 5, most: Math.max(canvas.width, canvas.height) / 10 };
  return ringedMarks(image(), colours, across)
    .map((one) => ({ x: one.x * shrink, y: one.y * shrink, radius: one.radius * shrink }));
}
