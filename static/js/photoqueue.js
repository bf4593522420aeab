// @ts-check
/** Photos wait in a queue of their own: kept as bytes, named by their digest, sent apart from what is stated. */
import { digestOf } from "./canonical.js";
import { focalStated } from "./lensstated.js";
import { readied } from "./picture.js";
import { sayPhoto } from "./said.js";
import { store } from "./store.js";

// Statements are small and come first: this much stays free for them.
export const ROOM_FOR_STATEMENTS = 30_000_000;
// What a file states of its lens stands before its pixels.
const HEAD_BYTES = 262_144;

/**
 * Whether a photo still fits, with room left for statements.
 * @param {{quota?: number, usage?: number}} estimate
 * @param {number} size bytes
 */
export function fits(estimate, size) {
  if (!estimate.quota) return true;
  return estimate.quota - (estimate.usage ?? 0) - size >= ROOM_FOR_STATEMENTS;
}

/**
 * Keep a form's photo and put what its entry says of it among the pairs; says why when it is not kept.
 * @param {FormData} data
 * @param {[string, string][]} pairs
 * @returns {Promise<boolean>}
 */
export async function keepPhoto(data, pairs) {
  const file = data.get("photo");
  if (!(file instanceof Blob) || file.size === 0) return said("photo.none");
  const photo = await readied(file).catch(() => null);
  if (!photo) return said("photo.unreadable");
  if (!fits(await estimate(), photo.bytes.byteLength)) return said("photo.no_room");
  const sha = await digestOf(photo.bytes);
  try {
    await store.write([["put", "photos", { sha, ...photo, at: Date.now() }]]);
  } catch (error) {
    if (/** @type {Error} */ (error)?.name !== "QuotaExceededError") throw error;
    return said("photo.no_room");
  }
  pairs.push(["sha256", sha], ["media_type", "image/jpeg"], ["width_px", String(photo.width)], ["height_px", String(photo.height)]);
  const focal = focalStated(new Uint8Array(await file.slice(0, HEAD_BYTES).arrayBuffer()), photo.width, photo.height);
  if (focal) pairs.push(["focal_px", focal.toFixed(1)]);
  return true;
}

/** @param {string} key */
function said(key) {
  sayPhoto(key);
  return false;
}

async function estimate() {
  return (await navigator.storage?.estimate?.().catch(() => ({}))) ?? {};
}
