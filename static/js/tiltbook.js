// @ts-check
/** Entry module: binds every behaviour to the page, and again to whatever htmx swaps in. */
import { announceTrouble } from "./announce.js";
import { bindArchmap, keepPlace } from "./archmap.js";
import { askFirst } from "./ask.js";
import { focusAfterSwap } from "./focus.js";
import { watchIdle } from "./idle.js";
import { sendOnce } from "./once.js";
import { showCurrentStep } from "./rail.js";
import { bindScan } from "./scan.js";
import { bindSteppers } from "./stepper.js";
import { paired } from "./store.js";
import { bindTiltmap } from "./tiltmap.js";
import { keepTyped } from "./typing.js";

/**
 * @param {Element | Document} root
 * @param {string} selector
 */
function holds(root, selector) {
  return root.querySelector(selector) !== null || (root instanceof Element && root.matches(selector));
}

const STORE_AGAIN_MS = 3000;

/** @param {Element | Document} root */
function bind(root) {
  bindSteppers(root);
  bindArchmap(root);
  bindScan(root);
  bindTiltmap(root);
  showCurrentStep(root);
  if (holds(root, "[data-photomarks]")) import("./photomarks.js").then(({ bindPhotomarks }) => bindPhotomarks(root));
  if (root.querySelector("[data-overlook]")) import("./overlooking.js").then(({ bindOverlooking }) => bindOverlooking(root));
  if (root.querySelector("[data-drawing]")) import("./drawing.js").then(({ bindDrawing }) => bindDrawing(root));
  if (root.querySelector("[data-camera]")) import("./camera.js").then(({ bindCamera }) => bindCamera(root));
}

/** What a paired tablet does besides; while its records cannot be had that is said, and asked again. */
async function bindStore() {
  const yes = await paired();
  if (yes === "unknown") {
    (await import("./nostore.js")).sayNoStore();
    setTimeout(() => { bindStore().catch(() => {}); }, STORE_AGAIN_MS);
  } else if (yes) {
    await (await import("./tablet.js")).bindTablet();
  }
}

askFirst(document);
sendOnce(document);
keepPlace(document);
keepTyped(document);
focusAfterSwap(document);
announceTrouble(document);
watchIdle(document.body);
bindStore().catch(() => {});
bind(document);
document.addEventListener("htmx:load", (event) => {
  const part = /** @type {CustomEvent} */ (event).detail.elt;
  if (part instanceof Element && part !== document.body) bind(part);
});
