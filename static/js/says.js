// @ts-check
/** The words of the catalogue that the page carries for its scripts. */

/** @type {Record<string, string> | null} */
let words = null;

/**
 * Words by their key, filled in.
 * @param {string} key
 * @param {Record<string, string | number>} params
 */
export function says(key, params = {}) {
  words ??= JSON.parse(document.getElementById("tablet")?.dataset.words ?? "{}");
  const text = words?.[key] ?? key;
  return text.replace(/\{(\w+)\}/g, (whole, name) => (name in params ? String(params[name]) : whole));
}

/**
 * One or many, by keys that end in `_1` and none.
 * @param {string} key
 * @param {number} count
 * @param {Record<string, string | number>} params
 */
export function counted(key, count, params = {}) {
  return says(count === 1 ? `${key}_1` : key, { count, ...params });
}

/**
 * How long ago, in words.
 * @param {number} ms
 */
export function age(ms) {
  const minutes = Math.floor(ms / 60_000);
  if (minutes < 1) return says("age.now");
  if (minutes < 120) return counted("age.minutes", minutes);
  return minutes < 2880 ? counted("age.hours", Math.floor(minutes / 60)) : counted("age.days", Math.floor(minutes / 1440));
}

/**
 * A time of day, with the day where it is not today.
 * @param {number} ms
 */
export function clockTime(ms) {
  const at = new Date(ms);
  const two = (/** @type {number} */ n) => String(n).padStart(2, "0");
  const time = `${two(at.getHours())}:${two(at.getMinutes())}`;
  const today = new Date().toDateString() === at.toDateString();
  return today ? time : `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())} ${time}`;
}
