// @ts-check
/** Shows what is drawn over a photo: on the picture, and as a list with a field for a few words each. */
import { arrowPath } from "./drawnshapes.js";

/**
 * @typedef {import("./drawnshapes.js").Shape} Shape
 * @typedef {import("./drawnshapes.js").Sheet} Sheet
 * @typedef {import("./drawnshapes.js").Size} Size
 */

const SVG = "http://www.w3.org/2000/svg";

/**
 * @param {string} name
 * @param {Record<string, string | number>} attributes
 * @param {(Node | string)[]} children
 */
function made(name, attributes, children = []) {
  const part = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) part.setAttribute(key, String(value));
  part.append(...children);
  return part;
}

/**
 * Draw the shapes over the picture, the chosen one with its ends.
 * @param {Element} stage
 * @param {Sheet} sheet
 * @param {Size} size
 */
export function shapesOver(stage, { shapes, chosen }, size) {
  stage.querySelector("[data-draw-over]")?.replaceChildren(...shapes.map((shape, n) => drawn(shape, n === chosen, size)));
}

/**
 * @param {Shape} shape
 * @param {boolean} chosen
 * @param {Size} size
 */
function drawn(shape, chosen, size) {
  const [x1, y1, x2, y2] = [shape.start[0] * size.width, shape.start[1] * size.height, shape.end[0] * size.width, shape.end[1] * size.height];
  const [name, attributes] = /** @type {[string, Record<string, string | number>]} */ (shape.sort === "circle"
    ? ["circle", { cx: x1, cy: y1, r: Math.hypot(x2 - x1, y2 - y1) }]
    : ["path", { d: arrowPath(shape, size) }]);
  const unit = size.width / 100;
  // Near the right edge the words run to the left, as on the page of the photo.
  /** @type {Record<string, string | number>} */
  const along = shape.start[0] > 0.7 ? { "text-anchor": "end", x: x1 - unit } : { x: x1 + unit };
  const words = shape.text ? [made("text", { ...along, y: y1 - unit, "font-size": 3 * unit }, [shape.text])] : [];
  const ends = chosen ? (shape.sort === "circle" ? [[x2, y2]] : [[x1, y1], [x2, y2]]) : [];
  return made("g", { class: chosen ? "drawn chosen" : "drawn" }, [
    made(name, { ...attributes, class: "under" }), made(name, attributes), ...words,
    ...ends.map(([cx, cy]) => made("circle", { cx, cy, r: unit, class: "grip" })),
  ]);
}

/** @param {Element} form */
export function rowsOf(form) {
  return [...form.querySelectorAll("[data-draw-list] > li")];
}

/**
 * Bring the list in step with the shapes, without touching a field that is being typed in.
 * @param {Element} form
 * @param {Sheet} sheet
 */
export function listed(form, { shapes, chosen }) {
  const list = form.querySelector("[data-draw-list]");
  const model = form.querySelector("template[data-draw-row]");
  if (!list || !(model instanceof HTMLTemplateElement)) return;
  while (list.children.length > shapes.length) list.lastElementChild?.remove();
  while (list.children.length < shapes.length) list.append(model.content.cloneNode(true));
  shapes.forEach((shape, n) => {
    const row = list.children[n];
    row.classList.toggle("chosen", n === chosen);
    named(row, nameOf(form, shape, n));
    const field = row.querySelector("input");
    if (field && document.activeElement !== field) field.value = shape.text;
  });
  form.querySelector("[data-draw-none]")?.toggleAttribute("hidden", shapes.length > 0);
}

/**
 * @param {Element} row
 * @param {string} name
 */
function named(row, name) {
  for (const part of row.querySelectorAll("[data-draw-name]")) {
    if (part.textContent !== name) part.textContent = name;
  }
}

/**
 * @param {Element} form
 * @param {Shape} shape
 * @param {number} n
 */
function nameOf(form, { sort }, n) {
  return (form.getAttribute(`data-name-${sort}`) ?? "").replace("{n}", String(n + 1));
}

/**
 * Say what became of the chosen shape.
 * @param {Element} form
 * @param {"added" | "removed" | "undone" | "full"} what
 * @param {Sheet} sheet
 */
export function say(form, what, { shapes, chosen }) {
  const place = form.querySelector("[data-draw-says]");
  const shape = shapes[chosen];
  const words = place?.getAttribute(`data-${what}`) ?? "";
  if (place) place.textContent = words.replace("{name}", shape ? nameOf(form, shape, chosen) : "");
}
