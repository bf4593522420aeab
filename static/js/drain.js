// @ts-check
/**
 * Sends what was stated here to the bench PC until nothing waits or it does not answer.
 * Pure over a store and a network; safe to run any number of times, one at a time under a lock.
 */
import { asked, failedWith, newEpoch, note, push, stateOf } from "./contact.js";
import { carriedOut, MOST, sealed, settled } from "./envelope.js";
import { refilled } from "./refill.js";

/**
 * @typedef {import("./contact.js").Here} Here
 * @typedef {import("./contact.js").Answer} Answer
 * @typedef {import("./contact.js").Outcome} Outcome
 * @typedef {import("./envelope.js").Envelope} Envelope
 */

export const KEEP_COPIES_MS = 30 * 86_400_000;
const FIRST_WAIT_MS = 2000;
const LONGEST_WAIT_MS = 60_000;
const MOST_REFILLS = 4;

/**
 * How long to wait after so many failures, with some chance in it so that tablets do not march in step.
 * @param {number} failed
 * @param {number} chance 0 to 1
 */
export function waitMs(failed, chance) {
  const most = Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** Math.max(0, failed - 1));
  return Math.round(most * (0.5 + chance / 2));
}

/**
 * @param {Here} here
 * @returns {Promise<Outcome>}
 */
export async function drain(here) {
  if (!await here.store.get("meta", "device")) return "done";
  let most = MOST;
  /** @type {Envelope | null} Sealed and kept already, so that it need not be read back. */
  let next = null;
  // A bench PC that asks for the same again and again is asked later.
  for (let refills = 0; refills < MOST_REFILLS;) {
    if (!next && await here.store.get("meta", "refill")) {
      const outcome = await refilled(here);
      if (outcome) return outcome;
      refills += 1;
    }
    const envelope = next ?? await ready(here, most);
    if (envelope === "none") return finished(here);
    if (envelope === "unreached") return "again";
    if (envelope === "edited") continue;
    // The next one is sealed in memory while this one travels, and kept together with its receipts.
    const [answer, following] = await Promise.all([
      push(here, envelope.entries.map((one) => one.text)), ahead(here, envelope, most).catch(() => null)]);
    next = null;
    if (answer.status === 413 && envelope.entries.length > 1) {
      most = Math.ceil(envelope.entries.length / 2);
      await reopened(here, envelope);
      continue;
    }
    const outcome = await taken(here, envelope, answer, following);
    if (typeof outcome === "string") return outcome;
    next = outcome;
  }
  return failedWith(here, { status: 0, json: null });
}

/**
 * The envelope to send: the one sent before, or a new one once the bench PC is known to answer.
 * @param {Here} here
 * @param {number} most
 * @returns {Promise<Envelope | "none" | "unreached" | "edited">}
 */
async function ready(here, most) {
  const [before] = await here.store.first("envelopes", 1);
  if (before) return before;
  const edits = (await here.store.get("meta", "edits"))?.n ?? 0;
  const rows = await here.store.first("outbox", most);
  if (!rows.length) return "none";
  // While nobody answers nothing is sealed, so that what was just stated can still be taken out.
  if ((await stateOf(here.store)).failed && !await reached(here)) return "unreached";
  const { device } = await here.store.get("meta", "device");
  const head = (await here.store.get("meta", "head")) ?? { seq: 0, digest: "" };
  const envelope = await sealed(rows, device, { seq: head.seq, digest: head.digest }, here.digestOf, most);
  return await here.store.write(closing(envelope), edits) ? envelope : "edited";
}

/**
 * The writes that move statements from the outbox into a sealed envelope.
 * @param {Envelope} envelope
 * @returns {import("./outbox.js").Op[]}
 */
function closing(envelope) {
  const last = envelope.entries[envelope.entries.length - 1];
  return [
    ["put", "envelopes", envelope], ["deleteRange", "outbox", envelope.entries[0].n, last.n],
    ["put", "meta", { name: "head", seq: last.seq, digest: last.digest }],
  ];
}

/**
 * The envelope after this one, should the bench PC take all of it; nothing is kept of it yet.
 * @param {Here} here
 * @param {Envelope} envelope
 * @param {number} most
 */
async function ahead(here, envelope, most) {
  const edits = await editsOf(here);
  const rows = await here.store.first("outbox", most);
  if (!rows.length) return null;
  const { device } = await here.store.get("meta", "device");
  const { seq, digest } = envelope.entries[envelope.entries.length - 1];
  return { edits, envelope: await sealed(rows, device, { seq, digest }, here.digestOf, most) };
}

/** @param {Here} here */
async function reached(here) {
  const answer = await asked(here, "GET", "/sync/cursors", "");
  if (answer.status === 409) await newEpoch(here, answer.json);
  if (answer.status === 200) await note(here, { failed: 0, paused: "", words: "", contact_ms: here.now() });
  else await failedWith(here, answer);
  return answer.status === 200;
}

/**
 * @param {Here} here
 * @param {Envelope} envelope
 * @param {Answer} answer
 * @param {Awaited<ReturnType<typeof ahead>>} next
 * @returns {Promise<Outcome | Envelope | null>} null, or the envelope that was kept as the next, to go on
 */
async function taken(here, envelope, answer, next) {
  if (answer.status === 409 && answer.json?.code === "other_epoch") {
    await newEpoch(here, answer.json);
    return null;
  }
  if (answer.status !== 200 || !Array.isArray(answer.json?.receipts)) return failedWith(here, answer);
  const result = settled(envelope, answer.json);
  const stuck = result.left.length === envelope.entries.length;
  if (result.behind && stuck) {
    await here.store.write([["put", "meta", { name: "refill" }]]);
    return null;
  }
  const failed = stuck ? (await stateOf(here.store)).failed + 1 : 0;
  const { code = "", words = "" } = result.waits ?? {};
  const told = { failed, paused: stuck ? code : "", words: stuck ? words : "", contact_ms: here.now() };
  /** @type {import("./outbox.js").Op[]} */
  const ops = [...(stuck ? [] : carriedOut(envelope, result, here.now())), ["put", "meta", { name: "state", ...told }]];
  const whole = next && result.received.length === envelope.entries.length;
  if (whole && await here.store.write([...ops, ...closing(next.envelope)], next.edits)) return next.envelope;
  await here.store.write(ops, stuck ? undefined : await editsOf(here));
  return stuck ? "again" : null;
}

/** @param {Here} here */
async function editsOf(here) {
  return (await here.store.get("meta", "edits"))?.n ?? 0;
}

/**
 * Put an envelope that is too heavy back, to be sealed in smaller ones.
 * @param {Here} here
 * @param {Envelope} envelope
 */
async function reopened(here, envelope) {
  const result = { received: [], refused: [], unsealed: envelope.entries, left: [], head: envelope.base, behind: false, waits: undefined };
  await here.store.write(carriedOut(envelope, result, here.now()), await editsOf(here));
}

/**
 * @param {Here} here
 * @returns {Promise<Outcome>}
 */
async function finished(here) {
  const before = here.now() - KEEP_COPIES_MS;
  const old = (await here.store.first("copies", 4)).filter((one) => one.at < before);
  if (old.length) await here.store.write(old.map((one) => ["delete", "copies", one.seq]));
  return "done";
}
