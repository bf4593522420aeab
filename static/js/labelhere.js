// @ts-check
/** The page without the bench PC for any label: which case it records, and the tooth tapped on its map. */
import { isCode, plainCode } from "./codes.js";
import { says } from "./says.js";

/**
 * The page for a label never seen: the code comes by the address, the camera or the keys.
 * @param {HTMLElement} page
 */
export function chooseLabel(page) {
  if (document.body.dataset.case) return;
  // Where no page of a case is at hand this one stands in for it, under the address of the case.
  const asked = new URLSearchParams(location.search).get("code") ?? /^\/case\/([0-9A-Z]{8})\//.exec(location.pathname)?.[1] ?? "";
  const here = page.querySelector("[data-label-here]");
  const code = plainCode(asked);
  if (!isCode(code)) {
    if (asked && here) here.textContent = says("offline.bad_code", { code: asked });
    for (const key of page.querySelectorAll("form[data-offline] button")) key.setAttribute("disabled", "");
    return;
  }
  document.body.dataset.case = code;
  for (const form of page.querySelectorAll("form[data-offline]")) form.setAttribute("data-case", code);
  if (here) here.textContent = says("offline.go", { code: `${code.slice(0, 4)}-${code.slice(4)}` });
}

/**
 * A tap on the map is taken into every form that names a tooth.
 * @param {HTMLElement} page
 */
export function tapOnTheMap(page) {
  page.addEventListener("click", (event) => {
    const tapped = /** @type {Element} */ (event.target).closest("[data-archmap] a[data-tooth], [data-archmap] a[data-surface]");
    if (!tapped) return;
    event.preventDefault();
    const tooth = tapped.getAttribute("data-tooth");
    for (const one of page.querySelectorAll("[data-tooth-of-form]")) {
      if (one instanceof HTMLSelectElement && tooth) one.value = tooth;
    }
    for (const shape of page.querySelectorAll("[data-archmap] a[aria-current]")) shape.removeAttribute("aria-current");
    tapped.setAttribute("aria-current", "true");
  });
}
