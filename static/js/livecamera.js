// @ts-check
/** The camera of the tablet: asked for, lit, and given back whenever the page is left. */

/**
 * The camera that looks away from the person, or why there is none.
 * @param {MediaTrackConstraints} wished size and the like
 * @returns {Promise<{stream: MediaStream | null, why: "noCamera" | "refused"}>}
 */
export async function askCamera(wished) {
  if (!navigator.mediaDevices?.getUserMedia) return { stream: null, why: "noCamera" };
  const video = { facingMode: { ideal: "environment" }, ...wished };
  try {
    return { stream: await navigator.mediaDevices.getUserMedia({ video, audio: false }), why: "noCamera" };
  } catch (error) {
    return { stream: null, why: /** @type {Error} */ (error).name === "NotAllowedError" ? "refused" : "noCamera" };
  }
}

/**
 * A camera left running stays black after the tablet slept: stop it whenever the page is left.
 * @param {() => void} stop
 * @param {AbortSignal} signal
 */
export function whenAway(stop, signal) {
  globalThis.addEventListener("pagehide", stop, { signal });
  document.addEventListener("visibilitychange", () => { if (document.hidden) stop(); }, { signal });
}

/**
 * The key of the light, shown where the device has one.
 * @param {Element | null} key
 * @param {MediaStreamTrack} track
 * @param {AbortSignal} signal
 */
export function bindTorch(key, track, signal) {
  const able = /** @type {any} */ (track.getCapabilities?.() ?? {}).torch;
  if (!(key instanceof HTMLElement)) return;
  key.hidden = !able;
  key.setAttribute("aria-pressed", "false");
  let lit = false;
  key.addEventListener("click", async () => {
    lit = !lit;
    const wish = /** @type {any} */ ({ advanced: [{ torch: lit }] });
    await track.applyConstraints(wish).catch(() => { lit = false; });
    key.setAttribute("aria-pressed", String(lit));
  }, { signal });
}
