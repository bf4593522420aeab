// @ts-check
/** Begins a new chain after the old key was revoked: what was on its way is sealed anew, nothing is dropped. */
import { statementIn } from "./outbox.js";

/**
 * @param {import("./outbox.js").Store} store
 * @returns {Promise<boolean>}
 */
export async function unsealedAll(store) {
  const edits = (await store.get("meta", "edits"))?.n ?? 0;
  /** @type {import("./outbox.js").Op[]} */
  const ops = ["device", "key", "head", "refill", "state"].map((name) => ["delete", "meta", name]);
  for (const envelope of await store.all("envelopes")) {
    ops.push(["delete", "envelopes", envelope.seq]);
    for (const { n, id, text, made_at } of envelope.entries) {
      ops.push(["put", "outbox", { n, id, statement: statementIn(text), made_at }]);
    }
  }
  for (const { seq } of await store.all("copies")) ops.push(["delete", "copies", seq]);
  return store.write(ops, edits);
}
