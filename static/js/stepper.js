// @ts-check
/** Minus and plus keys beside a number, and the pad of digits on a tap of the number itself. */
import { fresh } from "./found.js";
import { openPad } from "./pad.js";

const HOLD_MS = 450;
const REPEAT_MS = 110;

/** @param {number} number */
export function decimals(number) {
  return (String(number).split(".")[1] ?? "").length;
}

/**
 * The next value of a stepper, kept within its limits and free of binary dust.
 * An empty or unreadable value starts at zero, or at the limit nearest to zero.
 * @param {string} value
 * @param {number} step signed
 * @param {number} least
 * @param {number} most
 */
export function stepped(value, step, least, most) {
  const read = value.trim() === "" ? Number.NaN : Number(value);
  const next = Number.isFinite(read) ? read + step : 0;
  const places = Math.max(decimals(Math.abs(step)), decimals(Number.isFinite(read) ? read : 0));
  return Math.min(most, Math.max(least, next)).toFixed(places);
}

/** @param {Element | Document} root */
export function bindSteppers(root) {
  for (const stepper of fresh(root, "[data-stepper]")) bindOne(stepper);
}

/** @param {HTMLElement} stepper */
function bindOne(stepper) {
  const input = stepper.querySelector("input");
  const value = stepper.querySelector(".value");
  if (!input || !value) return;
  stepper.classList.add("ready");
  value.before(key(stepper.dataset.less ?? "", stepper.dataset.lessKey ?? "−", input, -1));
  value.after(key(stepper.dataset.more ?? "", stepper.dataset.moreKey ?? "+", input, 1));
  if (stepper.dataset.level) value.append(figure(stepper, input));
  input.addEventListener("pointerdown", (event) => {
    if (event.pointerType === "mouse") return;
    event.preventDefault();
    openPad(stepper, input, (text) => put(here(input), text));
  });
}

/**
 * What a signed value says in words, without its sign and with the reader's decimal sign: 2.5° front.
 * @param {string} value
 * @param {{ [name: string]: string | undefined }} ways
 */
export function inWords(value, ways) {
  const number = Number(value);
  if (value.trim() === "" || !Number.isFinite(number)) return "";
  const words = number > 0 ? ways.above : number < 0 ? ways.below : ways.level;
  const figure = Math.abs(number).toFixed(Math.max(1, decimals(number)));
  return (words ?? "").replace("{}", figure.replace(".", ways.point ?? "."));
}

/**
 * The words of a value, shown over it until it is edited, and said in its place.
 * @param {HTMLElement} stepper
 * @param {HTMLInputElement} input
 */
function figure(stepper, input) {
  const shown = document.createElement("span");
  shown.className = "figure";
  shown.setAttribute("aria-hidden", "true");
  const tell = () => {
    shown.textContent = inWords(input.value, stepper.dataset);
    if (shown.textContent) input.setAttribute("aria-valuetext", shown.textContent);
    else input.removeAttribute("aria-valuetext");
  };
  input.addEventListener("input", tell);
  tell();
  return shown;
}

/**
 * @param {string} label
 * @param {string} sign
 * @param {HTMLInputElement} input
 * @param {1 | -1} way
 */
function key(label, sign, input, way) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "key";
  button.textContent = sign;
  button.setAttribute("aria-label", label);
  button.addEventListener("click", () => move(input, way));
  held(button, () => move(input, way));
  return button;
}

/**
 * @param {HTMLInputElement} input
 * @param {1 | -1} way
 */
function move(input, way) {
  const step = Number(input.dataset.step ?? 1);
  const least = input.min === "" ? -Infinity : Number(input.min);
  const most = input.max === "" ? Infinity : Number(input.max);
  put(input, stepped(input.value, way * step, least, most));
}

/**
 * The field that stands in a field's place now: an answer may have come in while the pad was open.
 * @param {HTMLInputElement} input
 */
function here(input) {
  const found = input.isConnected ? input : document.getElementById(input.id);
  return found instanceof HTMLInputElement ? found : input;
}

/**
 * @param {HTMLInputElement} input
 * @param {string} text
 */
function put(input, text) {
  input.value = text;
  input.dispatchEvent(new Event("input", { bubbles: true }));
  input.dispatchEvent(new Event("change", { bubbles: true }));
}

/**
 * Repeat while a key is held down.
 * @param {HTMLElement} button
 * @param {() => void} act
 */
function held(button, act) {
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let timer;
  const again = () => {
    act();
    timer = setTimeout(again, REPEAT_MS);
  };
  const stop = () => clearTimeout(timer);
  button.addEventListener("pointerdown", () => {
    timer = setTimeout(again, HOLD_MS);
  });
  for (const end of ["pointerup", "pointerleave", "pointercancel", "blur"]) {
    button.addEventListener(end, stop);
  }
  button.addEventListener("contextmenu", (event) => event.preventDefault());
}
