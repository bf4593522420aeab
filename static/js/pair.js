// @ts-check
/** Pairs this tablet: makes its key, sends the one-time code, keeps what the bench PC answers. */
import { ableToSign, newKey, publicText } from "./keys.js";
import { NoStore, store } from "./store.js";

/**
 * The digits of a one-time code in the address of a QR code.
 * @param {string} hash
 */
export function digitsIn(hash) {
  return /^#(\d{8})$/.exec(hash)?.[1] ?? "";
}

/** @param {HTMLFormElement} form */
function bindPair(form) {
  const said = document.querySelector("[data-pair-said]");
  const say = (/** @type {string | undefined} */ text) => { if (said) said.textContent = text ?? ""; };
  const code = /** @type {HTMLInputElement} */ (form.elements.namedItem("code"));
  const digits = digitsIn(location.hash);
  if (digits) {
    code.value = digits;
    history.replaceState(null, "", location.pathname);
  }
  if (!ableToSign()) say(form.dataset.saysNotSafe);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (!ableToSign()) return say(form.dataset.saysNotSafe);
    say(await paired(form).catch((error) => {
      return error instanceof TypeError ? form.dataset.saysNoAnswer : form.dataset.saysNoRoom;
    }));
    form.dispatchEvent(new CustomEvent("tiltbook:answered", { bubbles: true }));
    return undefined;
  });
}

/**
 * @param {HTMLFormElement} form
 * @returns {Promise<string | undefined>} what to say
 */
async function paired(form) {
  const fields = new FormData(form);
  const kept = await store.get("meta", "device") ?? await store.get("meta", "key");
  const pair = kept ? { privateKey: kept.key, publicKey: kept.public_key } : await newKey();
  await store.write([["put", "meta", { name: "key", key: pair.privateKey, public_key: pair.publicKey }]]);
  const body = { code: fields.get("code"), name: fields.get("name"), public_key: await publicText(pair.publicKey) };
  const answer = await fetch(form.action, {
    method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body),
  });
  const told = await answer.json();
  if (told.code === "revoked_key") await forgetKey();
  if (!answer.ok) return told.words;
  await keepDevice(told, pair, String(fields.get("name")));
  await navigator.storage?.persist?.().catch(() => false);
  return form.dataset.saysPaired;
}

/**
 * @param {{device: string, epoch: string, bench: string}} told
 * @param {CryptoKeyPair} pair
 * @param {string} name
 */
async function keepDevice(told, pair, name) {
  const before = await store.get("meta", "device");
  if (before && before.device !== told.device) throw new NoStore("other");
  const { device, epoch, bench } = told;
  await store.write([
    ["put", "meta", { name: "device", device, epoch, bench, label: name, key: pair.privateKey, public_key: pair.publicKey }],
    ["put", "meta", { name: "refill" }],
  ]);
}

/** A revoked key never comes back: the next try makes a new one, and its chain starts anew. */
async function forgetKey() {
  const { unsealedAll } = await import("./newchain.js");
  await unsealedAll(store);
}

if (typeof document !== "undefined") {
  const form = document.querySelector("[data-pair]");
  if (form instanceof HTMLFormElement) bindPair(form);
}
