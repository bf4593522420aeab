// @ts-check
/** Locks the page when nobody has touched it for data-idle-seconds, also after the tablet slept. */

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
  const form = /** @type {HTMLFormElement | null} */ (document.getElementById("lock"));
  if (!seconds || !form) return;
  let last = now();
  let locked = false;
  const touched = () => {
    if (!isIdle(last, now(), seconds)) last = now();
  };
  const look = () => {
    if (locked || !isIdle(last, now(), seconds)) return;
    locked = true;
    form.requestSubmit();
  };
  for (const name of ["pointerdown", "keydown", "wheel", "touchmove"]) {
    document.addEventListener(name, touched, { passive: true, capture: true });
  }
  document.addEventListener("visibilitychange", look);
  setInterval(look, LOOK_MS);
}
