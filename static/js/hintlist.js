// @ts-check
/** Shows the hints of a photo: a shape and a word each, what was seen drawn over the picture, one line aloud. */
import { worst } from "./framing.js";

/**
 * @typedef {import("./framing.js").Hint} Hint
 * @typedef {import("./framing.js").Name} Name
 */

const SVG = "http://www.w3.org/2000/svg";

/**
 * Show the hints that the page asks for, and return those.
 * @param {HTMLElement} page
 * @param {Record<Name, Hint>} hints
 * @returns {Partial<Record<Name, Hint>>}
 */
export function showHints(page, hints) {
  /** @type {Partial<Record<Name, Hint>>} */
  const asked = {};
  for (const item of page.querySelectorAll("[data-hint]")) {
    if (!(item instanceof HTMLElement)) continue;
    const name = /** @type {Name} */ (item.dataset.hint);
    asked[name] = hints[name];
    item.dataset.state = hints[name].state;
    const text = item.querySelector("[data-hint-text]");
    const words = wordsOf(item, hints[name]);
    if (text && text.textContent !== words) text.textContent = words;
  }
  page.dataset.ready = worst(asked);
  return asked;
}

/**
 * @param {HTMLElement} item
 * @param {Hint} hint
 */
function wordsOf(item, { key, params }) {
  return (item.dataset[key] ?? "").replace(/\{(\w+)\}/g, (whole, name) => String(params[name] ?? whole));
}

/**
 * Say one line aloud: by `hint.key`, by a word of the page's own, or nothing.
 * @param {HTMLElement} page
 * @param {string} what
 */
export function saying(page, what) {
  const place = page.querySelector("[data-camera-says]");
  if (!(place instanceof HTMLElement)) return;
  const [hint, key] = what.split(".");
  const item = key ? page.querySelector(`[data-hint="${hint}"] [data-hint-text]`) : null;
  place.textContent = item?.textContent ?? place.dataset[hint] ?? "";
  place.classList.toggle("unseen", Boolean(key) || what === "ready" || what === "");
}

/**
 * What the hints of a photo taken come to.
 * @param {HTMLElement} page
 * @param {Partial<Record<Name, Hint>>} hints
 */
export function verdictOf(page, hints) {
  const place = page.querySelector("[data-camera-verdict]");
  if (place instanceof HTMLElement) place.textContent = place.dataset[worst(hints)] ?? "";
}

/**
 * Draw the label's square and the rings over the picture.
 * @param {HTMLElement} page
 * @param {import("./glimpse.js").Glimpse} seen
 */
export function drawSeen(page, { label, rings, width, height }) {
  const over = page.querySelector("[data-camera-over]");
  if (!over) return;
  over.setAttribute("viewBox", `0 0 ${width} ${height}`);
  const square = label ? [shape("polygon", { points: label.corners.map(({ x, y }) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ") })] : [];
  const circles = rings.map(({ x, y, radius }) => shape("circle", { cx: x.toFixed(1), cy: y.toFixed(1), r: (radius * 1.25).toFixed(1) }));
  over.replaceChildren(...square, ...circles);
}

/**
 * @param {string} name
 * @param {Record<string, string>} attributes
 */
function shape(name, attributes) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
}
