// @ts-check
/** Requests that this tablet signs with its key. */
import { signature, signedText } from "./keys.js";

/**
 * @typedef {{method: string, path: string, body: string | ArrayBuffer, epoch: string,
 *   headers?: Record<string, string>, device?: any}} Asked
 */

const PATIENCE_MS = 20_000;

/**
 * Send a signed request; rejects where nobody answers in time.
 * @param {import("./outbox.js").Store} store
 * @param {Asked} asked
 * @returns {Promise<Response>}
 */
export async function signedRequest(store, { method, path, body, epoch, headers = {} }) {
  const device = await store.get("meta", "device");
  const bytes = typeof body === "string" ? new TextEncoder().encode(body) : body;
  const text = await signedText(method, path, bytes, epoch);
  const named = {
    "X-Tiltbook-Device": device.device, "X-Tiltbook-Epoch": epoch,
    "X-Tiltbook-Signature": await signature(device.key, text), ...headers,
  };
  const sent = method === "GET" || method === "HEAD" ? undefined : bytes;
  return fetch(path, { method, headers: named, body: sent, cache: "no-store", signal: AbortSignal.timeout(PATIENCE_MS) });
}

/**
 * What the drain sends with: an answer that is cut short counts as none.
 * @param {import("./outbox.js").Store} store
 * @returns {import("./contact.js").Send}
 */
export function sender(store) {
  return async (asked) => {
    /** @type {Record<string, string>} */
    const headers = asked.method === "POST" ? { "Content-Type": "application/json" } : {};
    const answer = await signedRequest(store, { ...asked, headers });
    const json = await answer.json().catch(() => null);
    if (answer.ok && json === null) throw new TypeError("half an answer");
    return { status: answer.status, json };
  };
}
