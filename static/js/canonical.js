// @ts-check
/** The canonical bytes of a statement (RFC 8785), their digest, and the ids of entries (RFC 9562). */

/** @typedef {null | boolean | number | string | any[] | {[name: string]: any}} Plain */

const DECIMALS = 4;
const LARGEST = 1e9;

/**
 * The RFC 8785 text of plain values. Numbers are kept to four decimals, as on the bench PC.
 * @param {Plain} value
 * @returns {string}
 */
export function canonical(value) {
  if (typeof value === "number") return String(number(value));
  if (typeof value === "string") return quoted(value);
  if (value === null || typeof value === "boolean") return String(value);
  if (Array.isArray(value)) return `[${value.map(canonical).join(",")}]`;
  const names = Object.keys(value).sort();
  return `{${names.map((name) => `${quoted(name)}:${canonical(value[name])}`).join(",")}}`;
}

/**
 * @param {number} value
 */
export function number(value) {
  if (!Number.isFinite(value)) throw new RangeError("not a finite number");
  if (Number.isSafeInteger(value)) return value + 0 === 0 ? 0 : value;
  if (Math.abs(value) >= LARGEST) throw new RangeError("too large a number");
  const rounded = Number(value.toFixed(DECIMALS));
  return rounded === 0 ? 0 : rounded;
}

/** @param {string} text */
function quoted(text) {
  const written = JSON.stringify(text);
  // Half of a surrogate pair has no UTF-8 bytes.
  if (/\\ud[89a-f]/.test(written) && /[\ud800-\udfff]/u.test(text)) throw new RangeError("half a letter");
  return written;
}

/**
 * SHA-256 in lower-case hexadecimal.
 * @param {string | BufferSource} content
 */
export async function digestOf(content) {
  const bytes = typeof content === "string" ? new TextEncoder().encode(content) : content;
  return hex(new Uint8Array(await crypto.subtle.digest("SHA-256", bytes)));
}

/** @param {Uint8Array} bytes */
export function hex(bytes) {
  let text = "";
  for (const byte of bytes) text += byte.toString(16).padStart(2, "0");
  return text;
}

/**
 * A time-ordered id (UUID version 7) that sorts after `last`, also when the clock was set back.
 * @param {number} nowMs
 * @param {string} last the id made before, "" for none
 * @param {Uint8Array} random ten random bytes
 */
export function entryId(nowMs, last, random) {
  const lastMs = last ? timeOf(last) : 0;
  const farAhead = lastMs - nowMs > 86_400_000;
  const atMs = lastMs >= nowMs && !farAhead ? lastMs + 1 : nowMs;
  const digits = atMs.toString(16).padStart(12, "0") + hex(random);
  const variant = ((parseInt(digits[16], 16) & 3) | 8).toString(16);
  return [digits.slice(0, 8), digits.slice(8, 12), `7${digits.slice(13, 16)}`,
    variant + digits.slice(17, 20), digits.slice(20, 32)].join("-");
}

/** @param {string} id */
export function timeOf(id) {
  return parseInt(id.slice(0, 8) + id.slice(9, 13), 16);
}

/** @param {number} ms */
export function iso(ms) {
  return new Date(ms).toISOString();
}
