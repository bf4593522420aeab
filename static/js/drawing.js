// @ts-check
/** Drawing over a photo: by finger or pen on the picture, by keys on what is chosen, with a list of all of it. */
import { byKey, changed, farFrom, fresh as newShape, inside, longEnough, MOST_SHAPES, moved, readShape, sized, undone, written } from "./drawnshapes.js";
import { fresh } from "./found.js";
import { listed, rowsOf, say, shapesOver } from "./drawnlist.js";

/**
 * @typedef {import("./drawnshapes.js").Share} Share
 * @typedef {import("./drawnshapes.js").Shape} Shape
 * @typedef {import("./drawnshapes.js").Sheet} Sheet
 * @typedef {{form: HTMLFormElement, stage: SVGSVGElement, size: import("./drawnshapes.js").Size, sheet: Sheet}} Desk
 */

const REACH_PX = 24;

/** @param {Element | Document} root */
export function bindDrawing(root) {
  for (const form of fresh(root, "form[data-drawing]")) {
    const stage = form.querySelector("[data-draw-stage]");
    if (!(form instanceof HTMLFormElement) || !(stage instanceof SVGSVGElement)) continue;
    const shapes = JSON.parse(form.dataset.drawing || "[]").map(readShape).filter(Boolean);
    const { width, height } = stage.viewBox.baseVal;
    /** @type {Desk} */
    const desk = { form, stage, size: { width, height }, sheet: { shapes, before: [], chosen: shapes.length - 1 } };
    for (const part of form.querySelectorAll("[data-script]")) part.removeAttribute("hidden");
    // Drawn again before the bench PC answers, it takes the place of what was kept here just now.
    form.addEventListener("tiltbook:kept", (event) => {
      const replaced = form.elements.namedItem("supersedes");
      if (replaced instanceof HTMLInputElement) replaced.value = /** @type {CustomEvent} */ (event).detail.id;
    });
    bindKeys(desk);
    bindPointer(desk);
    bindList(desk);
    show(desk);
  }
}

/** @param {Desk} desk */
function show(desk) {
  const { form, stage, size, sheet } = desk;
  shapesOver(stage, sheet, size);
  listed(form, sheet);
  const hidden = sheet.shapes.map((shape) => Object.assign(document.createElement("input"), { type: "hidden", name: "shapes", value: written(shape) }));
  form.querySelector("[data-draw-shapes]")?.replaceChildren(...hidden);
  for (const key of form.querySelectorAll("[data-draw-add]")) key.toggleAttribute("disabled", sheet.shapes.length >= MOST_SHAPES);
  form.querySelector("[data-draw-undo]")?.toggleAttribute("disabled", sheet.before.length === 0);
}

/**
 * @param {Desk} desk
 * @param {Shape[]} shapes
 * @param {number} chosen
 */
function change(desk, shapes, chosen = desk.sheet.chosen) {
  desk.sheet = changed(desk.sheet, shapes, chosen);
  show(desk);
}

/**
 * @param {Desk} desk
 * @param {Shape} shape
 * @param {number} at
 */
function put(desk, shape, at = desk.sheet.chosen) {
  change(desk, desk.sheet.shapes.map((one, n) => (n === at ? shape : one)), at);
}

/** @param {Desk} desk */
function bindKeys(desk) {
  const { form, stage } = desk;
  for (const key of form.querySelectorAll("[data-draw-add]")) {
    key.addEventListener("click", () => {
      const sort = /** @type {Shape["sort"]} */ (key.getAttribute("data-draw-add"));
      const count = desk.sheet.shapes.length;
      change(desk, [...desk.sheet.shapes, newShape(sort, count)], count);
      say(form, "added", desk.sheet);
      stage.focus();
    });
  }
  form.querySelector("[data-draw-undo]")?.addEventListener("click", () => {
    desk.sheet = undone(desk.sheet);
    show(desk);
    say(form, "undone", desk.sheet);
    if (desk.sheet.before.length === 0) stage.focus();
  });
  stage.addEventListener("keydown", (event) => {
    const shape = desk.sheet.shapes[desk.sheet.chosen];
    if (!shape || event.ctrlKey || event.metaKey) return;
    const next = byKey(event, shape, desk.size);
    if (next) put(desk, next);
    else if (event.key === "Delete" || event.key === "Backspace") remove(desk, desk.sheet.chosen);
    else return;
    event.preventDefault();
  });
}

/**
 * @param {Desk} desk
 * @param {number} at
 */
function remove(desk, at) {
  say(desk.form, "removed", { ...desk.sheet, chosen: at });
  change(desk, desk.sheet.shapes.filter((_, n) => n !== at), Math.max(0, at - 1));
}

/** @param {Desk} desk */
function bindList(desk) {
  const list = desk.form.querySelector("[data-draw-list]");
  list?.addEventListener("click", (event) => {
    const key = /** @type {Element} */ (event.target).closest("[data-draw-remove]");
    if (!key) return;
    const at = rowsOf(desk.form).findIndex((row) => row.contains(key));
    remove(desk, at);
    const next = rowsOf(desk.form)[Math.min(at, desk.sheet.shapes.length - 1)]?.querySelector("[data-draw-remove]") ?? desk.stage;
    /** @type {HTMLElement} */ (next).focus();
  });
  list?.addEventListener("focusin", (event) => choose(desk, rowsOf(desk.form).findIndex((row) => row.contains(/** @type {Node} */ (event.target)))));
  list?.addEventListener("change", (event) => {
    const field = event.target;
    if (!(field instanceof HTMLInputElement)) return;
    const at = rowsOf(desk.form).findIndex((row) => row.contains(field));
    put(desk, { ...desk.sheet.shapes[at], text: field.value }, at);
  });
}

/**
 * @param {Desk} desk
 * @param {number} at
 */
function choose(desk, at) {
  if (at < 0 || at === desk.sheet.chosen) return;
  desk.sheet = { ...desk.sheet, chosen: at };
  show(desk);
}

/**
 * A finger or pen on the picture takes what lies under it, else draws what is chosen to be drawn.
 * @param {Desk} desk
 */
function bindPointer(desk) {
  const { stage, form } = desk;
  stage.addEventListener("pointerdown", (event) => {
    if (event.button !== 0 || !event.isPrimary) return;
    event.preventDefault();
    stage.focus();
    const from = shareAt(desk, event);
    const held = heldAt(desk, from);
    if (held.what === "new" && desk.sheet.shapes.length >= MOST_SHAPES) return say(form, "full", desk.sheet);
    const sort = /** @type {Shape["sort"]} */ (new FormData(form).get("tool") === "circle" ? "circle" : "arrow");
    const at = held.what === "new" ? desk.sheet.shapes.length : held.at;
    const shape = held.what === "new" ? { sort, start: from, end: from, text: "" } : desk.sheet.shapes[at];
    follow(desk, event, at, (to) => dragged(held.what, shape, from, to));
  });
}

/**
 * What a finger at a place takes hold of.
 * @param {Desk} desk
 * @param {Share} at
 * @returns {{what: "start" | "end" | "whole" | "new", at: number}}
 */
function heldAt({ sheet, size, stage }, at) {
  const reach = REACH_PX * size.width / stage.getBoundingClientRect().width;
  const far = (/** @type {Share} */ place) => Math.hypot((place[0] - at[0]) * size.width, (place[1] - at[1]) * size.height);
  const chosen = sheet.shapes[sheet.chosen];
  if (chosen && far(chosen.end) <= reach) return { what: "end", at: sheet.chosen };
  if (chosen && chosen.sort === "arrow" && far(chosen.start) <= reach) return { what: "start", at: sheet.chosen };
  const fars = sheet.shapes.map((shape) => Math.min(farFrom(shape, at, size), shape.sort === "circle" ? far(shape.start) : Infinity));
  const nearest = fars.indexOf(Math.min(...fars));
  return fars[nearest] <= reach ? { what: "whole", at: nearest } : { what: "new", at: -1 };
}

/**
 * @param {"start" | "end" | "whole" | "new"} what
 * @param {Shape} shape
 * @param {Share} from
 * @param {Share} to
 * @returns {Shape}
 */
function dragged(what, shape, from, to) {
  if (what === "whole") return moved(shape, [to[0] - from[0], to[1] - from[1]]);
  if (what === "start") return sized({ ...shape, start: shape.end, end: shape.start }, to).end === shape.start ? shape : { ...shape, start: inside(to) };
  return what === "new" ? { ...shape, end: inside(to) } : sized(shape, to);
}

/**
 * Draw along with the pointer; what came of it is one change, to be undone as one.
 * @param {Desk} desk
 * @param {PointerEvent} down
 * @param {number} at
 * @param {(to: Share) => Shape} drag
 */
function follow(desk, down, at, drag) {
  const { stage } = desk;
  const before = desk.sheet;
  const done = new AbortController();
  const laid = (/** @type {Shape} */ shape) => [...before.shapes.slice(0, at), shape, ...before.shapes.slice(at + 1)];
  stage.setPointerCapture(down.pointerId);
  stage.addEventListener("pointermove", (event) => {
    shapesOver(stage, { ...before, shapes: laid(drag(shareAt(desk, event))), chosen: at }, desk.size);
  }, { signal: done.signal });
  stage.addEventListener("pointerup", (event) => {
    done.abort();
    const isNew = at === before.shapes.length;
    const shape = longEnough(drag(shareAt(desk, event)));
    if (!isNew && written(shape) === written(before.shapes[at])) return choose(desk, at);
    change(desk, laid(shape), at);
    return isNew ? say(desk.form, "added", desk.sheet) : undefined;
  }, { signal: done.signal });
  stage.addEventListener("pointercancel", () => {
    done.abort();
    show(desk);
  }, { signal: done.signal });
}

/**
 * @param {Desk} desk
 * @param {PointerEvent} event
 * @returns {Share}
 */
function shareAt({ stage, size }, event) {
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(stage.getScreenCTM()?.inverse());
  return inside([at.x / size.width, at.y / size.height]);
}
