// @ts-check
/** Takes a recording form over: what it states is kept on this tablet first, then sent. */
import { forgotten, recorded } from "./drafts.js";
import { inPlace } from "./inplace.js";
import { state, takeOut } from "./outbox.js";
import { keepPhoto } from "./photoqueue.js";
import { notDue, refreshOnceSent } from "./refresh.js";
import { sayFaults, sayNotKept, saySaved, sayTakenBack, sayUnproved } from "./said.js";
import { says } from "./says.js";
import { seatedPerson } from "./seated.js";
import { statementFrom } from "./statement.js";
import { changed, here, send } from "./sync.js";
import { togetherFrom } from "./together.js";

/**
 * @typedef {import("./statement.js").Statement} Statement
 * @typedef {import("./statement.js").Kind} Kind
 * @typedef {{kinds: Record<string, Kind>, faults: Record<string, string>, fields: Record<string, string>,
 *   said: Record<string, string>, choices: Record<string, Record<string, string>>}} Stating
 * @typedef {(form: HTMLFormElement, kind: string, pairs: [string, string][]) => Extra[] | Promise<Extra[]>} Around
 * @typedef {{kind: string, body: Record<string, any>, supersedes?: string[], reason?: string}} Extra
 */

/** @type {Around[]} */
const completing = [];
/** @type {((made: Statement[]) => void)[]} */
const hearing = [];
/** What is being written now: the next statement is completed once it is known. @type {Promise<unknown> | null} */
let writing = null;

/**
 * Let a page complete what a form says, such as the setting and what is corrected, where no bench PC did.
 * @param {Around} completed
 */
export function completeForms(completed) {
  completing.push(completed);
}

/**
 * Hear of what was stated on this page as soon as it is kept.
 * @param {(made: Statement[]) => void} heard
 */
export function hearStated(heard) {
  hearing.push(heard);
}

/** @param {Stating} stating */
export function takeOver(stating) {
  /** @type {WeakSet<HTMLFormElement>} */
  const passing = new WeakSet();
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!(form instanceof HTMLFormElement) || passing.delete(form) || !isOurs(form, stating)) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    const asked = event.submitter;
    take(form, asked, stating).catch((error) => {
      // Without a store the form goes to the bench PC as it always could.
      sayNotKept(error);
      if (form.hasAttribute("data-offline")) return;
      passing.add(form);
      answered(form);
      form.requestSubmit(asked);
    }).finally(() => answered(form));
  }, { capture: true });
}

/**
 * @param {HTMLFormElement} form
 * @param {Stating} stating
 */
function isOurs(form, stating) {
  const known = form.dataset.settles ?? stating.kinds[form.dataset.statement ?? ""];
  return Boolean(known) && document.body.dataset.role !== "reader";
}

/** @param {HTMLFormElement} form */
function answered(form) {
  form.dispatchEvent(new CustomEvent("tiltbook:answered", { bubbles: true }));
}

/**
 * Nothing is waited for before the write where all that completes the form is at hand: each wait would
 * let the page be drawn first.
 * @param {HTMLFormElement} form
 * @param {HTMLElement | null} submitter
 * @param {Stating} stating
 */
async function take(form, submitter, stating) {
  const name = form.dataset.statement ?? "";
  const data = new FormData(form, submitter);
  const pairs = /** @type {[string, string][]} */ ([...data].filter(([, value]) => typeof value === "string"));
  if (writing) await writing.catch(() => {});
  if (name === "withdrawn") return takeBack(form, pairs, stating);
  if (name === "photo_kept" && !await keepPhoto(data, pairs)) return undefined;
  const extra = [];
  for (const complete of completing) {
    const more = complete(form, name, pairs);
    extra.push(...(more instanceof Promise ? await more : more));
  }
  const { otherwise, settles, values } = form.dataset;
  const { said, faults } = togetherFrom({ kind: name, code: codeOf(form), pairs, otherwise, settles, values }, stating.kinds);
  if (faults.length) return sayFaults(form, faults, stating);
  const person = personOf(form);
  if (form.hasAttribute("data-proved") && person !== seatedPerson()) return sayUnproved(person);
  const also = [...extra, ...JSON.parse(form.dataset.also ?? "[]")].map((/** @type {Extra} */ one) =>
    ({ supersedes: [], reason: "", ...one, case: said[0].case, setting: said[0].setting }));
  return kept(form, [...said, ...also].map((one) => ({ ...one, person })), stating);
}

/**
 * @param {HTMLFormElement} form
 * @param {(Omit<Statement, "id" | "at">)[]} said
 * @param {Stating} stating
 */
async function kept(form, said, stating) {
  const [instead, proved] = [form.dataset.instead, said.every((one) => one.person === seatedPerson())];
  writing = instead ? inPlace(here, instead, said, forgotten(form), proved, says("offline.corrected"))
    : state(here, said, forgotten(form), proved);
  const made = await /** @type {Promise<Statement[]>} */ (writing).finally(() => { writing = null; });
  performance.clearMarks("tiltbook:durable");
  performance.mark("tiltbook:durable");
  for (const hear of hearing) hear(made);
  recorded();
  saySaved(made[0], stating, !instead && mayUndo(made[0], form, said.length));
  sent(form, made[0]);
}

/**
 * What is said of the lab is changed by saying it anew; half of a settlement is not taken back alone.
 * @param {Statement} first
 * @param {HTMLFormElement} form
 * @param {number} count
 */
function mayUndo(first, form, count) {
  return first.case !== null && !(form.dataset.settles && count > 1);
}

/**
 * @param {HTMLFormElement} form
 * @param {Statement} statement
 */
function sent(form, statement) {
  const from = location.pathname + location.search;
  // These pages show by themselves what became of it; they are no step of the bench PC's.
  if (!document.querySelector("[data-offline-page], [data-camera], [data-opening]")) refreshOnceSent({ id: statement.id, from, address: addressOf(form, statement) });
  changed();
  send();
  form.dispatchEvent(new CustomEvent("tiltbook:kept", { bubbles: true, detail: statement }));
}

/**
 * An entry not sent yet is taken out; one that may have been sent is taken back by a statement.
 * @param {HTMLFormElement} form
 * @param {[string, string][]} pairs
 * @param {Stating} stating
 */
async function takeBack(form, pairs, stating) {
  const id = form.dataset.entry ?? "";
  if (await takeOut(here.store, id)) {
    notDue(id);
    sayTakenBack();
    changed();
    form.dispatchEvent(new CustomEvent("tiltbook:kept", { bubbles: true, detail: null }));
    form.dispatchEvent(new CustomEvent("tiltbook:taken-out", { bubbles: true, detail: id }));
    return undefined;
  }
  pairs.push(["entry", id]);
  const { said, faults } = statementFrom("withdrawn", stating.kinds.withdrawn, codeOf(form), pairs, form.dataset.otherwise);
  if (faults.length) return sayFaults(form, faults, stating);
  return kept(form, [{ ...said, person: personOf(form) }], stating);
}

/** @param {HTMLFormElement} form */
export function codeOf(form) {
  return form.dataset.case ?? document.body.dataset.case ?? "";
}

/** @param {HTMLFormElement} form */
function personOf(form) {
  const chosen = form.elements.namedItem("person");
  const typed = chosen instanceof HTMLInputElement ? chosen.value : "";
  return typed || document.body.dataset.person || "";
}

/**
 * The page that shows what was stated: the step it was stated at, at the same place.
 * @param {HTMLFormElement} form
 * @param {Statement} statement
 */
function addressOf(form, statement) {
  const named = (/** @type {string} */ name) => {
    const found = form.elements.namedItem(name);
    return found instanceof HTMLInputElement || found instanceof HTMLSelectElement ? found.value : "";
  };
  const next = named("next");
  const asked = new URLSearchParams({ said: statement.id });
  for (const name of ["tooth", "surface", "sheet", "wish"]) if (named(name)) asked.set(name, named(name));
  return next ? `${next}${next.includes("?") ? "&" : "?"}said=${statement.id}` : `/case/${statement.case}/${named("step") || "receive"}?${asked}`;
}
