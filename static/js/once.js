// @ts-check
/** A second tap on the same form is not a second entry: it waits until the first has an answer. */

const FORGET_MS = 6000;
const ANSWERED = ["htmx:afterRequest", "htmx:sendError", "tiltbook:answered"];

/**
 * What a paired tablet keeps by itself is answered before the eye could see a key go grey, and drawing that
 * would come before the write.
 * @param {HTMLFormElement} form
 */
function isKeptAtOnce(form) {
  return document.documentElement.dataset.tablet === "ready" && form.hasAttribute("data-statement") && form.enctype !== "multipart/form-data";
}

/** @param {Document} page */
export function sendOnce(page) {
  /** @type {Map<Element, ReturnType<typeof setTimeout>>} */
  const sending = new Map();
  /** @param {Element} form */
  const free = (form) => {
    clearTimeout(sending.get(form));
    sending.delete(form);
    for (const button of form.querySelectorAll("[data-once][aria-disabled]")) button.removeAttribute("aria-disabled");
  };
  page.addEventListener("submit", (event) => {
    const form = /** @type {HTMLFormElement} */ (event.target);
    const button = event.submitter;
    if (!button?.hasAttribute("data-once")) return;
    if (sending.has(form)) {
      event.preventDefault();
      event.stopImmediatePropagation();
      return;
    }
    sending.set(form, setTimeout(() => free(form), FORGET_MS));
    if (!isKeptAtOnce(form)) button.setAttribute("aria-disabled", "true");
  }, { capture: true });
  for (const name of ANSWERED) {
    page.addEventListener(name, (event) => {
      const form = /** @type {Element} */ (event.target).closest?.("form");
      if (form) free(form);
    });
  }
  globalThis.addEventListener("pageshow", () => [...sending.keys()].forEach(free));
}
