// @ts-check
/** The page of a case without the bench PC: the setting of now, what a new statement corrects, what waits. */
import { canCorrect, correctKey } from "./correcting.js";
import { emptied } from "./filling.js";
import { chooseLabel, tapOnTheMap } from "./labelhere.js";
import { UNCONFIRMED, waiting } from "./outbox.js";
import { overlaid, recordHeld, settingNow } from "./overlay.js";
import { choosePerson } from "./personhere.js";
import { isUnseen, unitOf } from "./repairform.js";
import { says } from "./says.js";
import { bodyFrom, claimsOf } from "./statement.js";
import { store } from "./store.js";
import { onChange } from "./sync.js";
import { codeOf, completeForms, hearStated } from "./takeover.js";

/**
 * @typedef {import("./takeover.js").Stating} Stating
 * @typedef {import("./overlay.js").Known & import("./overlay.js").Held} Known
 * @typedef {import("./outbox.js").Row} Row
 * @typedef {import("./statement.js").Statement} Statement
 * @typedef {import("./takeover.js").Extra} Extra
 */

/** @param {Stating} stating */
export function bindOffline(stating) {
  const page = /** @type {HTMLElement} */ (document.querySelector("[data-offline-page]"));
  /** @type {Known} */
  const known = JSON.parse(page.dataset.known ?? "{}");
  for (const one of page.querySelectorAll("[data-unpaired]")) one.setAttribute("hidden", "");
  choosePerson(page);
  chooseLabel(page);
  tapOnTheMap(page);
  const show = () => { list(page, known, stating).catch(() => {}); };
  onChange(show);
  show();
  hearStated((made) => { for (const one of made) if (one.case === document.body.dataset.case) stated.set(one.id, one); });
  completeForms((form, kind, pairs) => completed(known, stating, form, kind, pairs));
  document.addEventListener("tiltbook:taken-out", (event) => { stated.delete(/** @type {CustomEvent} */ (event).detail); });
  page.addEventListener("tiltbook:kept", (event) => { afterKept(/** @type {Element} */ (event.target)); });
}

const SAID_ONCE = ["case_opened", "cast_received", "disinfection_recorded", "prescription_recorded", "teeth_recorded"];

/**
 * What was stated of this case and the page does not show, by id: at hand, so that nothing is read before a
 * tap is kept. What the bench PC took meanwhile stays among it, since the page is older.
 * @type {Map<string, Statement>}
 */
const stated = new Map();
let loaded = false;

/** What waits of the case of this page. */
async function ofThisCase() {
  const code = document.body.dataset.case ?? "";
  const rows = (await waiting(store)).filter((one) => one.statement.case === code);
  for (const { id } of await store.all("refused")) stated.delete(id);
  for (const row of rows) stated.set(row.id, row.statement);
  loaded = true;
  return rows.filter((row) => row.statement.kind !== UNCONFIRMED);
}

/**
 * @param {Known} known
 * @param {Stating} stating
 * @param {HTMLFormElement} form
 * @param {string} kind
 * @param {[string, string][]} pairs
 * @returns {Extra[] | Promise<Extra[]>}
 */
function completed(known, stating, form, kind, pairs) {
  if (!form.hasAttribute("data-offline") || kind === "withdrawn") return [];
  const complete = () => completedBy([...stated.values()], known, stating, { kind, pairs, instead: form.dataset.instead }, codeOf(form));
  return loaded ? complete() : ofThisCase().then(complete);
}

/**
 * @param {Statement[]} rows what was stated of the case here, oldest first
 * @param {Known} known
 * @param {Stating} stating
 * @param {{kind: string, pairs: [string, string][], instead?: string}} said `instead` names what it takes the place of
 * @param {string} code
 * @returns {Extra[]}
 */
function completedBy(rows, known, stating, { kind, pairs, instead }, code) {
  const old = rows.find((one) => one.id === instead);
  const others = rows.filter((one) => one !== old);
  // What waits here was stated at the setting of its time, of what was recorded before it.
  const setting = old ? old.setting : settingNow(known, others);
  set(pairs, "setting", setting ?? "");
  const held = recordHeld(known, old ? rows.slice(0, rows.indexOf(old)) : others);
  const tripod = held.tripod;
  if (kind === "case_opened") set(pairs, "code", code);
  if (kind === "teeth_recorded") pairs.push(...missingToo(pairs));
  if (kind === "remount_read") pairs.push(...namedBy(held));
  if (kind === "photo_kept" && tripod && pairs.some(([name, value]) => name === "shows" && value === "tripod")) set(pairs, "about", tripod);
  const { corrects, kept } = overlaid(known, others, stating, { kind, pairs, setting });
  const named = [...new Set([...old ? keptOf(old, stating.kinds[kind], pairs) : [], ...corrects])];
  for (const id of named) pairs.push(["supersedes", id]);
  const isReasoned = pairs.some(([name, value]) => name === "reason" && value.trim());
  if (named.length && !isReasoned) set(pairs, "reason", says(stating.kinds[kind].at_a_setting ? "offline.again" : "offline.corrected"));
  return kept.map((body) => ({ kind, body, reason: says("offline.kept") }));
}

/**
 * What waits corrects the same still, as long as it is about the same.
 * @param {Statement} old
 * @param {import("./statement.js").Kind} kind
 * @param {[string, string][]} pairs
 */
function keptOf(old, kind, pairs) {
  const [before, now] = [old.body, bodyFrom(kind, pairs).body].map((body) => claimsOf(kind, body).join());
  return before === now ? old.supersedes : [];
}

/**
 * A tooth to be replaced is missing.
 * @param {[string, string][]} pairs
 */
function missingToo(pairs) {
  const missing = pairs.filter(([name]) => name === "missing").map(([, tooth]) => tooth);
  return pairs.filter(([name, tooth]) => name === "replaced" && !missing.includes(tooth))
    .map(([, tooth]) => /** @type {[string, string]} */ (["missing", tooth]));
}

/**
 * @param {import("./overlay.js").Held} held
 * @returns {[string, string][]}
 */
function namedBy({ tripod, fourth, brings_back, disturbed }) {
  return [["tripod", tripod ?? ""], ["fourth", fourth ?? ""], ["brings_back", brings_back ?? ""],
    ...disturbed.map((id) => /** @type {[string, string]} */ (["answers", id]))];
}

/**
 * @param {[string, string][]} pairs
 * @param {string} name
 * @param {string} value
 */
function set(pairs, name, value) {
  const found = pairs.find(([key]) => key === name);
  if (found) found[1] = value;
  else pairs.push([name, value]);
}

/** @param {Element} form */
function afterKept(form) {
  if (!(form instanceof HTMLFormElement) || !form.isConnected) return;
  const tooth = form.elements.namedItem("tooth");
  const kept = tooth instanceof HTMLSelectElement ? tooth.value : "";
  emptied(form);
  form.reset();
  if (tooth instanceof HTMLSelectElement) tooth.value = kept;
}

/**
 * @param {HTMLElement} page
 * @param {Known} known
 * @param {Stating} stating
 */
async function list(page, known, stating) {
  const rows = await ofThisCase();
  const all = [...stated.values()];
  const setting = settingNow(known, all);
  const told = page.querySelector("[data-setting-here]");
  if (told && setting !== known.setting) told.textContent = says("offline.setting_here");
  for (const form of page.querySelectorAll("form[data-held]")) {
    const held = (form.getAttribute("data-held") ?? "").split(" ");
    form.toggleAttribute("hidden", !setting || held.includes(setting) || all.some((one) => one.body.finding === form.querySelector('[name="finding"]')?.getAttribute("value")));
  }
  const held = recordHeld(known, all);
  for (const part of page.querySelectorAll("[data-part]")) {
    const kind = part.getAttribute("data-part") ?? "";
    const isSaid = part.hasAttribute("data-said") || all.some((one) => one.kind === kind);
    const isOver = SAID_ONCE.includes(kind) ? isSaid : kind === "remount_marks" && !held.tripod;
    part.toggleAttribute("hidden", isOver && !part.querySelector("form[data-instead]"));
  }
  page.querySelector("[data-fourth-here]")?.toggleAttribute("hidden", !held.fourth);
  const place = page.querySelector("[data-waiting-here]");
  if (!place) return;
  const open = new Set(rows.filter((row) => canCorrect(row, all, stating, setting, page)).map((row) => row.id));
  showLines(place, rows.reverse(), stating, (row, item) => {
    item.querySelector("[data-correct]")?.toggleAttribute("hidden", !open.has(row.id));
  }, (row) => correctKey(page, row, stating, inWords(row.statement.body, stating)));
}

/**
 * Newest first; a line that says the same as before stays as it is.
 * @param {Element} place
 * @param {(Row & {sealed: boolean})[]} rows
 * @param {Stating} stating
 * @param {(row: Row, item: Element) => void} told what else is told of a line each time
 * @param {(row: Row) => HTMLElement} keyOf
 */
function showLines(place, rows, stating, told, keyOf) {
  const there = new Map([...place.children].map((one) => [one.getAttribute("data-waits"), one]));
  const wanted = new Set(rows.map(named));
  for (const [id, one] of there) if (!id || !wanted.has(id)) one.remove();
  /** @type {Element | null} */
  let before = null;
  for (const row of rows) {
    const shown = there.get(named(row)) ?? line(row, stating, keyOf(row));
    shown.toggleAttribute("data-sealed", row.sealed);
    const state = shown.querySelector("[data-state]");
    const text = says(row.sealed ? "offline.on_its_way" : "offline.waits");
    if (state && state.textContent !== text) state.textContent = text;
    told(row, shown);
    const due = /** @type {Element | null} */ (before ? before.nextElementSibling : place.firstElementChild);
    if (due !== shown) place.insertBefore(shown, due);
    before = shown;
  }
  if (!rows.length) place.replaceChildren(Object.assign(document.createElement("li"), { textContent: says("offline.none_waits") }));
}

/**
 * A line by its entry and when it was stated last.
 * @param {Row} row
 */
function named({ id, statement }) {
  return `${id} ${statement.at}`;
}

/**
 * @param {Row & {sealed: boolean}} row
 * @param {Stating} stating
 * @param {HTMLElement} key
 */
function line(row, stating, key) {
  const item = document.createElement("li");
  item.dataset.waits = named(row);
  const what = [stating.said[row.statement.kind] ?? row.statement.kind, inWords(row.statement.body, stating)];
  const state = document.createElement("span");
  state.dataset.state = "";
  state.className = "small soft";
  item.append(Object.assign(document.createElement("span"), { className: "grow", textContent: what.filter(Boolean).join(" · ") }), state, key);
  return item;
}

/**
 * @param {Record<string, any>} body
 * @param {Stating} stating
 */
export function inWords(body, stating) {
  return Object.entries(body).filter(([name, value]) => value !== null && value !== "" && (value !== false || name === "passed") && !(Array.isArray(value) && !value.length))
    .filter(([name, value]) => !isUnseen(name, value))
    .map(([name, value]) => `${stating.fields[name] ?? name} ${value === true ? "✓" : value === false ? says("outbox.no") : [value].flat().map((one) => stating.choices?.[name]?.[one] ?? one).join(", ")} ${unitOf(name)}`.trim())
    .join(", ").slice(0, 160);
}

