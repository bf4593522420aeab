// @ts-check
/** Fills a form with what a statement says, tells what it takes the place of, and marks the field at fault. */
import { fitOf, isBlank, saysSo } from "./ownform.js";
import { fieldOf, isUnseen } from "./repairform.js";
import { says } from "./says.js";

/**
 * @typedef {import("./takeover.js").Stating} Stating
 * @typedef {import("./statement.js").Statement} Statement
 * @typedef {{statement: Statement, field?: string, words?: string, code?: string}} Told
 * @typedef {HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement | HTMLButtonElement} Control
 */

/**
 * @param {HTMLFormElement} form
 * @param {string} name
 */
function named(form, name) {
  return /** @type {Control[]} */ ([...form.elements].filter((one) => /** @type {Control} */ (one).name === name));
}

/**
 * @param {HTMLFormElement} form
 * @param {string} name
 */
function seen(form, name) {
  return named(form, name).filter((one) => one.type !== "hidden" && one.type !== "file");
}

/**
 * The form on a page that fits a statement best, null where there is none of its kind.
 * @param {ParentNode} page
 * @param {Statement} statement
 * @returns {HTMLFormElement | null}
 */
export function formFor(page, statement) {
  const forms = /** @type {HTMLFormElement[]} */ ([...page.querySelectorAll(`form[data-statement="${statement.kind}"]:not(.inline)`)]);
  const fits = forms.map((form) => ({ form, fit: fitOf((name) => named(form, name), statement.body) }));
  return fits.reduce((best, one) => (!best || one.fit > best.fit ? one : best), /** @type {typeof fits[0] | null} */ (null))?.form ?? null;
}

/**
 * Whether there is anything to say in a form but that it is so.
 * @param {HTMLFormElement} form
 */
export function hasFields(form) {
  return [...form.elements].some((one) => {
    const control = /** @type {Control} */ (one);
    return Boolean(control.name) && control.type !== "hidden";
  });
}

/**
 * Fill a form; what it states then takes the place of the statement it was filled with.
 * @param {HTMLFormElement} form
 * @param {Told} told
 * @param {Stating} stating
 * @param {(isBeside: boolean) => HTMLElement} notice what is told at its head, as the field at fault is shown or not
 */
export function fillIn(form, told, stating, notice) {
  emptied(form);
  const { id, kind, reason } = told.statement;
  const body = bodyIn(form, told.statement);
  form.dataset.instead = id;
  for (const [name, value] of Object.entries({ ...body, ...(reason ? { reason } : {}) })) {
    const controls = seen(form, name);
    if (controls.length) for (const one of controls) put(one, value);
    else if (!isUnseen(name, value) && !isBlank(value) && isUnsaid(form, name, value, stating.kinds[kind].fields[name])) {
      const each = [value].flat().map((one) => fieldOf(name, one, { ...told, id }, stating.kinds[kind], stating));
      const keys = [...form.children].filter((one) => one.matches(".action, .dock") || one.querySelector("button[name]")).pop();
      for (const field of each) form.insertBefore(ours(field), keys ?? null);
    }
  }
  if (told.field && told.words) mark(form, told.field, told.words);
  form.prepend(ours(notice(Boolean(told.field) && seen(form, told.field ?? "").length > 0)));
  shown(form);
}

/**
 * Whether a form has no place for a value, or says another without asking, such as the only instrument in service.
 * Where the finding lies is the page's to say.
 * @param {HTMLFormElement} form
 * @param {string} name
 * @param {any} value
 * @param {import("./statement.js").Field | undefined} field
 */
function isUnsaid(form, name, value, field) {
  const unseen = named(form, name);
  return !unseen.length || (field?.type === "text" && !field.choices && !unseen.some((one) => saysSo(one, value)));
}

/**
 * What a form asks for: without the bench PC a tooth to be replaced is not ticked as missing besides.
 * @param {HTMLFormElement} form
 * @param {Statement} statement
 * @returns {Record<string, any>}
 */
function bodyIn(form, { kind, body }) {
  if (kind !== "teeth_recorded" || !form.hasAttribute("data-offline")) return body;
  return { ...body, missing: body.missing.filter((/** @type {number} */ tooth) => !body.replaced.includes(tooth)) };
}

/**
 * @param {Control} control
 * @param {any} value
 */
function put(control, value) {
  if (control instanceof HTMLButtonElement) {
    if (saysSo(control, value)) control.setAttribute("aria-current", "true");
    return;
  }
  const before = [control.value, /** @type {any} */ (control).checked];
  if (control instanceof HTMLInputElement && ["radio", "checkbox"].includes(control.type)) control.checked = saysSo(control, value);
  else control.value = [value ?? ""].flat().join(" ");
  if (before[0] === control.value && before[1] === /** @type {any} */ (control).checked) return;
  for (const name of ["input", "change"]) control.dispatchEvent(new Event(name, { bubbles: true }));
}

/**
 * Say beside a field what the bench PC found wrong with it.
 * @param {HTMLFormElement} form
 * @param {string} field
 * @param {string} words
 */
function mark(form, field, words) {
  const [control] = seen(form, field);
  if (!control) return;
  const group = control.closest("fieldset");
  const error = Object.assign(document.createElement("p"), { className: "error", id: `${field}-turned-down`, textContent: words });
  const at = group ?? control;
  at.setAttribute("aria-invalid", "true");
  at.setAttribute("aria-describedby", error.id);
  (group ?? control.closest(".field") ?? form).append(ours(error));
}

/**
 * Unfold what a form lies in, and what of it says something.
 * @param {HTMLFormElement} form
 */
function shown(form) {
  const said = [...form.querySelectorAll("details")].filter((part) => part.querySelector('[aria-invalid="true"], input:checked, input:not([type="radio"], [type="checkbox"], [value=""])'));
  for (const part of said) part.open = true;
  for (let around = form.closest("details"); around; around = around.parentElement?.closest("details") ?? null) {
    around.open = true;
    around.hidden = false;
  }
  const first = form.querySelector('[aria-invalid="true"]');
  const within = first?.matches("fieldset") ? first.querySelector("input, button") : first;
  if (within instanceof HTMLElement) within.focus();
  (first ?? form).scrollIntoView({ block: first ? "center" : "start" });
}

/**
 * @template {HTMLElement} T
 * @param {T} part
 * @returns {T}
 */
function ours(part) {
  part.dataset.filled = "";
  return part;
}

/**
 * Take out what was put into a form; what it states stands for itself again.
 * @param {HTMLFormElement} form
 */
export function emptied(form) {
  delete form.dataset.instead;
  for (const part of form.querySelectorAll("[data-filled]")) part.remove();
  for (const key of form.querySelectorAll("button[aria-current]")) key.removeAttribute("aria-current");
  for (const one of form.querySelectorAll("[aria-describedby$='-turned-down']")) {
    one.removeAttribute("aria-describedby");
    one.removeAttribute("aria-invalid");
  }
}

/**
 * The line at the head of a form that takes the place of something, with a way to leave that as it is.
 * @param {string} className
 * @param {string} text
 * @param {HTMLElement} leave
 */
export function noticeOf(className, text, leave) {
  const notice = Object.assign(document.createElement("div"), { className: `${className} whole row-apart` });
  leave.className = "action quiet small";
  leave.textContent = says("outbox.leave");
  notice.append(Object.assign(document.createElement("p"), { textContent: text }), leave);
  return notice;
}
