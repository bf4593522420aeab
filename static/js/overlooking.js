// @ts-check
/** The record's photo and the live camera, one over the other or side by side, with a closer look at each mark. */
import { fresh } from "./found.js";
import { askCamera, whenAway } from "./livecamera.js";

/** @typedef {{x: number, y: number}} Share of a picture's width and height */

export const CLOSER = 3;

/** @param {Element | Document} root */
export function bindOverlooking(root) {
  for (const section of fresh(root, "[data-overlook]")) {
    const open = section.querySelector("[data-overlook-open]");
    const view = section.querySelector("[data-overlook-view]");
    if (!(open instanceof HTMLElement) || !(view instanceof HTMLDialogElement)) continue;
    open.hidden = false;
    bindView(view);
    open.addEventListener("click", () => {
      view.showModal();
      startCamera(view);
    });
  }
}

/** @param {HTMLDialogElement} view */
function bindView(view) {
  const slider = view.querySelector("[data-overlook-share]");
  if (slider instanceof HTMLInputElement) {
    slider.addEventListener("input", () => mix(view, slider));
    mix(view, slider);
  }
  view.addEventListener("change", (event) => {
    const key = /** @type {HTMLInputElement} */ (event.target);
    if (key.name === "overlook-how") view.dataset.how = key.value;
    if (key.name === "overlook-zoom") closer(view, key.value ? markAt(view, key.value) : null);
  });
  view.querySelector("[data-layers]")?.addEventListener("click", (event) => tapped(view, /** @type {MouseEvent} */ (event)));
}

/**
 * @param {HTMLDialogElement} view
 * @param {HTMLInputElement} slider
 */
function mix(view, slider) {
  const layer = view.querySelector('[data-layer="camera"]');
  if (layer instanceof HTMLElement) layer.style.setProperty("--share", String(Number(slider.value) / 100));
  slider.setAttribute("aria-valuetext", (view.dataset.share ?? "").replace("{share}", slider.value));
}

/**
 * Where a mark lies in its layer, in shares of it.
 * @param {HTMLDialogElement} view
 * @param {string} letter
 * @returns {Share | null}
 */
function markAt(view, letter) {
  closer(view, null);
  const mark = view.querySelector(`[data-mark="${letter}"] circle`)?.getBoundingClientRect();
  const layer = view.querySelector('[data-layer="record"]')?.getBoundingClientRect();
  if (!mark || !layer) return null;
  return shareOf(layer, mark.left + mark.width / 2, mark.top + mark.height / 2);
}

/**
 * @param {DOMRect} box
 * @param {number} x
 * @param {number} y
 * @returns {Share}
 */
function shareOf(box, x, y) {
  return { x: (x - box.left) / box.width, y: (y - box.top) / box.height };
}

/**
 * How a layer is drawn so that a place of it comes to the middle without baring its edge.
 * @param {Share} at
 * @param {number} times
 */
export function closeUp(at, times) {
  const shift = (/** @type {number} */ share) => Math.min(0, Math.max(1 - times, 0.5 - share * times)) * 100;
  return `translate(${shift(at.x).toFixed(2)}%, ${shift(at.y).toFixed(2)}%) scale(${times})`;
}

/**
 * Both layers alike, so that what lies over each other still does.
 * @param {HTMLDialogElement} view
 * @param {Share | null} at null to see all of it
 */
function closer(view, at) {
  view.toggleAttribute("data-closer", Boolean(at));
  for (const layer of view.querySelectorAll("[data-layer] > *")) {
    if (layer instanceof HTMLElement || layer instanceof SVGElement) layer.style.transform = at ? closeUp(at, CLOSER) : "";
  }
}

/**
 * @param {HTMLDialogElement} view
 * @param {MouseEvent} event
 */
function tapped(view, event) {
  const layer = /** @type {Element} */ (event.target).closest("[data-layer]") ?? view.querySelector("[data-layer]");
  const whole = view.querySelector('input[name="overlook-zoom"][value=""]');
  const was = view.hasAttribute("data-closer");
  if (whole instanceof HTMLInputElement) whole.checked = true;
  closer(view, was || !layer ? null : shareOf(layer.getBoundingClientRect(), event.clientX, event.clientY));
}

/** @param {HTMLDialogElement} view */
async function startCamera(view) {
  const video = view.querySelector("video");
  const says = view.querySelector("[data-overlook-says]");
  if (!video || !(says instanceof HTMLElement)) return;
  says.textContent = "";
  const { stream, why } = await askCamera({ width: { ideal: 1920 }, height: { ideal: 1440 } });
  view.toggleAttribute("data-alone", !stream);
  if (!stream) {
    says.textContent = says.dataset[why] ?? "";
    return;
  }
  const done = new AbortController();
  const stop = () => {
    done.abort();
    for (const track of stream.getTracks()) track.stop();
    video.srcObject = null;
  };
  if (!view.open) return stop();
  whenAway(() => view.close(), done.signal);
  view.addEventListener("close", stop, { signal: done.signal });
  video.srcObject = stream;
  await video.play().catch(() => {});
}
