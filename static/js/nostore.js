// @ts-check
/** Says that nothing is kept on this tablet for now: what is recorded goes straight to the bench PC. */
import { says } from "./says.js";

export function sayNoStore() {
  for (const strip of document.querySelectorAll("[data-strip]")) {
    if (!(strip instanceof HTMLElement)) continue;
    strip.hidden = false;
    strip.classList.add("pressing");
    strip.textContent = says("strip.no_store");
  }
}
