// @ts-check
/** Sealing statements into the tablet's own chain, and what an answer of the bench PC does to them. */
import { canonical } from "./canonical.js";
import { statementIn } from "./outbox.js";

/**
 * @typedef {{seq: number, digest: string}} Cursor
 * @typedef {{n: number, id: string, seq: number, digest: string, text: string, made_at: number}} Sealed
 * @typedef {{seq: number, base: Cursor, entries: Sealed[]}} Envelope
 * @typedef {{id: string, digest: string, verdict: string, code?: string, field?: string, words?: string}} Receipt
 * @typedef {import("./outbox.js").Row} Row
 */

export const VERSION = 1;
export const MOST = 500;
export const MOST_BYTES = 900_000;
const OF_THE_CHAIN = ["chain_forked", "wrong_prev"];

/**
 * Seal statements in their order after the head of the chain, as many as one push takes.
 * @param {Row[]} rows
 * @param {string} device
 * @param {Cursor} head
 * @param {(text: string) => Promise<string>} digestOf
 * @param {number} most
 * @returns {Promise<Envelope>}
 */
export async function sealed(rows, device, head, digestOf, most = MOST) {
  /** @type {Sealed[]} */
  const entries = [];
  let { seq, digest } = head;
  let size = 0;
  for (const row of rows.slice(0, most)) {
    const text = canonical(/** @type {any} */ ({ ...row.statement, v: VERSION, device, seq: seq + 1, prev: digest }));
    size += JSON.stringify(text).length + (text.length >> 2);
    if (entries.length && size > MOST_BYTES) break;
    seq += 1;
    digest = await digestOf(text);
    entries.push({ n: /** @type {number} */ (row.n), id: row.id, seq, digest, text, made_at: row.made_at });
  }
  return { seq: head.seq + 1, base: head, entries };
}

/**
 * What an answer means for what was sent. An entry leaves only by a receipt with its id and its digest.
 *
 * `received` go; `refused` need attention; `unsealed` go back to be sealed anew after `head`;
 * `left` are sent again as they are; `behind` says that the bench PC lacks earlier entries.
 * @param {Envelope} envelope
 * @param {{receipts?: Receipt[], cursor?: Cursor}} answer
 */
export function settled(envelope, answer) {
  const receipts = new Map((answer.receipts ?? []).map((one) => [`${one.id} ${one.digest}`, one]));
  const told = envelope.entries.map((entry) => ({ entry, receipt: receipts.get(`${entry.id} ${entry.digest}`) }));
  // Half an answer counts only as far as it goes without a hole, so that the copies have none either.
  const whole = told.every(({ receipt }) => isAnswer(receipt));
  const hole = told.findIndex(({ receipt }) => !isReceived(receipt));
  const got = whole ? told.filter(({ receipt }) => isReceived(receipt)) : told.slice(0, hole);
  const received = got.map(({ entry }) => entry);
  const other = told.filter((one) => !got.includes(one));
  const result = { received, refused: /** @type {typeof told} */ ([]), unsealed: /** @type {Sealed[]} */ ([]),
    left: other.map(({ entry }) => entry), head: lastOf(envelope, received), behind: false,
    waits: other.find(({ receipt }) => receipt?.verdict === "waits")?.receipt };
  if (!whole) return result;
  const code = (/** @type {typeof told[0]} */ one) => one.receipt?.code ?? "";
  const forked = other.some((one) => OF_THE_CHAIN.includes(code(one)));
  const refused = other.filter((one) => code(one) !== "gap" && !OF_THE_CHAIN.includes(code(one)));
  if (!forked && !refused.length) return { ...result, behind: other.length > 0 };
  const unsealed = other.filter((one) => !refused.includes(one)).map(({ entry }) => entry);
  const head = forked && isCursor(answer.cursor) ? answer.cursor : result.head;
  return { ...result, refused, unsealed, left: [], head };
}

/** @param {Receipt | undefined} receipt */
function isReceived(receipt) {
  return receipt?.verdict === "stored" || receipt?.verdict === "already";
}

/** @param {Receipt | undefined} receipt */
function isAnswer(receipt) {
  return isReceived(receipt) || receipt?.verdict === "refused";
}

/**
 * @param {Envelope} envelope
 * @param {Sealed[]} received
 * @returns {Cursor}
 */
function lastOf(envelope, received) {
  return received.reduce((/** @type {Cursor} */ last, one) =>
    one.seq > last.seq ? { seq: one.seq, digest: one.digest } : last, envelope.base);
}

/**
 * @param {any} cursor
 * @returns {cursor is Cursor}
 */
export function isCursor(cursor) {
  return Number.isSafeInteger(cursor?.seq) && cursor.seq >= 0 && /^([0-9a-f]{64})?$/.test(cursor?.digest);
}

/**
 * The writes that carry out what `settled` found.
 * @param {Envelope} envelope
 * @param {ReturnType<typeof settled>} result
 * @param {number} nowMs
 * @returns {import("./outbox.js").Op[]}
 */
export function carriedOut(envelope, result, nowMs) {
  /** @type {import("./outbox.js").Op[]} */
  const ops = [["delete", "envelopes", envelope.seq]];
  if (result.received.length) {
    const entries = result.received.map(({ seq, digest, text }) => ({ seq, digest, text }));
    ops.push(["put", "copies", { seq: result.received[0].seq, last: entries[entries.length - 1].seq, at: nowMs, entries }]);
  }
  if (result.left.length) {
    const first = result.left[0];
    const base = { seq: first.seq - 1, digest: JSON.parse(first.text).prev };
    ops.push(["put", "envelopes", { seq: first.seq, base, entries: result.left }]);
    return ops;
  }
  for (const { entry, receipt } of result.refused) {
    ops.push(["put", "refused", { id: entry.id, n: entry.n, made_at: entry.made_at, digest: entry.digest,
      statement: statementIn(entry.text), code: receipt?.code ?? "", field: receipt?.field ?? "", words: receipt?.words ?? "" }]);
  }
  for (const entry of result.unsealed) {
    ops.push(["put", "outbox", { n: entry.n, id: entry.id, statement: statementIn(entry.text), made_at: entry.made_at }]);
  }
  ops.push(["put", "meta", { name: "head", ...result.head }]);
  return ops;
}
