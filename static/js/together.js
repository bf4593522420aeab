// @ts-check
/** What one submit of a form states: one statement, or several that are kept in one write. */
import { bodyFrom, statementFrom } from "./statement.js";

/**
 * @typedef {import("./statement.js").Kind} Kind
 * @typedef {import("./statement.js").Fault} Fault
 * @typedef {[string, string][]} Pairs
 * @typedef {{kind: string, case: string | null, setting: string | null, body: Record<string, any>, supersedes: string[],
 *   reason: string, about?: string}} Said `about` is the field of the body that names the first of the write
 * @typedef {Record<string, {kind: string, body: Record<string, any>, supersedes: string[], setting: string | null}[]>} Settles
 * @typedef {{kind: string, code: string, pairs: Pairs, otherwise?: string, settles?: string, values?: string}} Form
 */

/**
 * @param {Form} form as the page has it: `settles` and `values` are its data attributes
 * @param {Record<string, Kind>} kinds
 * @returns {{said: Said[], faults: Fault[]}}
 */
export function togetherFrom(form, kinds) {
  if (form.settles) return settlementFrom(JSON.parse(form.settles), form.code, form.pairs);
  const values = valuesFrom(form.values ?? "", form.pairs);
  const { said, faults } = statementFrom(form.kind, kinds[form.kind], form.code, [...form.pairs, ...values.pairs], form.otherwise);
  const beside = uncertaintyFrom(form.kind, form.pairs, kinds);
  return { said: [said, ...beside.said], faults: [...values.faults, ...faults, ...beside.faults] };
}

/**
 * A contradiction is settled by what the bench PC worked out for the statement that shall count.
 * @param {Settles} settles by the id of the statement chosen
 * @param {string} code
 * @param {Pairs} pairs
 * @returns {{said: Said[], faults: Fault[]}}
 */
export function settlementFrom(settles, code, pairs) {
  const chosen = settles[lastOf(pairs, "chosen")];
  const reason = lastOf(pairs, "reason").replaceAll("\r\n", "\n");
  const missing = [...(chosen ? [] : ["chosen"]), ...(reason ? [] : ["reason"])];
  return {
    said: (chosen ?? []).map((one) => ({ ...one, case: code, reason })),
    faults: missing.map((field) => ({ field, code: "missing" })),
  };
}

/**
 * Figures that a form asks for one by one make one field.
 * @param {string} names parted by spaces
 * @param {Pairs} pairs
 */
function valuesFrom(names, pairs) {
  const asked = names.split(" ").filter(Boolean);
  const fields = Object.fromEntries(asked.map((name) =>
    [name, { type: /** @type {const} */ ("number"), blank: /** @type {const} */ ("missing") }]));
  const { body, faults } = bodyFrom({ fields, needs: [], at_a_setting: false, with_a_reason: false, claims: [] }, pairs);
  return { pairs: asked.filter((name) => name in body).map((name) => /** @type {[string, string]} */ (["values_mm", String(body[name])])), faults };
}

/**
 * The uncertainty typed beside a check is a statement of its own, in the unit of the check.
 * @param {string} kind
 * @param {Pairs} pairs
 * @param {Record<string, Kind>} kinds
 * @returns {{said: Said[], faults: Fault[]}}
 */
function uncertaintyFrom(kind, pairs, kinds) {
  const typed = lastOf(pairs, "uncertainty");
  if (kind !== "instrument_checked" || !typed) return { said: [], faults: [] };
  const field = lastOf(pairs, "unit") === "deg" ? "uncertainty_deg" : "uncertainty_mm";
  const { body, faults } = bodyFrom(kinds.uncertainty_stated, [["check", "named in the write"], [field, typed]]);
  return {
    said: [{ kind: "uncertainty_stated", case: null, setting: null, body, supersedes: [], reason: "", about: "check" }],
    faults: faults.map((one) => ({ ...one, at: "uncertainty" })),
  };
}

/**
 * @param {Pairs} pairs
 * @param {string} name
 */
function lastOf(pairs, name) {
  return (pairs.filter(([key]) => key === name).pop()?.[1] ?? "").trim();
}

/**
 * Whether what was stated here settles one of the contradictions that a form would settle.
 * @param {Settles} settles
 * @param {import("./statement.js").Statement[]} stated
 */
export function isSettledHere(settles, stated) {
  const falls = new Set(Object.values(settles).flat().flatMap(fallenBy));
  const taken = new Set(stated.filter((one) => one.kind === "withdrawn").map((one) => one.body.entry));
  return stated.some((one) => !taken.has(one.id) && fallenBy(one).some((id) => falls.has(id)));
}

/**
 * The entries that a statement puts aside.
 * @param {{kind: string, body: Record<string, any>, supersedes: string[]}} one
 * @returns {string[]}
 */
function fallenBy(one) {
  return one.kind === "withdrawn" ? [one.body.entry] : one.supersedes;
}

/**
 * Whether the turn that a form asks for was read here.
 * @param {Pairs} pairs
 * @param {import("./statement.js").Statement[]} stated
 */
export function isReadHere(pairs, stated) {
  const [drill, turn, replaced] = ["drill", "turn", "supersedes"].map((name) => lastOf(pairs, name));
  return stated.some(({ kind, body, supersedes }) => kind === "drill_reading" && body.drill === drill
    && String(body.turn) === turn && (supersedes[0] ?? "") === replaced);
}
