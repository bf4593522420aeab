// @ts-check
/** The key of this tablet: made here, never leaves it, signs what this tablet sends. */
import { hex } from "./canonical.js";

const CURVE = { name: "ECDSA", namedCurve: "P-256" };
const SIGNING = { name: "ECDSA", hash: "SHA-256" };

/** Whether this page may make keys at all: only over a trusted connection or on the bench PC itself. */
export function ableToSign() {
  return Boolean(globalThis.isSecureContext && globalThis.crypto?.subtle);
}

/** @returns {Promise<CryptoKeyPair>} the private half cannot be read out */
export function newKey() {
  return crypto.subtle.generateKey(CURVE, false, ["sign", "verify"]);
}

/**
 * The public half as the bench PC keeps it: base64 of SPKI DER (RFC 5480).
 * @param {CryptoKey} key
 */
export async function publicText(key) {
  return base64(new Uint8Array(await crypto.subtle.exportKey("spki", key)));
}

/**
 * A signature over a text: base64 of r and s side by side, as WebCrypto gives it.
 * @param {CryptoKey} key
 * @param {string} text
 */
export async function signature(key, text) {
  return base64(new Uint8Array(await crypto.subtle.sign(SIGNING, key, new TextEncoder().encode(text))));
}

/**
 * What is signed of a request.
 * @param {string} method
 * @param {string} path with its query
 * @param {BufferSource} body
 * @param {string} epoch
 */
export async function signedText(method, path, body, epoch) {
  const digest = hex(new Uint8Array(await crypto.subtle.digest("SHA-256", body)));
  return [method, path, digest, epoch].join("\n");
}

/** @param {Uint8Array} bytes */
function base64(bytes) {
  return btoa(String.fromCharCode(...bytes));
}
