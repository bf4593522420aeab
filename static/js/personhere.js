// @ts-check
/** Who records on a page without the bench PC, and whether they have shown the PIN there lately. */
import { seatedPerson } from "./seated.js";

const LOOK_MS = 2000;

/** @param {HTMLElement} page */
export function choosePerson(page) {
  const choice = page.querySelector("[data-person-here]");
  if (!(choice instanceof HTMLSelectElement)) return;
  const told = (/** @type {string} */ name) => page.querySelector(name);
  const [seated, unseated] = ["[data-seated-says]", "[data-unseated-says]"].map(told);
  const texts = [seated, unseated].map((one) => one?.textContent ?? "");
  const take = () => {
    document.body.dataset.person = choice.value;
    const proved = choice.value === seatedPerson();
    [seated, unseated].forEach((one, n) => {
      const text = texts[n].replaceAll("{person}", choice.value);
      if (one && one.textContent !== text) one.textContent = text;
      one?.toggleAttribute("hidden", proved !== (n === 0));
    });
  };
  choice.addEventListener("change", take);
  setInterval(take, LOOK_MS);
  take();
}
