// @ts-check
/** Says what became of a form kept on this tablet: saved, faulty, taken back, or not kept and why. */
import { says } from "./says.js";

/**
 * @typedef {import("./statement.js").Fault} Fault
 * @typedef {import("./takeover.js").Stating} Stating
 */

/** @param {(Node | string)[]} parts @param {boolean} fault */
function say(parts, fault = false) {
  const said = document.getElementById("said");
  if (!said) return;
  said.classList.toggle("fault", fault);
  said.replaceChildren(...parts);
}

/**
 * @param {import("./statement.js").Statement} statement
 * @param {Stating} stating
 * @param {boolean} undo whether taking it back leaves what was before
 */
export function saySaved(statement, stating, undo = true) {
  const what = stating.said[statement.kind] ?? statement.kind;
  const text = says("said.saved", { what });
  say(!undo || ["withdrawn", "case_opened"].includes(statement.kind) ? [text] : [`${text} `, undoForm(statement)]);
}

/**
 * @param {import("./statement.js").Statement} statement
 */
function undoForm(statement) {
  const form = document.createElement("form");
  form.className = "inline";
  form.method = "post";
  Object.assign(form.dataset, { statement: "withdrawn", entry: statement.id, case: statement.case ?? "",
    otherwise: says("said.at_once"), offline: "" });
  for (const name of ["step", "tooth", "surface"]) {
    const value = name === "step" ? location.pathname.split("/")[3] ?? "" : statement.body[name] ?? "";
    form.append(Object.assign(document.createElement("input"), { type: "hidden", name, value: String(value) }));
  }
  const key = Object.assign(document.createElement("button"), { className: "action quiet small", textContent: says("said.undo") });
  key.dataset.once = "";
  form.append(key);
  setTimeout(() => form.remove(), 60_000);
  return form;
}

export function sayTakenBack() {
  say([says("said.taken_back")]);
}

/**
 * The words of the first fault, and every field at fault marked.
 * @param {HTMLFormElement} form
 * @param {Fault[]} faults
 * @param {Stating} stating
 */
export function sayFaults(form, faults, stating) {
  for (const marked of form.querySelectorAll("[aria-invalid]")) marked.removeAttribute("aria-invalid");
  for (const { field, at } of faults) {
    for (const one of form.querySelectorAll(`[name="${at ?? field}"]`)) (one.closest("fieldset") ?? one).setAttribute("aria-invalid", "true");
  }
  say([faults.map((one) => form.getAttribute(`data-says-${one.field}`) ?? faultWords(one, stating)).join(" ")], true);
  const first = form.querySelector('[aria-invalid="true"]');
  const within = first?.matches("fieldset") ? first.querySelector("input, button") : first;
  if (within instanceof HTMLElement) within.focus();
}

/**
 * @param {Fault} fault
 * @param {Stating} stating
 */
export function faultWords(fault, stating) {
  const field = stating.fields[fault.field] ?? fault.field;
  return (stating.faults[fault.code] ?? fault.code).replace("{field}", field).replace("{value}", fault.value ?? "");
}

/** @param {string} person */
export function sayUnproved(person) {
  say([says("said.unproved", { person })], true);
}

/** @param {any} error */
export function sayNotKept(error) {
  const key = error?.name === "QuotaExceededError" ? "said.full" : "said.not_kept";
  say([says(key)], true);
}

/** @param {string} key @param {Record<string, string | number>} params */
export function sayPhoto(key, params = {}) {
  say([says(key, params)], true);
}
