// @ts-check
/** A pad of digits of our own: large keys, the unit in sight, no keyboard over half the screen. */

/**
 * What a key does to the digits typed so far.
 * @param {string} typed
 * @param {string} key a digit, ".", "sign" or "back"
 */
export function pressed(typed, key) {
  if (key === "back") return typed.slice(0, -1).replace(/^-$/, "");
  if (key === "sign") return typed.startsWith("-") ? typed.slice(1) : `-${typed || "0"}`;
  if (key === ".") return typed.includes(".") ? typed : `${typed || "0"}.`;
  const digits = `${typed}${key}`.replace(/^(-?)0+(?=\d)/, "$1");
  return digits.replace(/\D/g, "").length > 6 ? typed : digits;
}

/**
 * Whether the digits make a number within the limits of an input.
 * @param {string} typed
 * @param {{min: string, max: string}} limits
 */
export function fits(typed, limits) {
  const value = Number(typed);
  if (typed === "" || !Number.isFinite(value)) return false;
  const least = limits.min === "" ? -Infinity : Number(limits.min);
  return least <= value && value <= (limits.max === "" ? Infinity : Number(limits.max));
}

/**
 * Open the pad for one input; `take` gets the digits when they are taken.
 * @param {HTMLElement} stepper
 * @param {HTMLInputElement} input
 * @param {(text: string) => void} take
 */
export function openPad(stepper, input, take) {
  const pad = /** @type {HTMLDialogElement | null} */ (document.getElementById("pad"));
  if (!pad) return input.focus();
  let typed = "";
  const show = () => draw(pad, typed || input.value, typed === "" || fits(typed, input));
  /** @param {string} key */
  const press = (key) => {
    if (key === "leave") return pad.close();
    if (key !== "take") typed = pressed(typed, key);
    else if (typed === "" || fits(typed, input)) {
      if (typed !== "") take(String(Number(typed)));
      return pad.close();
    }
    return show();
  };
  label(pad, stepper, input);
  show();
  const done = new AbortController();
  listen(pad, press, done.signal);
  pad.addEventListener("close", () => { done.abort(); input.focus({ preventScroll: true }); }, { once: true });
  return pad.showModal();
}

/**
 * @param {HTMLElement} pad
 * @param {(key: string) => void} press
 * @param {AbortSignal} signal
 */
function listen(pad, press, signal) {
  pad.addEventListener("click", (event) => {
    const key = /** @type {Element} */ (event.target).closest("[data-pad-key]");
    if (key instanceof HTMLElement) press(key.dataset.padKey ?? "");
  }, { signal });
  pad.addEventListener("keydown", (event) => {
    const named = { Backspace: "back", ",": ".", "-": "sign" }[event.key] ?? event.key;
    if (/^(\d|\.|back|sign)$/.test(named)) press(named);
  }, { signal });
}

/**
 * @param {HTMLElement} pad
 * @param {HTMLElement} stepper
 * @param {HTMLInputElement} input
 */
function label(pad, stepper, input) {
  fill(pad, "#pad-title", stepper.dataset.label ?? "");
  fill(pad, "[data-pad-unit]", stepper.dataset.unit ?? "");
  fill(pad, "[data-pad-range]", stepper.dataset.range ?? "");
  const sign = pad.querySelector('[data-pad-key="sign"]');
  if (sign instanceof HTMLButtonElement) sign.hidden = input.min !== "" && Number(input.min) >= 0;
}

/**
 * @param {HTMLElement} pad
 * @param {string} text
 * @param {boolean} right
 */
function draw(pad, text, right) {
  fill(pad, "[data-pad-value]", text || "–");
  const take = pad.querySelector('[data-pad-key="take"]');
  if (take instanceof HTMLButtonElement) take.disabled = !right;
  pad.querySelector("[data-pad-range]")?.classList.toggle("error", !right);
}

/**
 * @param {HTMLElement} pad
 * @param {string} selector
 * @param {string} text
 */
function fill(pad, selector, text) {
  const part = pad.querySelector(selector);
  if (part) part.textContent = text;
}
