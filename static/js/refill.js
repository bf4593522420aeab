// @ts-check
/** Sends a restored bench PC again what it has lost, from the copies kept here. */
import { asked, failedWith, newEpoch, note, push, stopped } from "./contact.js";
import { isCursor, settled } from "./envelope.js";

/**
 * @typedef {import("./contact.js").Here} Here
 * @typedef {import("./contact.js").Outcome} Outcome
 */

/**
 * Send again what a restored bench PC has lost, from the copies kept here.
 * @param {Here} here
 * @returns {Promise<Outcome | null>} null to go on
 */
export async function refilled(here) {
  const told = await asked(here, "GET", "/sync/cursors", "");
  if (told.status === 409) await newEpoch(here, told.json);
  if (told.status !== 200) return failedWith(here, told);
  const from = await heldSeq(here, told.json);
  const lost = (await here.store.all("copies")).filter((one) => one.last > from);
  const [first] = lost.length ? lost : await here.store.all("envelopes");
  if (first && first.seq > from + 1) return stopped(here, "copies_gone");
  for (const { seq, entries } of lost) {
    const answer = await push(here, entries.map((/** @type {any} */ one) => one.text));
    if (answer.status === 409) await newEpoch(here, answer.json);
    if (answer.status !== 200) return failedWith(here, answer);
    const { received } = settled({ seq, base: { seq: seq - 1, digest: "" }, entries }, answer.json ?? {});
    if (received.length < entries.length) return stopped(here, "copies_refused");
  }
  await here.store.write([["delete", "meta", "refill"]]);
  await note(here, { failed: 0, paused: "", words: "", contact_ms: here.now() });
  return null;
}

/**
 * @param {Here} here
 * @param {any} told the answer of the cursors
 * @returns {Promise<number>}
 */
async function heldSeq(here, told) {
  const { device } = await here.store.get("meta", "device");
  const cursor = told?.cursors?.[device];
  return isCursor(cursor) ? cursor.seq : 0;
}

/**
 * Ask the bench PC what it holds, so that a restored one is found out although nothing waits here.
 * @param {Here} here
 * @returns {Promise<Outcome>}
 */
export async function lookedIn(here) {
  const answer = await asked(here, "GET", "/sync/cursors", "");
  if (answer.status === 409) await newEpoch(here, answer.json);
  if (answer.status !== 200) return failedWith(here, answer);
  const head = (await here.store.get("meta", "head"))?.seq ?? 0;
  const open = await here.store.count("envelopes");
  if (!open && await heldSeq(here, answer.json) < head) await here.store.write([["put", "meta", { name: "refill" }]]);
  await note(here, { failed: 0, paused: "", words: "", contact_ms: here.now() });
  return "done";
}
