// @ts-check
/** The camera on a label: frame, light, a short vibration, then the form is sent as if typed. */
import { fresh } from "./found.js";
import { askCamera, bindTorch, whenAway } from "./livecamera.js";
import { reader } from "./qrread.js";

const LOOK_MS = 120;

/** @param {Element | Document} root */
export function bindScan(root) {
  for (const panel of fresh(root, "[data-scan]")) {
    const start = panel.querySelector("[data-scan-start]");
    if (!(start instanceof HTMLElement)) continue;
    start.hidden = false;
    let stop = () => {};
    start.addEventListener("click", async () => {
      start.hidden = true;
      stop = await look(panel, () => { start.hidden = false; });
    });
    panel.addEventListener("tiltbook:stop-scan", () => stop());
  }
}

/**
 * Start the camera; returns what stops it.
 * @param {HTMLElement} panel
 * @param {() => void} ended
 * @returns {Promise<() => void>}
 */
async function look(panel, ended) {
  const { stream, why } = await askCamera({ width: { ideal: 1280 }, height: { ideal: 720 } });
  if (!stream) {
    say(panel, why);
    ended();
    return () => {};
  }
  const video = /** @type {HTMLVideoElement} */ (panel.querySelector("video"));
  const done = new AbortController();
  const stop = () => {
    if (done.signal.aborted) return;
    done.abort();
    for (const track of stream.getTracks()) track.stop();
    video.srcObject = null;
    show(panel, false);
    ended();
  };
  whenAway(stop, done.signal);
  panel.querySelector("[data-scan-stop]")?.addEventListener("click", stop, { signal: done.signal });
  bindTorch(panel.querySelector("[data-scan-torch]"), stream.getVideoTracks()[0], done.signal);
  video.srcObject = stream;
  await video.play().catch(() => {});
  show(panel, true);
  say(panel, "looking");
  watch(panel, video, stop, done.signal);
  return stop;
}

/**
 * @param {HTMLElement} panel
 * @param {HTMLVideoElement} video
 * @param {() => void} stop
 * @param {AbortSignal} signal
 */
async function watch(panel, video, stop, signal) {
  const read = await reader().catch(() => null);
  if (!read) {
    stop();
    say(panel, "noCamera");
    return;
  }
  while (!signal.aborted && panel.isConnected) {
    const text = video.videoWidth ? await read(video) : null;
    if (text && !signal.aborted) return found(panel, text, stop);
    await new Promise((go) => { setTimeout(go, LOOK_MS); });
  }
  stop();
}

/**
 * @param {HTMLElement} panel
 * @param {string} text
 * @param {() => void} stop
 */
function found(panel, text, stop) {
  stop();
  navigator.vibrate?.(80);
  say(panel, "found", text);
  const input = panel.querySelector("[data-scan-text]");
  if (!(input instanceof HTMLInputElement)) return;
  input.value = text;
  input.form?.requestSubmit();
}

/**
 * @param {HTMLElement} panel
 * @param {boolean} on
 */
function show(panel, on) {
  for (const part of panel.querySelectorAll("[data-scan-view]")) {
    if (part instanceof HTMLElement) part.hidden = !on;
  }
}

/**
 * @param {HTMLElement} panel
 * @param {"looking" | "found" | "noCamera" | "refused"} what
 * @param {string} text
 */
function say(panel, what, text = "") {
  const status = panel.querySelector("[data-scan-says]");
  if (status instanceof HTMLElement) status.textContent = (status.dataset[what] ?? "").replace("{text}", text);
}
