// @ts-check
/** Takes a photo again that the bench PC did not keep, where it is told of: the new one takes its place. */
import { inPlace } from "./inplace.js";
import { statementIn } from "./outbox.js";
import { keepPhoto } from "./photoqueue.js";
import { sayNotKept, sayPhoto } from "./said.js";
import { says } from "./says.js";
import { seatedPerson } from "./seated.js";
import { store } from "./store.js";
import { changed, here, send } from "./sync.js";

/** @typedef {import("./statement.js").Statement} Statement */

/**
 * @param {string} sha the photo that was refused
 * @returns {HTMLFormElement}
 */
export function retakeForm(sha) {
  const form = document.createElement("form");
  form.className = "stack retake";
  const file = Object.assign(document.createElement("input"), { type: "file", name: "photo", accept: "image/jpeg,image/png,image/webp", required: true, id: `again-${sha.slice(0, 12)}` });
  file.setAttribute("capture", "environment");
  const label = Object.assign(document.createElement("label"), { className: "label", htmlFor: file.id, textContent: says("outbox.take_again") });
  const key = Object.assign(document.createElement("button"), { className: "action", textContent: says("outbox.keep_again") });
  form.append(label, file, key);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    key.disabled = true;
    takenAgain(form, sha).catch(sayNotKept).finally(() => { key.disabled = false; });
  });
  return form;
}

/**
 * @param {HTMLFormElement} form
 * @param {string} sha
 */
async function takenAgain(form, sha) {
  /** @type {[string, string][]} */
  const pairs = [];
  const old = await statementOf(sha);
  if (!old) return sayPhoto("outbox.photo_gone");
  if (!await keepPhoto(new FormData(form), pairs)) return;
  const taken = Object.fromEntries(pairs.map(([name, text]) => [name, name.endsWith("_px") ? Number(text) : text]));
  const body = { ...old.body, focal_px: null, ...taken };
  const person = document.body.dataset.person || old.person;
  const said = { kind: old.kind, case: old.case, setting: old.setting, supersedes: old.isSent ? [] : old.supersedes, reason: old.isSent ? "" : old.reason, body, person };
  /** @type {import("./outbox.js").Op[]} */
  const gone = taken.sha256 === sha ? [] : [["delete", "photos", sha]];
  await inPlace(here, old.id, [said], gone, person === seatedPerson(), says("outbox.photo_again_why"));
  form.reset();
  changed();
  send();
}

/**
 * What was stated of a photo, wherever it lies now.
 * @param {string} sha
 * @returns {Promise<(Statement & {isSent: boolean}) | undefined>}
 */
async function statementOf(sha) {
  const [refused, rows, envelopes, copies] = await store.atOnce(["refused", "outbox", "envelopes", "copies"]);
  const isOfIt = (/** @type {Statement} */ one) => one.kind === "photo_kept" && one.body.sha256 === sha;
  const here = [...refused, ...rows].map((one) => /** @type {Statement} */ (one.statement)).find(isOfIt);
  if (here) return { ...here, isSent: false };
  const texts = [...envelopes, ...copies].flatMap((batch) => batch.entries.map((/** @type {{text: string}} */ one) => one.text));
  const sent = texts.filter((text) => text.includes(sha)).map(statementIn).filter(isOfIt).pop();
  return sent && { ...sent, isSent: true };
}
