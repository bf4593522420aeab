// @ts-check
/** The page of a case without the bench PC: the setting of now, what a new statement corrects, what waits. */
import { isCode, plainCode } from "./codes.js";
import { waiting } from "./outbox.js";
import { overlaid, recordHeld, settingNow } from "./overlay.js";
import { says } from "./says.js";
import { store } from "./store.js";
import { onChange } from "./sync.js";
import { codeOf, completeForms } from "./takeover.js";

/**
 * @typedef {import("./takeover.js").Stating} Stating
 * @typedef {import("./overlay.js").Known & import("./overlay.js").Held} Known
 * @typedef {import("./outbox.js").Row} Row
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
  completeForms((form, kind, pairs) => completed(known, stating, form, kind, pairs));
  page.addEventListener("tiltbook:kept", (event) => { afterKept(/** @type {Element} */ (event.target)); });
}

/** What waits of the case of this page. */
async function ofThisCase() {
  const code = document.body.dataset.case ?? "";
  return (await waiting(store)).filter((one) => one.statement.case === code);
}

/**
 * @param {Known} known
 * @param {Stating} stating
 * @param {HTMLFormElement} form
 * @param {string} kind
 * @param {[string, string][]} pairs
 */
async function completed(known, stating, form, kind, pairs) {
  if (!form.hasAttribute("data-offline") || kind === "withdrawn") return [];
  const rows = (await ofThisCase()).map((one) => one.statement);
  const setting = settingNow(known, rows);
  set(pairs, "setting", setting ?? "");
  const held = recordHeld(known, rows);
  const tripod = held.tripod;
  if (kind === "case_opened") set(pairs, "code", codeOf(form));
  if (kind === "remount_read") pairs.push(...namedBy(held));
  if (kind === "photo_kept" && tripod && pairs.some(([name, value]) => name === "shows" && value === "tripod")) set(pairs, "about", tripod);
  const { corrects, kept } = overlaid(known, rows, stating, { kind, pairs, setting });
  for (const id of corrects) pairs.push(["supersedes", id]);
  if (corrects.length) set(pairs, "reason", says("offline.again"));
  return kept.map((body) => ({ kind, body, reason: says("offline.kept") }));
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

/** @param {HTMLElement} page */
function choosePerson(page) {
  const choice = page.querySelector("[data-person-here]");
  if (!(choice instanceof HTMLSelectElement)) return;
  const take = () => { document.body.dataset.person = choice.value; };
  choice.addEventListener("change", take);
  take();
}

/**
 * The page for a label never seen: the code comes by the address, the camera or the keys.
 * @param {HTMLElement} page
 */
function chooseLabel(page) {
  if (document.body.dataset.case) return;
  const asked = new URLSearchParams(location.search).get("code") ?? "";
  const here = page.querySelector("[data-label-here]");
  const code = plainCode(asked);
  if (!isCode(code)) {
    if (asked && here) here.textContent = says("offline.bad_code", { code: asked });
    for (const key of page.querySelectorAll("form[data-offline] button")) key.setAttribute("disabled", "");
    return;
  }
  document.body.dataset.case = code;
  for (const form of page.querySelectorAll("form[data-offline]")) form.setAttribute("data-case", code);
  if (here) here.textContent = says("offline.go", { code: `${code.slice(0, 4)}-${code.slice(4)}` });
}

/**
 * A tap on the map is taken into every form that names a tooth.
 * @param {HTMLElement} page
 */
function tapOnTheMap(page) {
  page.addEventListener("click", (event) => {
    const tapped = /** @type {Element} */ (event.target).closest("[data-archmap] a[data-tooth], [data-archmap] a[data-surface]");
    if (!tapped) return;
    event.preventDefault();
    const tooth = tapped.getAttribute("data-tooth");
    for (const one of page.querySelectorAll("[data-tooth-of-form]")) {
      if (one instanceof HTMLSelectElement && tooth) one.value = tooth;
    }
    for (const shape of page.querySelectorAll("[data-archmap] a[aria-current]")) shape.removeAttribute("aria-current");
    tapped.setAttribute("aria-current", "true");
  });
}

/** @param {Element} form */
function afterKept(form) {
  if (!(form instanceof HTMLFormElement) || !form.isConnected) return;
  const tooth = form.elements.namedItem("tooth");
  const kept = tooth instanceof HTMLSelectElement ? tooth.value : "";
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
  const setting = settingNow(known, rows.map((one) => one.statement));
  const told = page.querySelector("[data-setting-here]");
  if (told && setting !== known.setting) told.textContent = says("offline.setting_here");
  for (const form of page.querySelectorAll("form[data-held]")) {
    const held = (form.getAttribute("data-held") ?? "").split(" ");
    form.toggleAttribute("hidden", !setting || held.includes(setting) || rows.some((one) => one.statement.body.finding === form.querySelector('[name="finding"]')?.getAttribute("value")));
  }
  const held = recordHeld(known, rows.map((one) => one.statement));
  const open = rows.some((one) => one.statement.kind === "case_opened");
  page.querySelector('[data-part="case_opened"]')?.toggleAttribute("hidden", open);
  page.querySelector('[data-part="remount_marks"]')?.toggleAttribute("hidden", !held.tripod);
  page.querySelector("[data-fourth-here]")?.toggleAttribute("hidden", !held.fourth);
  const place = page.querySelector("[data-waiting-here]");
  const lines = rows.reverse().map((row) => line(row, stating));
  place?.replaceChildren(...(lines.length ? lines : [Object.assign(document.createElement("li"), { textContent: says("offline.none_waits") })]));
}

/**
 * @param {Row & {sealed: boolean}} row
 * @param {Stating} stating
 */
function line(row, stating) {
  const item = document.createElement("li");
  item.dataset.waits = row.id;
  item.textContent = [stating.said[row.statement.kind] ?? row.statement.kind, inWords(row.statement.body, stating),
    says(row.sealed ? "offline.on_its_way" : "offline.waits")].filter(Boolean).join(" · ");
  return item;
}

/**
 * @param {Record<string, any>} body
 * @param {Stating} stating
 */
export function inWords(body, stating) {
  return Object.entries(body).filter(([, value]) => value !== null && value !== "" && value !== false && !(Array.isArray(value) && !value.length))
    .map(([name, value]) => `${stating.fields[name] ?? name} ${value === true ? "✓" : [value].flat().join(", ")}`)
    .join(", ").slice(0, 160);
}

