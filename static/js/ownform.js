// @ts-check
/** Which page and which of its forms a statement belongs to, and whether a control says what it states. */

/**
 * @typedef {{path: string, asks: Record<string, string>, fixed: Record<string, string>}} OwnForm
 * @typedef {{type: string, value: string}} Control `type` as a form's elements name theirs
 */

const ON = ["on", "true", "yes", "1"];

/**
 * The address at which a refused statement opens in its step's own form.
 * @param {OwnForm} own
 * @param {import("./statement.js").Statement} statement
 */
export function addressIn({ path, asks, fixed }, { id, case: code, body }) {
  const asked = new URLSearchParams(fixed);
  for (const [name, field] of Object.entries(asks)) {
    const text = [body[field] ?? ""].flat().join(".");
    if (text !== "") asked.set(name, text);
  }
  asked.set("refused", id);
  const place = path.replace(/\{(\w+)\}/g, (_, name) => encodeURIComponent(name === "case" ? code ?? "" : String(body[name] ?? "")));
  return `${place}?${asked}`;
}

/** @param {any} value */
export function isBlank(value) {
  return value === null || value === undefined || value === "" || value === false || (Array.isArray(value) && !value.length);
}

/**
 * Whether a key, a box or what goes along unseen says a value.
 * @param {Control} control
 * @param {any} value
 */
export function saysSo({ type, value: text }, value) {
  if (typeof value === "boolean") return type === "checkbox" ? value : ON.includes(text.toLowerCase()) === value;
  return [value ?? ""].flat().some((one) => String(one) === text || (typeof one === "number" && text.trim() !== "" && Number(text) === one));
}

/**
 * How well a form fits a statement: what it lets be said of it counts for it, what it says otherwise against it.
 * @param {(name: string) => Control[]} named the controls of a name
 * @param {Record<string, any>} body
 */
export function fitOf(named, body) {
  return Object.entries(body).filter(([, value]) => !isBlank(value)).reduce((fit, [name, value]) => {
    const controls = named(name);
    const unseen = controls.filter((one) => one.type === "hidden");
    if (unseen.length) return fit + (unseen.some((one) => saysSo(one, value)) ? 0 : -1);
    const isChosen = controls.length > 0 && controls.every((one) => ["radio", "checkbox", "submit"].includes(one.type));
    return fit + (controls.length && (!isChosen || controls.some((one) => saysSo(one, value))) ? 1 : 0);
  }, 0);
}
