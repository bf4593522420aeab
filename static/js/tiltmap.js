// @ts-check
/** The map of tilts: the tilt tried is tapped, dragged or moved by the arrow keys; the steppers follow. */
import { fresh } from "./found.js";
import { inWords } from "./stepper.js";

const STEP_DEG = 0.5;
const PAUSE_MS = 80;
/** @type {{ [key: string]: [number, number] }} front and right of view lowered, in steps */
const ARROWS = { ArrowUp: [1, 0], ArrowDown: [-1, 0], ArrowRight: [0, 1], ArrowLeft: [0, -1] };

/**
 * An angle on the steps of the map, within its limit and free of binary dust.
 * @param {number} angle
 * @param {number} limit
 */
export function onStep(angle, limit) {
  const kept = Math.min(limit, Math.max(-limit, angle));
  return Number((Math.round(kept / STEP_DEG) * STEP_DEG).toFixed(1)) + 0;
}

/**
 * Where an arrow key leads from a tilt; null for any other key.
 * @param {string} key
 * @param {[number, number]} tilt
 * @param {number} limit
 * @returns {[number, number] | null}
 */
export function moved(key, [ap, lat], limit) {
  const way = ARROWS[key];
  if (!way) return null;
  return [onStep(ap + way[0] * STEP_DEG, limit), onStep(lat + way[1] * STEP_DEG, limit)];
}

/** @param {Element | Document} root */
export function bindTiltmap(root) {
  for (const map of fresh(root, "[data-tiltmap]")) bindOne(/** @type {any} */ (map));
}

/** @param {SVGSVGElement} map */
function bindOne(map) {
  const ap = input(map.dataset.ap);
  const lat = input(map.dataset.lat);
  const handle = /** @type {SVGGElement | null} */ (map.querySelector("[data-tried]"));
  if (!ap || !lat || !handle) return;
  const limit = Number(map.dataset.limit);
  const show = () => place(map, handle, ap, lat);
  const tell = paced(() => ap.dispatchEvent(new Event("change", { bubbles: true })));
  /** @param {[number, number]} tilt */
  const go = (tilt) => {
    [ap.value, lat.value] = tilt.map((angle) => angle.toFixed(Number.isInteger(angle * 10) ? 1 : 2));
    for (const one of [ap, lat]) one.dispatchEvent(new Event("input", { bubbles: true }));
    tell();
  };
  for (const one of [ap, lat]) one.addEventListener("input", show);
  reachable(handle, map.dataset.handle ?? "", limit);
  show();
  byKeys(handle, () => [Number(ap.value), Number(lat.value)], limit, go);
  byPointer(map, handle, limit, go);
  byLinks(map, go);
}

/** @param {string | undefined} id */
function input(id) {
  const found = document.getElementById(id ?? "");
  return found instanceof HTMLInputElement ? found : null;
}

/**
 * @param {SVGGElement} handle
 * @param {string} label
 * @param {number} limit
 */
function reachable(handle, label, limit) {
  const said = { role: "slider", tabindex: "0", "aria-label": label };
  const range = { "aria-valuemin": String(-limit), "aria-valuemax": String(limit) };
  for (const [name, value] of Object.entries({ ...said, ...range })) handle.setAttribute(name, value);
}

/**
 * Put the handle where the steppers say, and say there what they say.
 * @param {SVGSVGElement} map
 * @param {SVGGElement} handle
 * @param {HTMLInputElement} ap
 * @param {HTMLInputElement} lat
 */
function place(map, handle, ap, lat) {
  const unit = Number(map.dataset.unit);
  const limit = Number(map.dataset.limit);
  const within = [ap, lat].map((one) => Math.min(limit, Math.max(-limit, Number(one.value) || 0)));
  const x = (within[1] * unit).toFixed(1);
  const y = (-within[0] * unit).toFixed(1);
  handle.setAttribute("transform", `translate(${x} ${y})`);
  const way = map.querySelector("[data-way]");
  way?.setAttribute("d", (way.getAttribute("d") ?? "").replace(/L.*$/, `L${x} ${y}`));
  const said = [ap, lat].map((one) => {
    const ways = one.closest("[data-stepper]");
    return ways instanceof HTMLElement ? inWords(one.value, ways.dataset) : one.value;
  });
  handle.setAttribute("aria-valuenow", String(within[0]));
  handle.setAttribute("aria-valuetext", said.join(", "));
}

/**
 * @param {SVGGElement} handle
 * @param {() => [number, number]} at
 * @param {number} limit
 * @param {(tilt: [number, number]) => void} go
 */
function byKeys(handle, at, limit, go) {
  handle.addEventListener("keydown", (event) => {
    const to = moved(event.key, at(), limit);
    if (!to) return;
    event.preventDefault();
    go(to);
  });
}

/**
 * A finger drags the handle, or taps anywhere; a mouse may drag from anywhere.
 * @param {SVGSVGElement} map
 * @param {SVGGElement} handle
 * @param {number} limit
 * @param {(tilt: [number, number]) => void} go
 */
function byPointer(map, handle, limit, go) {
  let dragging = false;
  /** @param {MouseEvent} event */
  const follow = (event) => {
    const matrix = map.getScreenCTM();
    if (!matrix) return;
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
    const unit = Number(map.dataset.unit);
    go([onStep(-at.y / unit, limit), onStep(at.x / unit, limit)]);
  };
  map.addEventListener("pointerdown", (event) => {
    const onHandle = event.target instanceof Node && handle.contains(event.target);
    if (onLink(event) || !(onHandle || event.pointerType === "mouse")) return;
    dragging = true;
    map.setPointerCapture(event.pointerId);
    handle.focus({ preventScroll: true });
  });
  // A finger on the handle drags it and scrolls nothing, whatever the browser makes of touch-action in SVG.
  handle.addEventListener("touchstart", (event) => event.preventDefault(), { passive: false });
  map.addEventListener("pointermove", (event) => dragging && follow(event));
  for (const end of ["pointerup", "pointercancel"]) {
    map.addEventListener(end, () => (dragging = false));
  }
  map.addEventListener("click", (event) => onLink(event) || follow(event));
}

/** @param {Event} event */
function onLink(event) {
  return event.target instanceof Element && event.target.closest("a") !== null;
}

/**
 * Links that lead to a tilt take the handle there instead.
 * @param {SVGSVGElement} map
 * @param {(tilt: [number, number]) => void} go
 */
function byLinks(map, go) {
  const room = map.closest("main") ?? document.body;
  for (const link of room.querySelectorAll("[data-tilt-to]")) {
    link.addEventListener("click", (event) => {
      event.preventDefault();
      const [ap, lat] = (link.getAttribute("data-tilt-to") ?? "").split(" ").map(Number);
      go([ap, lat]);
    });
  }
}

/**
 * Act at most once in a while, and once more after the last call.
 * @param {() => void} act
 */
function paced(act) {
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let timer;
  let last = 0;
  return () => {
    clearTimeout(timer);
    const wait = Math.max(0, last + PAUSE_MS - Date.now());
    timer = setTimeout(() => {
      last = Date.now();
      act();
    }, wait);
  };
}
