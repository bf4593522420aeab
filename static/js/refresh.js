// @ts-check
/** Shows a page anew once the bench PC has what was stated on it, and never takes away what is being typed. */
import { isTouched } from "./drafts.js";
import { says } from "./says.js";
import { store } from "./store.js";
import { onChange } from "./sync.js";

/** @typedef {{id: string, address: string, from: string}} Due */

/** @type {Due[]} */
let due = [];

/**
 * Remember that the page is to be shown anew when a statement has arrived.
 * @param {Due} one
 */
export function refreshOnceSent(one) {
  due.push(one);
}

/**
 * Nothing is to be shown of a statement that was taken out again.
 * @param {string} id
 */
export function notDue(id) {
  due = due.filter((one) => one.id !== id);
}

async function look() {
  if (!due.length) return;
  const [envelopes, rows, turnedDown] = await store.atOnce(["envelopes", "outbox", "refused"]);
  const open = new Set([...envelopes.flatMap((one) => one.entries), ...rows].map((one) => one.id));
  const refused = new Set(turnedDown.map((one) => one.id));
  const arrived = due.filter((one) => !open.has(one.id) && !refused.has(one.id));
  const turned = due.some((one) => refused.has(one.id));
  due = due.filter((one) => open.has(one.id));
  if (turned) sayRefused();
  const last = arrived[arrived.length - 1];
  if (last) show(last);
}

function sayRefused() {
  const said = document.getElementById("said");
  if (!said) return;
  const link = Object.assign(document.createElement("a"), { href: "/outbox", textContent: says("said.refused_link") });
  said.replaceChildren(`${says("said.refused")} `, link);
  said.classList.add("fault");
}

/** @param {Due} last */
function show(last) {
  const page = location.pathname + location.search;
  // A page without steps has nothing around what is being typed.
  const around = document.getElementById("rail") ? "refresh-around" : "";
  const part = document.getElementById(isTouched() ? around : "refresh");
  const htmx = /** @type {any} */ (globalThis).htmx;
  if (!part || !htmx) return;
  // Whoever has gone on to another tooth meanwhile stays there.
  const address = page === last.from ? last.address : withSaid(page, last.id);
  htmx.ajax("GET", address, { source: part }).catch(() => {});
}

/**
 * @param {string} page
 * @param {string} id
 */
function withSaid(page, id) {
  const url = new URL(page, location.href);
  url.searchParams.set("said", id);
  return url.pathname + url.search;
}

export function keepFresh() {
  onChange(() => { look().catch(() => {}); });
}
