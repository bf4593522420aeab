// @ts-check
/** The honest strip: what is only on this tablet, how old it is, what was refused, when the bench PC last answered. */
import { sayNoStore } from "./nostore.js";
import { tally } from "./outbox.js";
import { age, clockTime, counted, says } from "./says.js";
import { store } from "./store.js";
import { onChange } from "./sync.js";

const AGAIN_MS = 20_000;
let onlineOnly = false;

/**
 * @typedef {Awaited<ReturnType<typeof tally>> & {photos: number}} Tally
 */

/**
 * What the strip says, most pressing first.
 * @param {Tally} told
 * @param {number} nowMs
 * @returns {string[]}
 */
export function lines(told, nowMs) {
  const parts = [];
  if (told.refused) parts.push(counted("strip.refused", told.refused));
  if (told.paused) parts.push(says("strip.paused", { why: told.words || says(`paused.${told.paused}`) }));
  if (told.waiting) parts.push(counted("strip.waiting", told.waiting, { age: age(nowMs - (told.oldest_ms ?? nowMs)) }));
  if (told.photos) parts.push(counted("strip.photos", told.photos));
  if (told.failed && !told.paused) parts.push(told.words || says("strip.unreached"));
  if (!parts.length) parts.push(says("strip.sent"));
  if (onlineOnly) parts.push(says("strip.online_only"));
  parts.push(told.contact_ms ? says("strip.contact", { at: clockTime(told.contact_ms) }) : says("strip.no_contact"));
  return parts;
}

/** How many photos wait; their bytes are not read again for every tap. */
let photos = -1;

async function show() {
  if (photos < 0) photos = (await store.all("photos")).filter((one) => one.bytes).length;
  const told = { ...await tally(store), photos };
  const pressing = told.refused > 0 || told.paused !== "";
  for (const strip of document.querySelectorAll("[data-strip]")) {
    if (!(strip instanceof HTMLElement)) continue;
    const text = lines(told, Date.now()).join(" · ");
    if (strip.textContent !== text) strip.textContent = text;
    strip.hidden = false;
    strip.classList.toggle("pressing", pressing);
    strip.classList.toggle("waits", !pressing && told.waiting + told.photos > 0);
    // What the page says of the bench PC alone would not be true while something waits here.
    const saved = strip.closest(".strip")?.querySelector(".saved");
    if (saved instanceof HTMLElement) saved.hidden = told.waiting > 0;
  }
}

export function keepStrip() {
  const again = () => { show().catch(sayNoStore); };
  onChange((rooms) => {
    if (rooms.includes("photos")) photos = -1;
    again();
  });
  for (const name of ["htmx:afterSettle", "htmx:oobAfterSwap"]) document.addEventListener(name, again);
  setInterval(again, AGAIN_MS);
  again();
}

/** Say that without a worker no page opens while the bench PC is away: its certificate is not trusted here. */
export function sayOnlineOnly() {
  onlineOnly = true;
  show().catch(sayNoStore);
}
