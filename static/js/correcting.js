// @ts-check
/** Corrects what this tablet stated and the bench PC has not taken yet, in the form it was stated in. */
import { emptied, fillIn, formFor, hasFields, noticeOf } from "./filling.js";
import { SETTINGS } from "./overlay.js";
import { says } from "./says.js";

/**
 * @typedef {import("./takeover.js").Stating} Stating
 * @typedef {import("./outbox.js").Row} Row
 * @typedef {import("./statement.js").Statement} Statement
 */

/**
 * What waits is changed where it lies. What is sealed may have been sent: it is corrected by its name, which a
 * setting cannot be, nor a finding of an earlier one.
 * @param {Row & {sealed: boolean}} row
 * @param {Statement[]} rows what was stated of the case here
 * @param {Stating} stating
 * @param {string | null} setting the one of now
 * @param {ParentNode} page
 */
export function canCorrect({ id, statement, sealed }, rows, stating, setting, page) {
  const isGone = rows.some((one) => one.supersedes.includes(id) || (one.kind === "withdrawn" && one.body.entry === id));
  const isPast = Boolean(stating.kinds[statement.kind]?.at_a_setting) && statement.setting !== setting;
  if (isGone || (sealed && (isPast || SETTINGS.includes(statement.kind)))) return false;
  const form = formFor(page, statement);
  return form !== null && hasFields(form);
}

/**
 * @param {HTMLElement} page
 * @param {Row} row
 * @param {Stating} stating
 * @param {string} words what was stated
 */
export function correctKey(page, row, stating, words) {
  const key = Object.assign(document.createElement("button"), { type: "button", className: "action quiet small", textContent: says("offline.correct") });
  const what = [stating.said[row.statement.kind] ?? row.statement.kind, words].filter(Boolean).join(" \u00b7 ");
  key.dataset.correct = "";
  key.append(Object.assign(document.createElement("span"), { className: "unseen", textContent: `: ${what}` }));
  key.addEventListener("click", () => {
    for (const form of page.querySelectorAll("form[data-instead]")) left(/** @type {HTMLFormElement} */ (form));
    const form = formFor(page, row.statement);
    if (!form) return;
    const leave = Object.assign(document.createElement("button"), { type: "button" });
    leave.addEventListener("click", () => left(form));
    fillIn(form, { statement: row.statement }, stating, () => noticeOf("notice plain", says("offline.correcting", { what }), leave));
  });
  return key;
}

/** @param {HTMLFormElement} form */
function left(form) {
  emptied(form);
  form.reset();
}
