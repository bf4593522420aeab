// @ts-check
/** Says that a page is a copy and of when, and fetches the offline pages of cases so that they are at hand. */
import { clockTime, says } from "./says.js";
import { pausedSending } from "./sync.js";

const FRESH_MS = 120_000;
const MOST_CASES = 24;
const MINE = "tiltbook-mine-asked-";

/** Say it where the worker answered in the bench PC's stead. */
export function sayCopy() {
  const at = document.body.dataset.copiedAt;
  if (!at) return;
  const bar = Object.assign(document.createElement("p"), { className: "notice stale copy" });
  bar.dataset.copy = "";
  bar.setAttribute("role", "status");
  bar.append(`${says("copy.of", { at: clockTime(Date.parse(at)) })} `);
  const code = caseHere();
  const here = `/case/${code}/offline`;
  if (code && location.pathname !== here) bar.append(link(here, says("copy.record")));
  document.getElementById("top")?.append(bar);
}

/**
 * @param {string} href
 * @param {string} textContent
 */
export function link(href, textContent) {
  return Object.assign(document.createElement("a"), { href, textContent, className: "action quiet small" });
}

function caseHere() {
  return /^\/case\/([0-9A-Z]{8})\//.exec(location.pathname)?.[1] ?? "";
}

/** Fetch what is needed to go on without the bench PC: the case opened here, those listed, and one's own. */
export async function keepCopies() {
  if (!navigator.serviceWorker || document.body.dataset.copiedAt || !document.body.dataset.person) return;
  await controlled();
  const listed = [...document.querySelectorAll('a[href^="/case/"]')]
    .map((one) => /^\/case\/([0-9A-Z]{8})\//.exec(one.getAttribute("href") ?? "")?.[1]).filter(Boolean);
  const here = [...new Set([caseHere(), ...listed])].filter(Boolean).slice(0, MOST_CASES);
  const codes = [...new Set([...here, ...await ownCases()])];
  const taking = document.body.dataset.role === "reader" ? [] : codes.map((code) => `/case/${code}/photo/camera?shows=tripod`);
  const checks = document.body.dataset.role === "reader" ? [] : ["/instruments"];
  for (const path of ["/offline/label", "/outbox", ...checks, ...codes.map((code) => `/case/${code}/offline`), ...taking]) {
    if (await isFresh(path)) continue;
    const text = await fetched(path);
    for (const [, more] of text.matchAll(/data-keep-too="([^"]+)"/g)) if (!await isFresh(more)) await fetched(more);
  }
}

/**
 * Read to the end: an answer left unread keeps the worker busy, and a new one from taking over.
 * @param {string} path
 */
async function fetched(path) {
  await pausedSending();
  return fetch(path, { headers: { Accept: "text/html" } }).then((answer) => answer.text()).catch(() => "");
}

/** The open cases that the person signed in works on; asked for now and then only. */
async function ownCases() {
  const asked = MINE + document.body.dataset.person;
  if (document.body.dataset.role === "reader" || Date.now() - Number(sessionStorage.getItem(asked)) < FRESH_MS) return [];
  const answer = await fetch("/offline/mine", { cache: "no-store" }).catch(() => null);
  if (!answer?.ok || answer.redirected) return [];
  sessionStorage.setItem(asked, String(Date.now()));
  return /** @type {string[]} */ ((await answer.json()).codes);
}

/**
 * Wait until the worker answers for this page: only what passes through it is kept. A page that was on its
 * way while the worker took over was missed by it and has to ask.
 */
async function controlled() {
  const { active } = await navigator.serviceWorker.ready;
  if (navigator.serviceWorker.controller) return;
  await new Promise((done) => {
    navigator.serviceWorker.addEventListener("controllerchange", done, { once: true });
    active?.postMessage("answer for me");
  });
}

/** @param {string} path */
async function isFresh(path) {
  const copy = await caches.match(path).catch(() => undefined);
  const at = Date.parse(copy?.headers.get("X-Tiltbook-Copied") ?? "");
  const read = copy?.headers.get("Content-Language") === document.documentElement.lang;
  return read && Date.now() - at < FRESH_MS;
}
