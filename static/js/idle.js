// @ts-check
/**
 * Covers the page when its person has touched no page of this browser for data-idle-seconds, also after the
 * tablet slept.
 */
import { cover } from "./cover.js";

const LOOK_MS = 5000;
const TELL_MS = 1000;

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
 * When a person last touched any page of this browser: two tabs share one seat.
 * @param {string} person
 */
function sharedTouch(person) {
  const name = `tiltbook-touched-${person}`;
  return {
    last: () => {
      try {
        return Number(localStorage.getItem(name) ?? 0);
      } catch {
        return 0;
      }
    },
    touch: (/** @type {number} */ atMs) => {
      try {
        localStorage.setItem(name, String(atMs));
      } catch {
        // A browser that keeps nothing has the touches of each tab alone.
      }
    },
  };
}

/**
 * @param {HTMLElement} body
 * @param {() => number} now
 */
export function watchIdle(body, now = Date.now) {
  const seconds = Number(body.dataset.idleSeconds ?? 0);
  const dialog = document.getElementById("cover");
  if (!seconds || !(dialog instanceof HTMLDialogElement)) return;
  const shared = sharedTouch(body.dataset.person ?? "");
  let [last, told] = [now(), 0];
  const tell = () => {
    last = now();
    if (last - told < TELL_MS) return;
    told = last;
    shared.touch(last);
  };
  // A time ahead of now is of a clock set back since: it puts nothing off.
  const idle = () => [last, shared.last()].every((one) => one > now() || isIdle(one, now(), seconds));
  const touched = () => {
    if (!idle()) tell();
  };
  const look = () => {
    if (!dialog.open && idle()) cover(dialog, tell);
  };
  tell();
  for (const name of ["pointerdown", "keydown", "wheel", "touchmove"]) {
    document.addEventListener(name, touched, { passive: true, capture: true });
  }
  document.addEventListener("visibilitychange", look);
  setInterval(look, LOOK_MS);
}
