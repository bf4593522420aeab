// @ts-check
/** The form by which a refused statement is put right: each field in words, with its unit, its choices as keys say them. */
import { says } from "./says.js";

/**
 * @typedef {import("./takeover.js").Stating} Stating
 * @typedef {import("./outbox.js").Refused} Refused
 * @typedef {import("./statement.js").Kind} Kind
 */

const ENTRY_ID = /^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/;
const OF_A_PHOTO = ["sha256", "media_type", "width_px", "height_px", "focal_px", "corners_px", "marks_px", "shapes"];

/**
 * What nobody can type: the names of other entries and what is known of a photo. It goes along unseen.
 * @param {string} name
 * @param {any} value
 */
export function isUnseen(name, value) {
  return OF_A_PHOTO.includes(name) || [value].flat().some((one) => typeof one === "string" && ENTRY_ID.test(one));
}

/**
 * The unit a field's name bears, "" for none.
 * @param {string} name
 */
export function unitOf(name) {
  return name.endsWith("_mm") ? "mm" : name.endsWith("_deg") ? "°" : "";
}

/**
 * The fields of a refused statement, the one at fault marked.
 * @param {Refused} one
 * @param {Stating} stating
 * @returns {HTMLElement[]}
 */
export function repairFields(one, stating) {
  const { person, body, reason } = one.statement;
  const kind = stating.kinds[one.statement.kind];
  const shown = Object.entries({ person, ...body, ...(reason ? { reason } : {}) });
  return shown.filter(([name, value]) => !isUnseen(name, value)).map(([name, value]) => fieldOf(name, value, one, kind, stating));
}

/**
 * One field with its label and unit, marked where it is the one at fault.
 * @param {string} name
 * @param {any} value
 * @param {{id: string, field?: string}} one
 * @param {Kind} kind
 * @param {Stating} stating
 */
export function fieldOf(name, value, one, kind, stating) {
  const input = controlOf(name, value, kind, stating);
  input.id = `${one.id}-${name}`;
  if (name === one.field) input.setAttribute("aria-invalid", "true");
  return fieldAround(input, labelOf(name, stating), unitOf(name));
}

/**
 * @param {string} name
 * @param {Stating} stating
 */
function labelOf(name, stating) {
  const text = stating.fields[name] ?? name;
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/**
 * @param {string} name
 * @param {any} value
 * @param {Kind} kind
 * @param {Stating} stating
 * @returns {HTMLInputElement | HTMLSelectElement}
 */
function controlOf(name, value, kind, stating) {
  const field = kind.fields[name];
  if (field?.type === "flag") return choiceOf(name, String(value), [["true", says("outbox.yes")], ["false", says("outbox.no")]]);
  const words = stating.choices?.[name];
  const choices = field?.choices?.map((one) => /** @type {[string, string]} */ ([one, one])) ?? (field && words ? Object.entries(words) : null);
  if (choices && !Array.isArray(value)) return choiceOf(name, String(value ?? ""), choices);
  const input = Object.assign(document.createElement("input"), { name, value: [value ?? ""].flat().join(" ") });
  if (field && field.type !== "text" && !field.many) input.inputMode = "decimal";
  return input;
}

/**
 * @param {string} name
 * @param {string} value
 * @param {[string, string][]} choices
 */
function choiceOf(name, value, choices) {
  const select = Object.assign(document.createElement("select"), { name });
  const there = choices.some(([one]) => one === value) ? choices : [/** @type {[string, string]} */ ([value, value]), ...choices];
  select.append(...there.map(([one, text]) => new Option(text, one, false, one === value)));
  return select;
}

/**
 * @param {HTMLElement} input
 * @param {string} text
 * @param {string} unit
 */
function fieldAround(input, text, unit) {
  const label = Object.assign(document.createElement("label"), { htmlFor: input.id, className: "label", textContent: text });
  const entry = Object.assign(document.createElement("div"), { className: "entry" });
  entry.append(input);
  if (unit) entry.append(Object.assign(document.createElement("span"), { className: "unit", textContent: unit }));
  const field = Object.assign(document.createElement("div"), { className: "field" });
  field.append(label, entry);
  return field;
}

/**
 * What the form says with what goes along unseen; many values stand in one field, parted by spaces.
 * @param {Refused} one
 * @param {[string, string][]} typed
 * @param {Kind} kind
 * @returns {[string, string][]}
 */
export function pairsOf(one, typed, kind) {
  const unseen = Object.entries(one.statement.body).filter(([name, value]) => value !== null && isUnseen(name, value))
    .flatMap(([name, value]) => [value].flat().map((each) => /** @type {[string, string]} */ ([name, String(each)])));
  return [...unseen, ...typed.flatMap(([name, text]) => kind.fields[name]?.many
    ? text.split(/[\s,]+/).filter(Boolean).map((part) => /** @type {[string, string]} */ ([name, part])) : [/** @type {[string, string]} */ ([name, text])])];
}
