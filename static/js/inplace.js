// @ts-check
/** States something in the place of what was refused, or of what still lies here unsealed: in one write, so that nothing is lost and nothing stands twice. */
import { asRow, noteWithout, stamped, state, UNCONFIRMED } from "./outbox.js";
import { SETTINGS } from "./overlay.js";

/**
 * @typedef {import("./outbox.js").Making} Making
 * @typedef {import("./outbox.js").Op} Op
 * @typedef {import("./outbox.js").Refused} Refused
 * @typedef {import("./outbox.js").Row} Row
 * @typedef {import("./outbox.js").Said} Said
 * @typedef {import("./statement.js").Statement} Statement
 */

/**
 * The first of what is said takes the place of an entry and keeps its id, so that what names it still does.
 * What was sent meanwhile is corrected instead; what is gone from here is stated as if it had never been.
 * @param {Making} here
 * @param {string} id
 * @param {Said[]} said
 * @param {Op[]} besides what is done in the same write
 * @param {boolean} proved
 * @param {string} why the reason of a correction where none is given
 * @returns {Promise<Statement[]>}
 */
export async function inPlace(here, id, said, besides = [], proved = true, why = "") {
  // Counted as an edit: it comes back to its old place, where a sealing under way must not pass over it.
  const edits = (await here.store.get("meta", "edits"))?.n ?? 0;
  const [refused, rows] = /** @type {[Refused[], Row[]]} */ (await here.store.atOnce(["refused", "outbox"]));
  const turnedDown = refused.find((one) => one.id === id);
  const open = rows.find((one) => one.id === id);
  const old = turnedDown ?? open;
  if (!old) return state(here, await afterSending(here, id, said, why), besides, proved);
  const [first, ...more] = said;
  // What is not sent yet was stated at the setting of its time.
  const kept = open ? { ...first, id, setting: open.statement.setting } : { ...first, id };
  const made = await stamped(here, [kept, ...more], proved);
  const done = await here.store.write([
    ...(turnedDown ? [/** @type {Op} */ (["delete", "refused", id])] : []), ...placed(made[0], old, rows),
    ...made.slice(1).map(asRow), ...rows.filter((one) => one.statement.kind === UNCONFIRMED).flatMap((one) => noteWithout(one, id)),
    ...photoGone(old, made[0], [...refused, ...rows]), ...besides, ["put", "meta", { name: "last", id: here.last }],
  ], edits);
  return done ? made : inPlace(here, id, said, besides, proved, why);
}

/**
 * The row at its old place; at the end where it corrects what was stated after it.
 * @param {Statement} statement
 * @param {Refused | Row} old
 * @param {Row[]} rows
 * @returns {Op[]}
 */
function placed(statement, old, rows) {
  const at = old.n;
  const row = { id: statement.id, statement, made_at: old.made_at };
  if (at === undefined) return [["put", "outbox", row]];
  const later = rows.some((one) => (one.n ?? 0) > at && statement.supersedes.includes(one.id));
  return later ? [["delete", "outbox", at], ["put", "outbox", row]] : [["put", "outbox", { ...row, n: at }]];
}

/**
 * A photo that another took the place of is not sent any more.
 * @param {Refused | Row} old
 * @param {Statement} statement
 * @param {(Refused | Row)[]} others
 * @returns {Op[]}
 */
function photoGone(old, statement, others) {
  const sha = old.statement.kind === "photo_kept" ? old.statement.body.sha256 : statement.body.sha256;
  const named = others.some((one) => one.id !== old.id && one.statement.body.sha256 === sha);
  return sha === statement.body.sha256 || named ? [] : [["delete", "photos", sha]];
}

/**
 * What was sent is corrected by its name. A setting is not: the next one follows it.
 * @param {Making} here
 * @param {string} id
 * @param {Said[]} said
 * @param {string} why
 * @returns {Promise<Said[]>}
 */
async function afterSending(here, id, [first, ...more], why) {
  const [envelopes, copies] = await here.store.atOnce(["envelopes", "copies"]);
  const isSent = [...envelopes, ...copies].some((batch) => batch.entries.some((/** @type {{text: string}} */ one) => JSON.parse(one.text).id === id));
  if (!isSent || SETTINGS.includes(first.kind)) return [first, ...more];
  return [{ ...first, supersedes: [...new Set([...first.supersedes, id])], reason: first.reason || why }, ...more];
}
