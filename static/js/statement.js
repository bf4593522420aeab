// @ts-check
/** From a form to a statement: what it says, of which case, at which setting, what it corrects. */

/**
 * @typedef {"int" | "number" | "text" | "flag"} Type
 * @typedef {{type: Type, many?: boolean, blank: "missing" | "null" | "default", default?: any, choices?: string[], chosen?: boolean}} Field
 * @typedef {{fields: Record<string, Field>, of_the_lab?: boolean, at_a_setting: boolean, with_a_reason: boolean, claims: string[][],
 *   needs: [string, string | null, string[]][]}} Kind
 * @typedef {{field: string, code: string, value?: string, at?: string}} Fault `at` names the control where it is another
 * @typedef {{id: string, kind: string, case: string | null, setting: string | null, body: Record<string, any>,
 *   person: string, at: string, supersedes: string[], reason: string}} Statement
 */

const LARGEST = 1e9;
const MM_PER_INCH = 25.4;
// Gauges are sold in pairs of rounded sizes: 0.010 in is the 0.25 mm gauge (common practice, no source).
const GAUGES_MM_BY_INCH = /** @type {Record<string, number>} */ ({ 0.01: 0.25, 0.02: 0.5, 0.03: 0.75 });
const GAUGES = ["gauge_mm", "wanted_mm", "size_mm"];
const ON = ["on", "true", "yes", "1"];
const NUMBER = /^[+-]?([0-9]{1,12}([.,][0-9]{0,12})?|[.,][0-9]{1,12})$/;
const WHOLE = /^[+-]?[0-9]{1,12}$/;
const CONTROL = /[\u0000-\u0008\u000b-\u001f]/;

/**
 * The body that a form states, and the faults in it by field.
 * @param {Kind} kind
 * @param {[string, string][]} pairs the form's fields in their order
 */
export function bodyFrom(kind, pairs) {
  /** @type {Record<string, any>} */
  const body = {};
  /** @type {Fault[]} */
  const faults = [];
  for (const [name, field] of Object.entries(kind.fields)) {
    const texts = textsOf(name, pairs);
    const fault = "code" in texts ? { ...texts, field: name } : put(body, name, field, texts.found);
    if (fault) faults.push(fault);
  }
  const needed = kind.needs.flatMap(([name, value, names]) =>
    (value === null ? Boolean(body[name]) : body[name] === value) ? names : []);
  const missing = needed.filter((name) => body[name] === null).map((field) => ({ field, code: "missing" }));
  return { body, faults: [...faults, ...missing] };
}

/**
 * @param {Record<string, any>} body
 * @param {string} name
 * @param {Field} field
 * @param {string[]} texts
 * @returns {Fault | null}
 */
function put(body, name, field, texts) {
  if (field.type === "flag") {
    if (field.chosen && !texts.some(Boolean)) return { field: name, code: "missing" };
    body[name] = texts.length ? ON.includes(texts[texts.length - 1].toLowerCase()) : field.default === true;
    return null;
  }
  const said = texts.filter((text) => text !== "");
  const read = said.map((text) => valueOf(field, text));
  const fault = read.find((one) => "code" in one);
  if (fault && "code" in fault) return { field: name, ...fault };
  const values = read.map((one) => /** @type {{value: any}} */ (one).value);
  if (field.many) body[name] = values;
  else if (values.length) body[name] = values[values.length - 1];
  else if (field.blank === "missing") return { field: name, code: "missing" };
  else body[name] = field.blank === "null" ? null : field.default;
  return null;
}

/**
 * @param {Field} field
 * @param {string} text
 * @returns {{value: any} | {code: string, value: string}}
 */
function valueOf(field, text) {
  const plain = text.replace("\u2212", "-");
  if (field.type === "text") {
    if (CONTROL.test(text) || /[\ud800-\udfff]/u.test(text)) return { code: "control_characters", value: text };
    return field.choices && !field.choices.includes(text) ? { code: "not_a_choice", value: text } : { value: text };
  }
  if (field.type === "int") return WHOLE.test(plain) ? { value: Number(plain) } : { code: "not_whole", value: text };
  const value = NUMBER.test(plain) ? Number(plain.replace(",", ".")) : NaN;
  return Math.abs(value) < LARGEST ? { value } : { code: "not_a_number", value: text };
}

/**
 * The texts of a field; a length may stand in inches under another name.
 * @param {string} name
 * @param {[string, string][]} pairs
 * @returns {{found: string[]} | {code: string, value: string}}
 */
function textsOf(name, pairs) {
  const named = (/** @type {string} */ one) => pairs.filter(([key]) => key === one)
    .map(([, text]) => text.trim().replaceAll("\r\n", "\n"));
  const inches = name.endsWith("_mm") ? named(`${name.slice(0, -3)}_in`) : [];
  if (!inches.some((text) => text !== "")) return { found: named(name) };
  const wrong = inches.find((text) => text !== "" && !NUMBER.test(text));
  if (wrong !== undefined) return { code: "not_a_number", value: wrong };
  return { found: inches.filter((text) => text !== "").map((text) => String(millimetres(name, Number(text.replace(",", "."))))) };
}

/**
 * @param {string} name
 * @param {number} inches
 */
function millimetres(name, inches) {
  const sold = GAUGES.includes(name) ? GAUGES_MM_BY_INCH[String(Number(inches.toFixed(4)))] : undefined;
  return sold ?? Number((inches * MM_PER_INCH).toFixed(4));
}

/**
 * The statement of a form without its id, time and person, and everything wrong with it.
 * @param {string} name the kind
 * @param {Kind} kind
 * @param {string} code the case; what is said of the lab has none
 * @param {[string, string][]} pairs
 * @param {string} otherwise the reason where none is typed and one is wanted
 */
export function statementFrom(name, kind, code, pairs, otherwise = "") {
  const all = (/** @type {string} */ one) => pairs.filter(([key]) => key === one).map(([, text]) => text);
  const { body, faults } = bodyFrom(kind, pairs);
  const supersedes = all("supersedes").filter(Boolean);
  const typed = (all("reason").pop() ?? "").trim().replaceAll("\r\n", "\n");
  const wanted = supersedes.length > 0 || kind.with_a_reason;
  const reason = typed || (wanted ? otherwise : "");
  const setting = name === "withdrawn" ? null : all("setting").pop() || null;
  if (wanted && !reason) faults.push({ field: "reason", code: "missing" });
  if (kind.at_a_setting && !setting) faults.push({ field: "setting", code: "no_setting" });
  return { said: { kind: name, case: kind.of_the_lab ? null : code, setting, body, supersedes, reason }, faults };
}

/**
 * What a statement is about: two of one claim contradict each other unless one corrects the other.
 * @param {Kind} kind
 * @param {Record<string, any>} body
 * @returns {string[]}
 */
export function claimsOf(kind, body) {
  return kind.claims.flatMap((parts) => {
    const many = parts.find((part) => part.startsWith("@") && Array.isArray(body[part.slice(1)]));
    const rounds = many ? body[many.slice(1)] : [null];
    return rounds.map((/** @type {any} */ one) => parts.map((part) => {
      if (!part.startsWith("@")) return part;
      return part === many ? one : body[part.slice(1)] ?? "";
    }).join("|"));
  });
}
