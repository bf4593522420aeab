// @ts-check
/** The outbox: what was stated here and is not yet receipted by the bench PC. Pure over a store. */
import { entryId, iso } from "./canonical.js";

/**
 * @typedef {import("./statement.js").Statement} Statement
 * @typedef {["put", string, any] | ["delete", string, any] | ["deleteRange", string, number, number]} Op
 * @typedef {{get(room: string, key: any): Promise<any>, first(room: string, count: number): Promise<any[]>,
 *   all(room: string): Promise<any[]>, atOnce(rooms: string[]): Promise<any[][]>, count(room: string): Promise<number>,
 *   write(ops: Op[], edits?: number): Promise<boolean>}} Store
 * @typedef {{n?: number, id: string, statement: Statement, made_at: number}} Row
 * @typedef {{id: string, statement: Statement, code: string, field: string, words: string, made_at: number,
 *   digest: string, n?: number}} Refused
 * @typedef {Omit<Statement, "id" | "at"> & {id?: string, about?: string}} Said `about` is the field of its body
 *   that names the first of the same write
 * @typedef {{store: Store, now: () => number, random: (count: number) => Uint8Array, last?: string}} Making
 *   `last` is the id made last, remembered between calls
 */

/** The kind of the note that a tablet could not ask for the PIN. */
export const UNCONFIRMED = "person_unconfirmed";

/**
 * Keep statements durably, one after another; when this returns they survive a power cut.
 * @param {Making} here
 * @param {Said[]} said
 * @param {Op[]} besides what is done in the same write
 * @param {boolean} proved whether the person has shown the PIN; else a note says so beside what is stated
 * @returns {Promise<Statement[]>}
 */
export async function state(here, said, besides = [], proved = true) {
  const made = await stamped(here, said, proved);
  await here.store.write([...made.map(asRow), ...besides, ["put", "meta", { name: "last", id: here.last }]]);
  return made;
}

/**
 * Statements with their ids and their time, and the note where no PIN was shown; nothing is kept yet.
 * @param {Making} here
 * @param {Said[]} said
 * @param {boolean} proved
 * @returns {Promise<Statement[]>}
 */
export async function stamped(here, said, proved) {
  const nowMs = here.now();
  let last = here.last ?? (await here.store.get("meta", "last"))?.id ?? "";
  const fresh = () => { last = entryId(nowMs, last, here.random(10)); return last; };
  let first = "";
  const made = said.map(({ about, ...one }) => {
    const id = one.id ?? fresh();
    first ||= id;
    return { ...one, body: about ? { ...one.body, [about]: first } : one.body, id, at: iso(nowMs) };
  });
  if (!proved) {
    const note = { ...made[0], kind: UNCONFIRMED, setting: null, supersedes: [], reason: "" };
    made.push({ ...note, id: fresh(), body: { entries: made.map((one) => one.id) } });
  }
  here.last = last;
  return made;
}

/**
 * @param {Statement} statement
 * @returns {Op}
 */
export function asRow(statement) {
  return ["put", "outbox", { id: statement.id, statement, made_at: Date.parse(statement.at) }];
}

/**
 * Take a statement out again while nobody can have seen it: not sealed, and no other names it.
 * @param {Store} store
 * @param {string} id
 * @returns {Promise<boolean>} false when it has to be withdrawn by a statement of its own
 */
export async function takeOut(store, id) {
  const edits = (await store.get("meta", "edits"))?.n ?? 0;
  const rows = /** @type {Row[]} */ (await store.all("outbox"));
  const row = rows.find((one) => one.id === id);
  const isNote = (/** @type {Row} */ one) => one.statement.kind === UNCONFIRMED;
  if (!row || rows.some((one) => one.id !== id && !isNote(one) && names(one.statement, id))) return false;
  /** @type {Op[]} */
  const ops = [["delete", "outbox", row.n], ...rows.filter(isNote).flatMap((one) => noteWithout(one, id))];
  for (const later of rows.filter((one) => one.statement.supersedes.includes(id))) {
    ops.push(["put", "outbox", { ...later, statement: without(later.statement, row.statement) }]);
  }
  return store.write(ops, edits);
}

/**
 * @param {Row} note
 * @param {string} id
 * @returns {Op[]}
 */
export function noteWithout(note, id) {
  const entries = note.statement.body.entries.filter((/** @type {string} */ one) => one !== id);
  if (entries.length === note.statement.body.entries.length) return [];
  if (!entries.length) return [["delete", "outbox", note.n]];
  return [["put", "outbox", { ...note, statement: { ...note.statement, body: { entries } } }]];
}

/**
 * Whether a statement needs another: its setting or its body names it.
 * @param {Statement} statement
 * @param {string} id
 */
export function names(statement, id) {
  return statement.setting === id || JSON.stringify(statement.body).includes(id);
}

/**
 * @param {Statement} later
 * @param {Statement} gone
 */
function without(later, gone) {
  const supersedes = [...new Set(later.supersedes.flatMap((one) => one === gone.id ? gone.supersedes : [one]))];
  return { ...later, supersedes, reason: supersedes.length ? later.reason : "" };
}

/**
 * Send a refused statement again as it was put right. It keeps its id, so that what names it still does,
 * and gets another time, since the bench PC refuses the same bytes for ever.
 * @param {{store: Store, now: () => number}} here
 * @param {string} id
 * @param {Partial<Statement>} changes
 * @returns {Promise<boolean>}
 */
export async function repair(here, id, changes) {
  // Counted as an edit: it comes back to its old place, where a sealing under way must not pass over it.
  const edits = (await here.store.get("meta", "edits"))?.n ?? 0;
  const found = /** @type {Refused | undefined} */ (await here.store.get("refused", id));
  if (!found) return false;
  const statement = { ...found.statement, ...changes, at: iso(here.now()) };
  const row = { id, statement, made_at: found.made_at, ...(found.n === undefined ? {} : { n: found.n }) };
  const kept = await here.store.write([["delete", "refused", id], ["put", "outbox", row]], edits);
  return kept || repair(here, id, changes);
}

/**
 * Drop a refused statement for good: the bench PC never held it.
 * @param {Store} store
 * @param {string} id
 */
export function dropRefused(store, id) {
  return store.write([["delete", "refused", id]]);
}

/**
 * Everything stated here that the bench PC has not receipted, oldest first.
 * @param {Store} store
 * @returns {Promise<(Row & {sealed: boolean})[]>}
 */
export async function waiting(store) {
  const [envelopes, rows] = await store.atOnce(["envelopes", "outbox"]);
  const sealed = envelopes.flatMap((one) => one.entries.map((/** @type {any} */ entry) => ({
    n: entry.n, id: entry.id, statement: statementIn(entry.text), made_at: entry.made_at, sealed: true,
  })));
  const open = rows.map((/** @type {Row} */ row) => ({ ...row, sealed: false }));
  return [...sealed, ...open];
}

/**
 * What a sealed text states, without its seal.
 * @param {string} text
 * @returns {Statement}
 */
export function statementIn(text) {
  const { v: _, device: _device, seq: _seq, prev: _prev, ...statement } = JSON.parse(text);
  return statement;
}

/**
 * The figures of the strip.
 * @param {Store} store
 */
export async function tally(store) {
  const [envelopes, open, refused, meta] = await store.atOnce(["envelopes", "outbox", "refused", "meta"]);
  const [state, device] = ["state", "device"].map((name) => meta.find((one) => one.name === name));
  const entries = envelopes.flatMap((one) => one.entries);
  const ages = [...entries, ...open].map((one) => one.made_at);
  return {
    waiting: open.length + entries.length, refused: refused.length, oldest_ms: ages.length ? Math.min(...ages) : null,
    contact_ms: state?.contact_ms ?? null, paused: state?.paused ?? "", words: state?.words ?? "",
    failed: state?.failed ?? 0, device: device?.device ?? "",
  };
}
