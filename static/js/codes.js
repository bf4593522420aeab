// @ts-check
/** Label codes: eight signs of which the last checks the others (weights 8 to 1, sum 0 modulo 31). */

const ALPHABET = "23456789ABCDEFGHJKMNPQRSTUVWXYZ";

/**
 * The code in what was scanned or typed: upper case, no hyphens; an address gives its last part.
 * @param {string} text
 */
export function plainCode(text) {
  const last = text.trim().toUpperCase().split("/").pop() ?? "";
  return last.replace(/[\s\u00ad\u2010-\u2015\u2212-]/g, "");
}

/**
 * A label code that nobody can foretell, with its check sign.
 * @param {Uint8Array} random fourteen random bytes
 */
export function codeFrom(random) {
  const values = Array.from({ length: 7 }, (_, n) => (random[2 * n] * 256 + random[2 * n + 1]) % ALPHABET.length);
  const sum = values.reduce((total, value, n) => total + value * (8 - n), 0);
  return [...values, (ALPHABET.length - (sum % ALPHABET.length)) % ALPHABET.length].map((value) => ALPHABET[value]).join("");
}

/** @param {string} code */
export function isCode(code) {
  if (code.length !== 8) return false;
  const values = [...code].map((letter) => ALPHABET.indexOf(letter));
  const sum = values.reduce((total, value, n) => total + value * (8 - n), 0);
  return values.every((value) => value >= 0) && sum % ALPHABET.length === 0;
}
