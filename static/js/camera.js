// @ts-check
/** The camera page: a live picture with hints, the photo with its verdict, and the form that keeps it. */
import { fresh } from "./found.js";
import { judged, steadied, toSay } from "./framing.js";
import { glimpser } from "./glimpse.js";
import { drawSeen, saying, showHints, verdictOf } from "./hintlist.js";
import { askCamera, bindTorch, whenAway } from "./livecamera.js";
import { finder } from "./qrread.js";
import { stillOf, stillScale } from "./still.js";
import { paired } from "./store.js";

/**
 * @typedef {import("./glimpse.js").Look} Look
 * @typedef {"off" | "live" | "still" | "kept"} Stage
 * @typedef {{page: HTMLElement, video: HTMLVideoElement, stream: MediaStream | null, stop: () => void,
 *   photo: Blob | null, look: Promise<() => Look>}} Desk what the page works with
 */

const LOOK_MS = 220;
// As fine as helps: five million pixels tell no less of a tripod than twelve.
const WISHED = { width: { ideal: 2560 }, height: { ideal: 1920 } };

/** @param {Element | Document} root */
export function bindCamera(root) {
  for (const page of fresh(root, "[data-camera]")) {
    /** @type {Desk} */
    const desk = { page, video: part(page, "video"), stream: null, stop: () => {}, photo: null, look: lookers(page) };
    on(page, "[data-camera-start]", () => start(desk));
    on(page, "[data-camera-shutter]", () => shoot(desk));
    on(page, "[data-camera-again]", () => start(desk));
    on(page, "[data-camera-keep]", () => keep(desk));
    page.addEventListener("tiltbook:kept", (event) => {
      stage(page, "kept");
      import("./camerakept.js").then(({ afterKept }) => afterKept(page, /** @type {CustomEvent} */ (event).detail));
    });
    paired().then((yes) => (yes ? import("./camerakept.js").then(({ completePhoto }) => completePhoto(page)) : null)).catch(() => {});
    start(desk);
  }
}

/**
 * @template {Element} T
 * @param {Element} page
 * @param {string} selector
 * @returns {T}
 */
function part(page, selector) {
  return /** @type {T} */ (page.querySelector(selector));
}

/**
 * @param {Element} page
 * @param {string} selector
 * @param {() => void} act
 */
function on(page, selector, act) {
  for (const key of page.querySelectorAll(selector)) key.addEventListener("click", act);
}

/**
 * What makes a look at a picture, each with a memory of its own of where the label was.
 * @param {HTMLElement} page
 * @returns {Promise<() => Look>}
 */
async function lookers(page) {
  const { mark, ring, labelMm } = page.dataset;
  const colours = mark && ring ? { mark: rgb(mark), ring: rgb(ring) } : null;
  const find = await finder();
  return () => glimpser(find, colours, Number(labelMm) || 20);
}

/** @param {string} text #rrggbb */
function rgb(text) {
  return [1, 3, 5].map((at) => parseInt(text.slice(at, at + 2), 16));
}

/**
 * @param {HTMLElement} page
 * @param {Stage} name
 */
function stage(page, name) {
  page.dataset.stage = name;
  for (const one of page.querySelectorAll("[data-at]")) {
    if (one instanceof HTMLElement) one.hidden = !(one.dataset.at ?? "").split(" ").includes(name);
  }
}

/** @param {Desk} desk */
async function start(desk) {
  const { page, video } = desk;
  desk.stop();
  desk.photo = null;
  const { stream, why } = await askCamera(WISHED);
  if (!stream) {
    stage(page, "off");
    openFallback(page);
    return saying(page, why);
  }
  const done = new AbortController();
  desk.stream = stream;
  desk.stop = () => {
    done.abort();
    for (const track of stream.getTracks()) track.stop();
    desk.stream = null;
  };
  whenAway(() => {
    desk.stop();
    if (page.dataset.stage === "live") stage(page, "off");
  }, done.signal);
  bindTorch(page.querySelector("[data-camera-torch]"), stream.getVideoTracks()[0], done.signal);
  video.srcObject = stream;
  await video.play().catch(() => {});
  const again = page.dataset.stage !== "off";
  stage(page, "live");
  if (again) /** @type {HTMLElement} */ (part(page, "[data-camera-shutter]")).focus();
  saying(page, "");
  return watch(desk, done.signal);
}

/** @param {HTMLElement} page */
function openFallback(page) {
  page.querySelector("[data-camera-fallback]")?.setAttribute("open", "");
}

/**
 * @param {Desk} desk
 * @param {AbortSignal} signal
 */
async function watch({ page, video, look, stream }, signal) {
  const glimpse = (await look)();
  const scale = await stillScale(/** @type {MediaStream} */ (stream), video);
  /** @type {ReturnType<typeof steadied> | null} */
  let steady = null;
  let said = { said: "", saidMs: 0, due: "", dueMs: 0 };
  while (!signal.aborted && page.isConnected) {
    const seen = video.videoWidth ? await glimpse(video, video.videoWidth, video.videoHeight, scale) : null;
    if (signal.aborted || !seen) {
      await pause();
      continue;
    }
    steady = steadied(steady, judged(seen, page.dataset.code ?? ""));
    drawSeen(page, seen);
    const shown = showHints(page, steady.shown);
    const next = toSay(said, shown, performance.now());
    if (next.aloud) saying(page, next.aloud);
    said = next;
    await pause();
  }
}

function pause() {
  return new Promise((go) => { setTimeout(go, LOOK_MS); });
}

/** @param {Desk} desk */
async function shoot(desk) {
  const { page, video, stream } = desk;
  if (!stream || page.dataset.busy) return;
  page.dataset.busy = "shutter";
  try {
    const photo = await stillOf(stream, video);
    desk.stop();
    if (!photo) return saying(page, "noCamera");
    desk.photo = photo;
    await showStill(desk, photo);
  } finally {
    delete page.dataset.busy;
  }
}

/**
 * @param {Desk} desk
 * @param {Blob} photo
 */
async function showStill({ page, look }, photo) {
  const image = part(page, "[data-camera-still]");
  if (image instanceof HTMLImageElement) {
    URL.revokeObjectURL(image.src);
    image.src = URL.createObjectURL(photo);
  }
  stage(page, "still");
  const whole = await createImageBitmap(photo, { imageOrientation: "from-image" });
  const seen = await twice((await look)(), whole);
  whole.close();
  drawSeen(page, seen);
  verdictOf(page, showHints(page, judged(seen, page.dataset.code ?? "")));
  /** @type {HTMLElement} */ (part(page, "[data-camera-keep]")).focus();
}

/**
 * A photo that is read badly small is read again at full size.
 * @param {Look} glimpse
 * @param {ImageBitmap} whole
 */
async function twice(glimpse, whole) {
  const first = await glimpse(whole, whole.width, whole.height);
  return first.label ? first : glimpse(whole, whole.width, whole.height);
}

/** @param {Desk} desk */
function keep({ page, photo }) {
  const form = part(page, "form[data-statement]");
  const file = part(page, 'input[name="photo"]');
  if (!photo || !(form instanceof HTMLFormElement) || !(file instanceof HTMLInputElement)) return;
  const carried = new DataTransfer();
  carried.items.add(new File([photo], "photo.jpg", { type: photo.type || "image/jpeg" }));
  file.files = carried.files;
  form.requestSubmit(form.querySelector("button"));
}
