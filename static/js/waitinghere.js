// @ts-check
/** Shows on a page of the bench PC what was stated of it on this tablet and the page does not know yet. */
import { inWords } from "./offline.js";
import { waiting } from "./outbox.js";
import { clockTime, says } from "./says.js";
import { store } from "./store.js";
import { onChange } from "./sync.js";
import { hearStated } from "./takeover.js";
import { isReadHere, isSettledHere } from "./together.js";

/**
 * @typedef {import("./statement.js").Statement} Statement
 * @typedef {import("./takeover.js").Stating} Stating
 */

/** What was stated since the page was made, by id; also what arrived meanwhile, since the page is older. @type {Map<string, Statement>} */
const stated = new Map();

/** @param {Stating} stating */
export function bindWaiting(stating) {
  const again = () => { show(stating).catch(() => {}); };
  hearStated((made) => {
    for (const one of made) stated.set(one.id, one);
    mark();
  });
  onChange(again);
  document.addEventListener("tiltbook:taken-out", (event) => { stated.delete(/** @type {CustomEvent} */ (event).detail); });
  document.addEventListener("tiltbook:kept", (event) => { afterKept(/** @type {Element} */ (event.target)); });
  document.addEventListener("htmx:load", (event) => {
    // A page shown anew knows what has arrived.
    if (/** @type {CustomEvent} */ (event).detail.elt?.id === "main") stated.clear();
    again();
  });
  again();
}

/** @param {Stating} stating */
async function show(stating) {
  const rows = await waiting(store);
  for (const { id } of await store.all("refused")) stated.delete(id);
  for (const row of rows) stated.set(row.id, row.statement);
  mark();
  const sealed = new Map(rows.map((row) => [row.id, row.sealed]));
  for (const place of document.querySelectorAll("[data-checks-of]")) {
    const lines = [...stated.values()].filter((one) => one.kind === "instrument_checked" && one.body.tag === place.getAttribute("data-checks-of"));
    place.toggleAttribute("hidden", !lines.length);
    place.replaceChildren(...lines.map((one) => line(one, stating, sealed.get(one.id))));
  }
}

/** A form that has done its work here steps back behind the words that say so. */
function mark() {
  const all = [...stated.values()];
  for (const form of document.querySelectorAll("form[data-settles]")) {
    step(form, isSettledHere(JSON.parse(form.getAttribute("data-settles") ?? "{}"), all));
  }
  for (const form of document.querySelectorAll('form[data-statement="drill_reading"]')) {
    const pairs = [...new FormData(/** @type {HTMLFormElement} */ (form))];
    step(form, isReadHere(/** @type {[string, string][]} */ (pairs), all));
  }
}

/**
 * @param {Element} form
 * @param {boolean} done
 */
function step(form, done) {
  form.toggleAttribute("hidden", done);
  form.parentElement?.querySelector("[data-done-here]")?.toggleAttribute("hidden", !done);
}

/**
 * @param {Statement} statement
 * @param {Stating} stating
 * @param {boolean | undefined} sealed undefined once it has arrived
 */
function line(statement, stating, sealed) {
  const { tag: _, ...body } = statement.body;
  const state = sealed === undefined ? "here.arrived" : sealed ? "offline.on_its_way" : "offline.waits";
  const item = document.createElement("li");
  item.append(...[[inWords(body, stating), "grow"], [`${statement.person} · ${clockTime(Date.parse(statement.at))} · ${says(state)}`, "small soft"]]
    .map(([textContent, className]) => Object.assign(document.createElement("span"), { textContent, className })));
  return item;
}

/** @param {Element} form */
function afterKept(form) {
  if (!(form instanceof HTMLFormElement) || form.dataset.statement !== "instrument_checked") return;
  form.reset();
  form.closest("details")?.removeAttribute("open");
}
