// @ts-check
/** The page of the outbox: what was refused and how to put it right, what waits, the photos, the room left. */
import { dropRefused, repair, waiting } from "./outbox.js";
import { clockTime, says } from "./says.js";
import { inWords } from "./offline.js";
import { addressIn } from "./ownform.js";
import { retakeForm } from "./photoagain.js";
import { pairsOf, repairFields } from "./repairform.js";
import { faultWords } from "./said.js";
import { bodyFrom } from "./statement.js";
import { store } from "./store.js";
import { changed, here, onChange, send } from "./sync.js";

/**
 * @typedef {import("./takeover.js").Stating} Stating
 * @typedef {import("./outbox.js").Refused} Refused
 * @typedef {import("./statement.js").Statement} Statement
 */

/** @param {Stating} stating */
export function bindOutbox(stating) {
  const page = /** @type {HTMLElement} */ (document.querySelector("[data-outbox-page]"));
  for (const one of page.querySelectorAll("[data-unpaired]")) one.setAttribute("hidden", "");
  page.querySelector("[data-paired]")?.removeAttribute("hidden");
  page.querySelector("[data-send]")?.addEventListener("click", () => send(true));
  const show = () => { fill(page, stating).catch(() => {}); };
  onChange(show);
  show();
}

/**
 * @param {HTMLElement} page
 * @param {Stating} stating
 */
async function fill(page, stating) {
  const device = await store.get("meta", "device");
  const name = page.querySelector("[data-device]");
  if (name instanceof HTMLElement) name.textContent = (name.dataset.text ?? "").replace("{device}", `${device.label} · ${device.device}`);
  const refused = /** @type {Refused[]} */ (await store.all("refused"));
  // A form being typed in is left alone.
  if (!page.querySelector("[data-refused] form:focus-within")) put(page, "[data-refused]", refused.map((one) => shownOf(page, one) ?? refusal(one, stating)));
  put(page, "[data-waiting]", (await waiting(store)).map((one) =>
    item([told(one.statement, stating), figures(one.statement, stating), says(one.sealed ? "outbox.on_its_way" : "outbox.waits")], one.id)));
  // A photo chosen already is left alone.
  if (![...page.querySelectorAll('[data-photos] input[type="file"]')].some((one) => /** @type {HTMLInputElement} */ (one).files?.length)) {
    put(page, "[data-photos]", (await store.all("photos")).filter((one) => one.bytes).map(pictureItem));
  }
  const kept = await navigator.storage?.persisted?.().catch(() => false);
  const room = page.querySelector("[data-persisted]");
  if (room instanceof HTMLElement) room.textContent = (kept ? room.dataset.yes : room.dataset.no) ?? "";
}

/**
 * @param {HTMLElement} page
 * @param {string} place
 * @param {HTMLElement[]} items
 */
function put(page, place, items) {
  const list = page.querySelector(place);
  const same = items.length > 0 && list?.children.length === items.length && items.every((one, n) => one === list.children[n]);
  if (!same) list?.replaceChildren(...(items.length ? items : [item([says("outbox.none")], "")]));
}

/**
 * The line that tells of a refusal already, with what is unfolded and typed in it.
 * @param {HTMLElement} page
 * @param {Refused} one
 * @returns {HTMLElement | undefined}
 */
function shownOf(page, one) {
  const lines = /** @type {HTMLElement[]} */ ([...page.querySelectorAll("[data-refused] > [data-refusal]")]);
  return lines.find((line) => line.dataset.outboxId === one.id && line.dataset.refusal === one.digest);
}

/**
 * @param {string[]} parts
 * @param {string} id
 */
function item(parts, id) {
  const line = document.createElement("li");
  line.dataset.outboxId = id;
  line.append(Object.assign(document.createElement("span"), { className: "grow", textContent: parts.filter(Boolean).join(" · ") }));
  return line;
}

/** @param {{sha: string, thumb: ArrayBuffer, refused?: string, at: number}} photo */
function pictureItem(photo) {
  const line = item([photo.refused ? says("outbox.photo_refused", { why: photo.refused }) : clockTime(photo.at)], photo.sha);
  const picture = Object.assign(document.createElement("img"), { width: 80, alt: "" });
  picture.src = URL.createObjectURL(new Blob([photo.thumb], { type: "image/jpeg" }));
  picture.addEventListener("load", () => URL.revokeObjectURL(picture.src));
  line.prepend(picture);
  if (photo.refused) line.append(retakeForm(photo.sha));
  return line;
}

/**
 * What was read in a drill stays out of sight: the next reading of the same is to be blind to it.
 * @param {Statement} statement
 * @param {Stating} stating
 */
function figures(statement, stating) {
  return statement.kind === "drill_reading" ? "" : inWords(statement.body, stating);
}

/**
 * @param {Statement} statement
 * @param {Stating} stating
 */
function told(statement, stating) {
  return says(statement.case ? "outbox.by" : "outbox.by_lab", { what: stating.said[statement.kind] ?? statement.kind,
    code: statement.case ?? "", person: statement.person, at: clockTime(Date.parse(statement.at)) });
}

/**
 * @param {Refused} one
 * @param {Stating} stating
 */
function refusal(one, stating) {
  const line = item([told(one.statement, stating)], one.id);
  line.dataset.refusal = one.digest;
  line.append(Object.assign(document.createElement("p"), { className: "notice stop", textContent: one.words || one.code }));
  const form = byField(one, stating);
  const own = ownForms()[one.statement.kind];
  if (own) {
    const opened = Object.assign(document.createElement("a"), { className: "action", href: addressIn(own, one.statement), textContent: says("outbox.open_step") });
    line.append(rowOf(opened, dropKey(one)), folded(says("outbox.by_field"), form));
  } else {
    form.querySelector(".row")?.append(dropKey(one));
    line.append(form);
  }
  return line;
}

/** @returns {Record<string, import("./ownform.js").OwnForm>} */
function ownForms() {
  return JSON.parse(document.querySelector("[data-own-forms]")?.getAttribute("data-own-forms") ?? "{}");
}

/**
 * The fields as they are stated, each to be put right by itself.
 * @param {Refused} one
 * @param {Stating} stating
 */
function byField(one, stating) {
  const form = document.createElement("form");
  form.className = "stack";
  form.append(...repairFields(one, stating), rowOf(key(says("outbox.send_again"), "action")));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    putRight(one, form, stating);
  });
  return form;
}

/** @param {HTMLElement[]} keys */
function rowOf(...keys) {
  const row = Object.assign(document.createElement("div"), { className: "row" });
  row.append(...keys);
  return row;
}

/**
 * @param {string} title
 * @param {HTMLElement} inside
 */
function folded(title, inside) {
  const fold = document.createElement("details");
  fold.append(Object.assign(document.createElement("summary"), { textContent: title }), inside);
  return fold;
}

/**
 * @param {string} textContent
 * @param {string} className
 */
function key(textContent, className) {
  return Object.assign(document.createElement("button"), { textContent, className });
}

/** @param {Refused} one */
function dropKey(one) {
  const button = Object.assign(key(says("outbox.withdraw"), "action quiet"), { type: "button" });
  button.dataset.ask = says("outbox.withdraw_ask");
  button.addEventListener("click", async () => {
    button.blur();
    await dropRefused(store, one.id);
    changed();
  });
  return button;
}

/**
 * @param {Refused} one
 * @param {HTMLFormElement} form
 * @param {Stating} stating
 */
async function putRight(one, form, stating) {
  const kind = stating.kinds[one.statement.kind];
  const typed = /** @type {[string, string][]} */ ([...new FormData(form)]);
  const pairs = pairsOf(one, typed, kind);
  const { body, faults } = bodyFrom(kind, pairs);
  const plain = (/** @type {string} */ name) => typed.find(([named]) => named === name)?.[1].trim() ?? "";
  if (faults.length) {
    const said = form.closest("li")?.querySelector(".notice");
    if (said) said.textContent = faults.map((fault) => faultWords(fault, stating)).join(" ");
    return;
  }
  // Done with this form: the list may be shown anew.
  if (document.activeElement instanceof HTMLElement) document.activeElement.blur();
  await repair(here, one.id, { body, person: plain("person").toUpperCase(), reason: one.statement.reason ? plain("reason") : "" });
  changed();
  send();
}
