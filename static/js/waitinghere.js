// @ts-check
/** Shows on a page of the bench PC what was stated of it on this tablet and the page does not know yet. */
import { waiting } from "./outbox.js";
import { clockTime, says } from "./says.js";
import { store } from "./store.js";
import { onChange } from "./sync.js";
import { hearStated } from "./takeover.js";
import { isReadHere, isSettledHere } from "./together.js";

/**
 * @typedef {import("./statement.js").Statement} Statement
 */

/** What was stated since the page was made, by id; also what arrived meanwhile, since the page is older. @type {Map<string, Statement>} */
const stated = new Map();

export function bindWaiting() {
  const again = () => { show().catch(() => {}); };
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

async function show() {
  const rows = await waiting(store);
  for (const { id } of await store.all("refused")) stated.delete(id);
  for (const row of rows) stated.set(row.id, row.statement);
  mark();
  const sealed = new Map(rows.map((row) => [row.id, row.sealed]));
  for (const place of document.querySelectorAll("[data-checks-of]")) {
    const lines = [...stated.values()].filter((one) => one.kind === "instrument_checked" && one.body.tag === place.getAttribute("data-checks-of"));
    place.toggleAttribute("hidden", !lines.length);
    place.replaceChildren(...lines.map((one) => line(checkWords(one.body, /** @type {HTMLElement} */ (place).dataset), one, sealed.get(one.id))));
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
 * A check as the list of checks has it: reading / reference, unit, verdict.
 * @param {Record<string, any>} body
 * @param {DOMStringMap} words
 */
export function checkWords({ reading, reference, unit, passed, remark }, words) {
  const figures = [reading, reference].filter((one) => one !== null).map((one) => String(one).replace(".", words.point ?? "."));
  const read = figures.length ? `${figures.join(" / ")} ${words[unit]}` : "";
  return [read, passed ? words.passed : words.failed, remark].filter(Boolean).join(" · ");
}

/**
 * @param {string} words
 * @param {Statement} statement
 * @param {boolean | undefined} sealed undefined once it has arrived
 */
function line(words, statement, sealed) {
  const state = sealed === undefined ? "here.arrived" : sealed ? "offline.on_its_way" : "offline.waits";
  const item = document.createElement("li");
  item.append(...[[words, "grow"], [`${statement.person} · ${clockTime(Date.parse(statement.at))} · ${says(state)}`, "small soft"]]
    .map(([textContent, className]) => Object.assign(document.createElement("span"), { textContent, className })));
  return item;
}

/** @param {Element} form */
function afterKept(form) {
  if (!(form instanceof HTMLFormElement) || form.dataset.statement !== "instrument_checked") return;
  form.reset();
  form.closest("details")?.removeAttribute("open");
}
