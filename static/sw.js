// @ts-check
/**
 * Keeps the pages readable while the bench PC does not answer. It answers GET only: the files of this
 * version from its own store, pages from the bench PC first and else as the copy kept last, its time
 * written on it. What is stated never passes through here, and no part of a page is kept.
 */

const scope = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const PAGES = "tiltbook-pages";
const PICTURES = "tiltbook-pictures";
const SHELL = "tiltbook-shell-";
const PATIENCE_MS = 3000;
const AT = "X-Tiltbook-Copied";
const NEVER = /^\/(sync|pair|who|start|lock|health|pin|people|devices|sw\.js)(\/|$)/;
// A copy of it would ask for a reading that was taken long ago.
const NOT_KEPT = /^\/drills\/[^/]+\/next$/;
const MOST_PAGES = 400;

scope.addEventListener("install", (event) => event.waitUntil(keepShell()));
scope.addEventListener("activate", (event) => event.waitUntil(takenOver()));
scope.addEventListener("message", (event) => {
  if (event.data === "take over") event.waitUntil(scope.skipWaiting());
  if (event.data === "answer for me") event.waitUntil(scope.clients.claim());
});
scope.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin || NEVER.test(url.pathname)) return;
  if (request.headers.has("HX-Request") || request.headers.has("Range")) return;
  if (url.pathname.startsWith("/static/")) event.respondWith(fileOf(request));
  else if (/^\/photo\/[0-9a-f]{64}\/thumb$/.test(url.pathname)) event.respondWith(pictureOf(request));
  else if (request.mode === "navigate" || request.headers.get("Accept")?.includes("text/html")) event.respondWith(pageOf(request, url));
});

async function keepShell() {
  const { mark, files } = await (await fetch("/sync/shell.json", { cache: "no-store" })).json();
  const shell = await caches.open(SHELL + mark);
  await shell.addAll(files);
}

/** Old versions' files go only once no page of theirs is open, which is when this worker takes over. */
async function takenOver() {
  await scope.clients.claim();
  const { mark } = await (await fetch("/sync/shell.json", { cache: "no-store" })).json().catch(() => ({ mark: "" }));
  const old = (await caches.keys()).filter((name) => name.startsWith(SHELL) && name !== SHELL + mark);
  if (mark) await Promise.all(old.map((name) => caches.delete(name)));
}

/** @param {Request} request */
async function fileOf(request) {
  const kept = await caches.match(request, { ignoreSearch: true });
  if (kept) return kept;
  const answer = await fetch(request).catch(() => null);
  // A copy of a page may name files of a version that is gone: those of this one stand in.
  return answer?.ok ? answer : (await ofThisVersion(request)) ?? answer ?? Response.error();
}

/** @param {Request} request */
async function ofThisVersion(request) {
  const name = new URL(request.url).pathname.split("/").slice(3).join("/");
  for (const shell of (await caches.keys()).filter((one) => one.startsWith(SHELL)).reverse()) {
    const match = await caches.match(`/static/${shell.slice(SHELL.length)}/${name}`);
    if (match) return match;
  }
  return undefined;
}

/** @param {Request} request */
async function pictureOf(request) {
  const kept = await caches.match(request);
  if (kept) return kept;
  const answer = await fetch(request);
  if (answer.ok) await (await caches.open(PICTURES)).put(request, answer.clone());
  return answer;
}

/**
 * @param {Request} request
 * @param {URL} url
 */
async function pageOf(request, url) {
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let late;
  const patience = new Promise((/** @type {(none: null) => void} */ go) => { late = setTimeout(() => go(null), PATIENCE_MS); });
  const asked = fetch(request).then(async (answer) => {
    if (answer.ok && !answer.redirected && !NOT_KEPT.test(url.pathname) && answer.headers.get("Content-Type")?.startsWith("text/html")) await keepPage(url, answer.clone());
    return answer;
  });
  const answer = await Promise.race([asked.catch(() => null), patience]);
  clearTimeout(late);
  // A failing bench PC has a page of its own, but the copy of this one is of more use.
  if (answer && answer.status < 502) return answer;
  return (await copyOf(url)) ?? asked;
}

/**
 * @param {URL} url
 * @param {Response} answer
 */
async function keepPage(url, answer) {
  // Away from the bench PC a refused statement opens on the offline page of its case.
  if (url.searchParams.has("refused")) return;
  const pages = await caches.open(PAGES);
  const headers = new Headers(answer.headers);
  headers.set(AT, new Date().toISOString());
  await pages.put(keyOf(url), new Response(await answer.text(), { status: 200, headers }));
  const keys = await pages.keys();
  await Promise.all(keys.slice(0, Math.max(0, keys.length - MOST_PAGES)).map((key) => pages.delete(key)));
}

/**
 * A page is kept without what was just said on it.
 * @param {URL} url
 */
function keyOf(url) {
  const plain = new URL(url);
  plain.searchParams.delete("said");
  return plain.href;
}

/**
 * The copy of a page; else the offline page of its case, else the one for any label.
 * @param {URL} url
 */
async function copyOf(url) {
  const pages = await caches.open(PAGES);
  const [, room, code] = url.pathname.split("/");
  // The camera's page is at hand for the tripod; what it is about comes with the address.
  const camera = url.pathname.endsWith("/photo/camera") && url.searchParams.get("shows") === "tripod" ? [`${url.pathname}?shows=tripod`] : [];
  const plain = room !== "case" && url.searchParams.has("refused") ? [url.pathname] : [];
  const ofCase = room === "case" || room.toLowerCase() === "c" ? [`/case/${code}/offline`] : [];
  const drills = NOT_KEPT.test(url.pathname) ? ["/drills"] : [];
  for (const path of [keyOf(url), ...plain, ...camera, ...ofCase, ...drills, "/offline/label"]) {
    const copy = await pages.match(path, { ignoreSearch: path !== keyOf(url) && !camera.includes(path) });
    if (copy) return dated(copy);
  }
  return null;
}

/** @param {Response} copy */
async function dated(copy) {
  const text = await copy.text();
  const marked = text.replace("<body ", `<body data-copied-at="${copy.headers.get(AT) ?? ""}" `);
  return new Response(marked, { headers: copy.headers });
}
