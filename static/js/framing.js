// @ts-check
/**
 * What a photo still lacks before it can be measured: a verdict for each of five hints, kept steady, and
 * what of it is worth saying aloud. Pure.
 */
import { dotsOf, sidePx, tiltDeg } from "./squareplane.js";

/**
 * @typedef {import("./squareplane.js").Point} Point
 * @typedef {"good" | "fair" | "poor" | "none"} State
 * @typedef {{state: State, key: string, params: Record<string, string | number>}} Hint `key` names its words
 * @typedef {"label" | "straight" | "near" | "sharp" | "marks"} Name
 * @typedef {{label: {text: string, code: string, corners: Point[], blur: number | null} | null,
 *   marks: number | null, width: number, height: number, scale: number}} Look
 *   `scale` is how many pixels of the photo go to one of the frame
 */

/** @type {Name[]} */
export const NAMES = ["label", "straight", "near", "sharp", "marks"];
// With everyday care, which includes 10 degrees, distances are right to 0.7 mm 95 times of 100; without it to
// 1.4 mm (worked out on drawn photos).
export const GOOD_DEG = 10;
export const POOR_DEG = 20;
// Three pixels a dot are read every time (measured on printed labels); one more leaves room for a soft lens.
export const LEAST_DOT_PX = 3;
export const GOOD_DOT_PX = 4;
// The spread of an edge in dots. From a tenth to nine tenths an edge takes 2.56 times as much: half a dot, a whole one.
export const GOOD_BLUR = 0.2;
export const POOR_BLUR = 0.39;
export const MARKS = 3;
// Rear cameras of tablets and phones lie near 28 mm on a film 36 mm wide (common practice, no source).
const FOCAL_OF_WIDTH = 28 / 36;
const SAY_AFTER_MS = 1200;
const SAY_APART_MS = 5000;

/**
 * The verdict of every hint for what was seen in one frame.
 * @param {Look} look
 * @param {string} code of the case whose label is wanted
 * @returns {Record<Name, Hint>}
 */
export function judged(look, code) {
  const { label } = look;
  const needs = hint("none", "needs");
  return {
    label: ofLabel(label, code),
    straight: label ? ofTilt(tiltIn(look)) : needs,
    near: label ? ofSize(sidePx(label.corners) / dotsOf(label.text) * look.scale) : needs,
    sharp: label ? ofBlur(label.blur) : needs,
    marks: ofMarks(look.marks),
  };
}

/**
 * @param {State} state
 * @param {string} key
 * @param {Record<string, string | number>} params
 * @returns {Hint}
 */
function hint(state, key = state, params = {}) {
  return { state, key, params };
}

/**
 * @param {Look["label"]} label
 * @param {string} code
 */
function ofLabel(label, code) {
  if (!label) return hint("none");
  if (!label.code) return hint("poor", "foreign");
  return label.code === code ? hint("good") : hint("poor", "other", { code: `${label.code.slice(0, 4)}-${label.code.slice(4)}` });
}

/** @param {Look} look */
function tiltIn({ label, width, height }) {
  if (!label || label.blur === null) return null;
  return tiltDeg(label.corners, FOCAL_OF_WIDTH * Math.max(width, height), { x: width / 2, y: height / 2 });
}

/** @param {number | null} deg */
function ofTilt(deg) {
  if (deg === null) return hint("none", "unsteady");
  const params = { deg: Math.round(deg) };
  if (deg <= GOOD_DEG) return hint("good", "good", params);
  return deg <= POOR_DEG ? hint("fair", "fair", params) : hint("poor", "poor", params);
}

/** @param {number} dotPx */
function ofSize(dotPx) {
  if (dotPx >= GOOD_DOT_PX) return hint("good");
  return dotPx >= LEAST_DOT_PX ? hint("fair") : hint("poor");
}

/** @param {number | null} blur */
function ofBlur(blur) {
  if (blur === null) return hint("poor");
  if (blur <= GOOD_BLUR) return hint("good");
  return blur <= POOR_BLUR ? hint("fair") : hint("poor");
}

/** @param {number | null} count */
function ofMarks(count) {
  if (count === null) return hint("none");
  if (count === MARKS) return hint("good");
  if (count > MARKS) return hint("fair", "many", { count });
  return count ? hint("fair", "fair", { count }) : hint("poor");
}

/**
 * Whether a photo of what was seen can be measured; among the hints that are asked for.
 * @param {Partial<Record<Name, Hint>>} hints
 * @returns {State} the worst of them; what is not seen at all counts as poor
 */
export function worst(hints) {
  const states = Object.values(hints).map((one) => one.state);
  if (states.some((one) => one === "poor" || one === "none")) return "poor";
  return states.includes("fair") ? "fair" : "good";
}

/**
 * Keep what is shown steady: a new state counts once two looks in a row agree on it.
 * @param {{shown: Record<Name, Hint>, last: Record<Name, Hint>} | null} before
 * @param {Record<Name, Hint>} now
 */
export function steadied(before, now) {
  if (!before) return { shown: now, last: now };
  const entries = NAMES.map((name) => {
    const same = now[name].key === before.shown[name].key || now[name].key === before.last[name].key;
    return [name, same ? now[name] : before.shown[name]];
  });
  return { shown: /** @type {Record<Name, Hint>} */ (Object.fromEntries(entries)), last: now };
}

/**
 * What to say aloud: the first thing to put right, or that all is well; only once it has stood a while, never
 * twice, and never soon after the last.
 * @typedef {{said: string, saidMs: number, due: string, dueMs: number}} Saying
 * @param {Saying} saying
 * @param {Partial<Record<Name, Hint>>} hints
 * @param {number} nowMs
 * @returns {Saying & {aloud: string}} `aloud` is `name.key`, `ready`, or nothing
 */
export function toSay(saying, hints, nowMs) {
  const due = dueOf(hints);
  const dueMs = due === saying.due ? saying.dueMs : nowMs;
  const silent = due === saying.said || nowMs - dueMs < SAY_AFTER_MS || nowMs - saying.saidMs < SAY_APART_MS;
  if (silent) return { ...saying, due, dueMs, aloud: "" };
  return { said: due, saidMs: nowMs, due, dueMs, aloud: due };
}

/** @param {Partial<Record<Name, Hint>>} hints */
function dueOf(hints) {
  const wrong = NAMES.find((name) => hints[name] && ["poor", "none"].includes(/** @type {Hint} */ (hints[name]).state));
  const soft = wrong ?? NAMES.find((name) => hints[name]?.state === "fair");
  return soft ? `${soft}.${hints[soft]?.key}` : "ready";
}
