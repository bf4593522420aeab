// @ts-check
/** A half-filled form survives a reload, a crash and the camera taking over: each change of it is kept. */
import { store } from "./store.js";
import { isField, thisMoment, typedSince, unseenIn } from "./typing.js";

const PASSED_OVER = ["csrf_token", "entry_id", "setting", "supersedes", "photo", "person"];
const OLDEST_MS = 7 * 86_400_000;
let touched = false;
/** The forms a draft of which is kept, as far as this page knows. @type {Set<string>} */
const drafted = new Set();

/** Whether something was typed on this page that is not recorded yet. */
export function isTouched() {
  return touched;
}

/**
 * The name a form's draft is kept under: the page's place and the form on it.
 * @param {HTMLFormElement} form
 */
export function keyOf(form) {
  const place = ["tooth", "surface", "part", "entry", "finding"].map((name) => unseenIn(form, name));
  // Named where a page holds several forms of a kind, or asks for one thing after another.
  const among = ["tag", "key", "turn"].map((name) => unseenIn(form, name)).filter(Boolean);
  const { statement, instead } = form.dataset;
  return [location.pathname, statement, ...place, ...among, ...(instead ? [instead] : [])].join("|");
}

/**
 * What was typed, as name and value; of keys and boxes those that are chosen.
 * @param {HTMLFormElement} form
 * @returns {[string, string][]}
 */
function typedIn(form) {
  return [...form.elements].flatMap((one) => {
    if (!isField(one)) return [];
    if (!one.name || PASSED_OVER.includes(one.name) || one.type === "hidden" || one.type === "file") return [];
    if (one instanceof HTMLInputElement && ["radio", "checkbox"].includes(one.type) && !one.checked) return [];
    return [/** @type {[string, string]} */ ([one.name, one.value])];
  });
}

/** @param {Event} event */
async function keep(event) {
  const form = event.target instanceof Element ? event.target.closest("form[data-statement]") : null;
  if (!(form instanceof HTMLFormElement)) return;
  touched = true;
  const key = keyOf(form);
  drafted.add(key);
  await store.write([["put", "drafts", { key, fields: typedIn(form), at: Date.now() }]]).catch(() => {});
}

/**
 * Put what was typed before back into a form.
 * @param {HTMLFormElement} form
 */
async function restore(form) {
  form.dataset.restored = "no";
  const since = thisMoment();
  const draft = await store.get("drafts", keyOf(form)).catch(() => null);
  if (draft) drafted.add(draft.key);
  if (!draft || Date.now() - draft.at > OLDEST_MS || !form.isConnected) return;
  // What was typed while the draft was looked up is newer than it.
  const newer = new Set([...form.elements].filter((one) => typedSince(one, since)).map((one) => one.getAttribute("name")));
  for (const one of form.elements) {
    if (!isField(one) || newer.has(one.name)) continue;
    if (!one.name || PASSED_OVER.includes(one.name) || one.type === "hidden" || one.type === "file") continue;
    const values = draft.fields.filter((/** @type {string[]} */ [name]) => name === one.name).map((/** @type {string[]} */ pair) => pair[1]);
    if (one instanceof HTMLInputElement && ["radio", "checkbox"].includes(one.type)) one.checked = values.includes(one.value);
    else if (values.length) one.value = values[0];
    one.dispatchEvent(new Event("change", { bubbles: true }));
  }
  touched = true;
  form.dataset.restored = "yes";
}

/**
 * What forgets a form's draft, to be done in the write that keeps its statement.
 * @param {HTMLFormElement} form
 * @returns {import("./outbox.js").Op[]}
 */
export function forgotten(form) {
  const key = keyOf(form);
  return drafted.delete(key) || form.dataset.restored === undefined ? [["delete", "drafts", key]] : [];
}

/** Say that what was typed is recorded. */
export function recorded() {
  touched = false;
}

/** @param {Element | Document} root */
export function bindDrafts(root) {
  for (const form of root.querySelectorAll("form[data-statement]:not([data-restored])")) {
    if (form instanceof HTMLFormElement) restore(form);
  }
}

export function keepDrafts() {
  document.addEventListener("input", keep);
  document.addEventListener("change", keep);
  document.addEventListener("htmx:load", (event) => {
    const part = /** @type {CustomEvent} */ (event).detail.elt;
    if (!(part instanceof Element)) return;
    // What htmx puts in place of a form is another form: nothing was typed in it yet.
    if (part.matches("#main, main, .work") || part.querySelector("form[data-statement]")) touched = false;
    bindDrafts(part.parentElement ?? part);
  });
  bindDrafts(document);
}
