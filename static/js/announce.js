// @ts-check
/** Says on the page, and to a screen reader, when the bench PC failed or did not answer. */

/** @param {Document} page */
export function announceTrouble(page) {
  /** @param {string | undefined} text */
  const say = (text) => {
    const said = page.getElementById("said");
    if (!said || !text) return;
    said.classList.add("fault");
    said.textContent = text;
  };
  page.addEventListener("htmx:sendError", () => say(page.body.dataset.saysUnreachable));
  page.addEventListener("htmx:timeout", () => say(page.body.dataset.saysUnreachable));
  page.addEventListener("htmx:responseError", (event) => {
    const { xhr } = /** @type {CustomEvent} */ (event).detail;
    if (xhr.status >= 500) say(page.body.dataset.saysAnswer);
  });
  page.addEventListener("htmx:beforeRequest", () => {
    const said = page.getElementById("said");
    if (!said?.classList.contains("fault")) return;
    said.classList.remove("fault");
    said.textContent = "";
  });
}
