// @ts-check
/** Digits as big keys below a PIN field: shown only where this module runs. */

/** @param {Element | Document} root */
export function bindPins(root) {
  for (const pad of root.querySelectorAll("[data-pin]")) bindPin(pad);
}

/** @param {Element} pad */
function bindPin(pad) {
  const field = pad.querySelector("input");
  const keys = pad.querySelector("[data-pin-keys]");
  if (!field || !keys) return;
  keys.removeAttribute("hidden");
  keys.addEventListener("click", (event) => {
    const key = event.target instanceof Element && event.target.closest("[data-pin-key]");
    if (key) field.value = typed(field.value, key.getAttribute("data-pin-key") ?? "");
  });
}

/**
 * What the field holds after a key.
 * @param {string} held
 * @param {string} key a digit, "back" or "clear"
 */
export function typed(held, key) {
  if (key === "clear") return "";
  if (key === "back") return held.slice(0, -1);
  return /^[0-9]$/.test(key) && held.length < 8 ? held + key : held;
}

if (typeof document !== "undefined") bindPins(document);
