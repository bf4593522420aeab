// @ts-check
/** When this tablet sends: at each new statement, when it is looked at, when the net comes, and by the clock. */
import { digestOf } from "./canonical.js";
import { drain, waitMs } from "./drain.js";
import { sender } from "./network.js";
import { sendPhotos } from "./photodrain.js";
import { lookedIn } from "./refill.js";
import { store } from "./store.js";

/** @typedef {import("./contact.js").Outcome} Outcome */

const LOCK = "tiltbook-drain";
const LOOK_MS = 60_000;

/** @type {{store: typeof store, send: import("./contact.js").Send, now: () => number,
 *   digestOf: (text: string) => Promise<string>, random: (count: number) => Uint8Array<ArrayBuffer>, last?: string}} */
export const here = {
  store, send: sender(store), now: () => Date.now(), digestOf,
  random: (/** @type {number} */ count) => crypto.getRandomValues(new Uint8Array(count)),
};

const channel = globalThis.document && globalThis.BroadcastChannel ? new BroadcastChannel("tiltbook") : null;
/** @type {Set<(rooms: string[]) => void>} */
const watchers = new Set();
/** @type {Promise<Outcome> | null} */
let queued = null;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let timer;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let telling;

/**
 * Be told whenever what waits here, or what is known of the bench PC, may have changed; also by another tab.
 * @param {(rooms: string[]) => void} watcher is told the rooms that were written to
 */
export function onChange(watcher) {
  watchers.add(watcher);
}

/** Tell this tab and the others, once for all that changed in one go. */
export function changed() {
  telling ??= setTimeout(() => {
    telling = undefined;
    const rooms = store.roomsWritten();
    for (const watcher of watchers) watcher(rooms);
    channel?.postMessage(rooms);
  });
}

/**
 * Send what waits. Any number of tabs may ask; one sends at a time, and a request made while another
 * waits for its turn joins it.
 * @param {boolean} look ask the bench PC also when nothing waits
 * @returns {Promise<Outcome>}
 */
export function send(look = false) {
  queued ??= turn(async () => {
    queued = null;
    clearTimeout(timer);
    const outcome = await work(look).catch(() => /** @type {Outcome} */ ("again"));
    await again(outcome).catch(() => {});
    changed();
    return outcome;
  });
  return queued;
}

/**
 * @param {boolean} look
 * @returns {Promise<Outcome>}
 */
async function work(look) {
  const first = look ? await lookedIn(here) : "done";
  const outcome = first === "done" ? await drain(here) : first;
  return outcome === "done" ? sendPhotos(here) : outcome;
}

/**
 * @param {() => Promise<Outcome>} task
 * @returns {Promise<Outcome>}
 */
async function turn(task) {
  return navigator.locks ? navigator.locks.request(LOCK, task) : task();
}

/** Wait for a pause in sending: what was stated goes before anything else that is asked of the bench PC. */
export async function pausedSending() {
  await navigator.locks?.request(LOCK, { mode: "shared" }, () => {});
}

/** @param {Outcome} outcome */
async function again(outcome) {
  const failed = (await store.get("meta", "state"))?.failed ?? 0;
  timer = setTimeout(() => send(true), outcome === "done" ? LOOK_MS : waitMs(failed, Math.random()));
}

/** Send at whatever may mean that the bench PC is back; whether the browser thinks it is online says nothing. */
export function keepSending() {
  store.get("meta", "last").then((kept) => { here.last ??= kept?.id ?? ""; }).catch(() => {});
  channel?.addEventListener("message", ({ data }) => { for (const watcher of watchers) watcher(data); });
  globalThis.addEventListener("online", () => send());
  globalThis.addEventListener("pageshow", () => send(true));
  document.addEventListener("visibilitychange", () => { if (!document.hidden) send(true); });
  send(true);
}
