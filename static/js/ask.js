// @ts-check
/** Asks before a button with data-ask does its work. */

/** @param {Document} page */
export function askFirst(page) {
  /** @type {WeakSet<Element>} */
  const answered = new WeakSet();
  page.addEventListener("click", (event) => {
    const button = /** @type {Element} */ (event.target).closest("[data-ask]");
    if (!(button instanceof HTMLElement) || answered.delete(button)) return;
    const dialog = /** @type {HTMLDialogElement | null} */ (page.getElementById("ask"));
    const form = button.closest("form");
    if (!dialog || (form && !form.checkValidity())) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    ask(dialog, button.dataset.ask ?? "", () => {
      answered.add(button);
      button.click();
    });
  }, { capture: true });
}

/**
 * @param {HTMLDialogElement} dialog
 * @param {string} question
 * @param {() => void} go
 */
function ask(dialog, question, go) {
  const text = dialog.querySelector("[data-ask-text]");
  if (text) text.textContent = question;
  dialog.returnValue = "back";
  dialog.addEventListener("close", () => {
    if (dialog.returnValue === "go") go();
  }, { once: true });
  dialog.showModal();
}
