// @ts-check
/** Opening a case on a tablet: its number looked at as it is typed, its code made here where no label has one. */
import { codeFrom } from "./codes.js";
import { waiting } from "./outbox.js";
import { store } from "./store.js";
import { here, send } from "./sync.js";
import { completeForms } from "./takeover.js";

const PATIENCE_MS = 3000;
const THREE_LETTERS = /\p{L}{3}/u;

/**
 * What speaks against a case number: another shape than the lab's, or that it may be a name and nobody said it is none.
 * @param {string} number
 * @param {string} shape
 * @param {boolean} nobody whether it was said that the number names nobody
 * @returns {"" | "other_shape" | "name_like"}
 */
export function wrongWith(number, shape, nobody) {
  if (!patternOf(shape)?.test(number.trim())) return "other_shape";
  return THREE_LETTERS.test(number) && !nobody ? "name_like" : "";
}

/**
 * A pattern that this browser cannot read lets everything pass: the bench PC shows the number all the same.
 * @param {string} shape
 */
function patternOf(shape) {
  try {
    return new RegExp(`^(?:${shape})$`, "u");
  } catch {
    return /^/;
  }
}

/** Bind it before the forms are taken over: what is looked at first is not stated. */
export function bindOpening() {
  document.addEventListener("submit", look, { capture: true });
  completeForms(async (form, kind, pairs) => {
    const code = pairs.find(([name]) => name === "code");
    if (kind !== "case_opened" || code?.[1]) return [];
    form.dataset.case ||= codeFrom(here.random(14));
    if (code) code[1] = form.dataset.case;
    else pairs.push(["code", form.dataset.case]);
    return [];
  });
  document.addEventListener("tiltbook:kept", (event) => {
    const statement = /** @type {CustomEvent} */ (event).detail;
    if (statement?.kind === "case_opened" && !document.querySelector("[data-offline-page]")) goOn(statement);
  });
}

/** @param {SubmitEvent} event */
function look(event) {
  const form = event.target;
  const place = form instanceof HTMLFormElement ? form.querySelector("[data-opening]") : null;
  if (!(form instanceof HTMLFormElement) || !(place instanceof HTMLElement)) return;
  const data = new FormData(form);
  const number = String(data.get("number") ?? "");
  const wrong = wrongWith(number, place.dataset.shape ?? "", data.has("no_name"));
  const words = wrong === "other_shape" ? place.dataset.otherShape : place.dataset.nameLike;
  say(place, wrong ? (words ?? "").replace("{number}", number) : "");
  if (wrong === "name_like") place.querySelector("[data-no-name]")?.removeAttribute("hidden");
  if (!wrong) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  form.dispatchEvent(new CustomEvent("tiltbook:answered", { bubbles: true }));
}

/**
 * @param {HTMLElement} place
 * @param {string} text
 */
function say(place, text) {
  const said = place.querySelector("[data-opening-says]");
  if (!(said instanceof HTMLElement)) return;
  said.textContent = text;
  said.className = text ? "notice stop" : "";
  said.hidden = !text;
}

/**
 * To the case at the bench PC once it has it, or else to the page that records without.
 * @param {import("./statement.js").Statement} statement
 */
async function goOn({ id, case: code }) {
  await Promise.race([send(), new Promise((go) => { setTimeout(go, PATIENCE_MS); })]);
  const refused = await store.get("refused", id);
  const waits = (await waiting(store)).some((one) => one.id === id);
  location.assign(refused ? "/outbox" : waits ? `/offline/label?code=${code}` : `/case/${code}/receive`);
}
