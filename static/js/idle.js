// @ts-check
/** Covers the page when nobody has touched it for data-idle-seconds, also after the tablet slept. */
import { cover } from "./cover.js";

const LOOK_MS = 5000;

/**
 * Whether the time is up.
 * @param {number} lastMs
 * @param {number} nowMs
 * @param {number} idleSeconds
 */
export function isIdle(lastMs, nowMs, idleSeconds) {
  return idleSeconds > 0 && nowMs - lastMs >= idleSeconds * 1000;
}

/**
 * @param {HTMLElement} body
 * @param {() => number} now
 */
export function watchIdle(body, now = Date.now) {
  const seconds = Number(body.dataset.idleSeconds ?? 0);
  const dialog = document.getElementById("cover");
  if (!seconds || !(dialog instanceof HTMLDialogElement)) return;
  let last = now();
  const touched = () => {
    if (!isIdle(last, now(), seconds)) last = now();
  };
  const look = () => {
    if (dialog.open || !isIdle(last, now(), seconds)) return;
    cover(dialog, () => { last = now(); });
  };
  for (const name of ["pointerdown", "keydown", "wheel", "touchmove"]) {
    document.addEventListener(name, touched, { passive: true, capture: true });
  }
  document.addEventListener("visibilitychange", look);
  setInterval(look, LOOK_MS);
}
