// @ts-check
/** After a swap: to what is wrong first, else to what asks for the focus. */

/** @param {Document} page */
export function focusAfterSwap(page) {
  page.addEventListener("htmx:afterSettle", (event) => {
    const part = /** @type {CustomEvent} */ (event).detail.elt;
    if (!(part instanceof Element)) return;
    const wanted = part.querySelector('[aria-invalid="true"]') ?? part.querySelector("[data-focus]");
    const within = wanted?.matches("fieldset") ? wanted.querySelector("input") : wanted;
    if (within instanceof HTMLElement) within.focus();
  });
}
