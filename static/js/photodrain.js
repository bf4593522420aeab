// @ts-check
/** Sends waiting photos piece by piece; what the bench PC holds of one already is not sent again. */
import { failedWith, note, stateOf } from "./contact.js";
import { signedRequest } from "./network.js";

/**
 * @typedef {import("./contact.js").Here} Here
 * @typedef {import("./contact.js").Outcome} Outcome
 * @typedef {{sha: string, bytes?: ArrayBuffer, refused?: string, at: number}} Photo
 */

export const PIECE = 524_288;
const KEEP_THUMBS_MS = 30 * 86_400_000;

/**
 * @param {Here} here
 * @param {typeof signedRequest} ask
 * @returns {Promise<Outcome>}
 */
export async function sendPhotos(here, ask = signedRequest) {
  if (!await here.store.get("meta", "device")) return "done";
  for (const photo of /** @type {Photo[]} */ (await here.store.all("photos"))) {
    if (!photo.bytes) {
      if (photo.at < here.now() - KEEP_THUMBS_MS) await here.store.write([["delete", "photos", photo.sha]]);
      continue;
    }
    if (photo.refused) continue;
    const outcome = await sent(here, photo, ask);
    if (outcome !== "done") return outcome;
  }
  return "done";
}

/**
 * @param {Here} here
 * @param {Photo} photo
 * @param {typeof signedRequest} ask
 * @returns {Promise<Outcome>}
 */
async function sent(here, photo, ask) {
  const bytes = /** @type {ArrayBuffer} */ (photo.bytes);
  const { epoch } = await here.store.get("meta", "device");
  const path = `/sync/photo/${photo.sha}`;
  const asked = (/** @type {string} */ method, /** @type {string | ArrayBuffer} */ body, /** @type {Record<string, string>} */ headers) =>
    ask(here.store, { method, path, body, epoch, headers });
  try {
    const held = await asked("HEAD", "", {});
    if (held.status === 200) return done(here, photo);
    let at = Math.min(Number(held.headers.get("X-Tiltbook-Held") ?? 0) || 0, bytes.byteLength - 1);
    for (let again = true; ;) {
      const piece = bytes.slice(at, at + PIECE);
      const range = `bytes ${at}-${at + piece.byteLength - 1}/${bytes.byteLength}`;
      const answer = await asked("PUT", piece, { "Content-Range": range, "Content-Type": "application/octet-stream" });
      const json = await answer.json().catch(() => null);
      if (answer.status === 200) return done(here, photo);
      const goesOn = answer.status === 202 || (answer.status === 409 && json?.code === "other_offset");
      if (goesOn && Number.isSafeInteger(json?.held) && json.held !== at) at = json.held;
      else if (again && json?.code === "other_digest") [again, at] = [false, 0];
      else if (answer.status === 422) return refused(here, photo, json?.words ?? json?.code ?? "");
      else return failedWith(here, { status: answer.status, json });
    }
  } catch {
    return failedWith(here, { status: 0, json: null });
  }
}

/**
 * @param {Here} here
 * @param {Photo} photo
 * @returns {Promise<Outcome>}
 */
async function done(here, { bytes: _, ...photo }) {
  await here.store.write([["put", "photos", photo]]);
  await note(here, { ...await stateOf(here.store), contact_ms: here.now() });
  return "done";
}

/**
 * @param {Here} here
 * @param {Photo} photo
 * @param {string} words
 * @returns {Promise<Outcome>}
 */
async function refused(here, photo, words) {
  await here.store.write([["put", "photos", { ...photo, refused: words || "refused" }]]);
  return "done";
}
