// @ts-check
/** What a paired tablet does besides: keep what is stated, send it, say how it stands, be ready without a net. */
import { announceOffline } from "./unreached.js";
import { keepCopies, sayCopy } from "./copies.js";
import { keepDrafts } from "./drafts.js";
import { keepFresh } from "./refresh.js";
import { store } from "./store.js";
import { keepSeated } from "./seated.js";
import { keepStrip } from "./strip.js";
import { keepSending } from "./sync.js";
import { takeOver } from "./takeover.js";
import { keepUpdated } from "./update.js";

/** @returns {Promise<import("./takeover.js").Stating | null>} */
async function stating() {
  const mark = document.getElementById("tablet")?.dataset.mark ?? "";
  const { lang } = document.documentElement;
  const kept = await store.get("meta", "stating");
  if (kept?.mark === mark && kept.lang === lang) return kept;
  const told = await fetch("/sync/stating", { cache: "no-store" }).then((answer) => answer.json()).catch(() => null);
  if (!told?.kinds) return kept ?? null;
  await store.write([["put", "meta", { name: "stating", mark, lang, ...told }]]);
  return told;
}

/** A copy of a page may be of somebody else: who records on it is asked. */
async function askWhoRecords() {
  const place = document.querySelector("[data-copy-person]");
  if (!(place instanceof HTMLElement)) return;
  place.hidden = false;
  (await import("./personhere.js")).choosePerson(place);
}

/** Bind everything; called where the store holds a device. */
export async function bindTablet() {
  sayCopy();
  keepSeated();
  keepStrip();
  const told = await stating();
  if (told) {
    if (document.querySelector("[data-opening]")) (await import("./opening.js")).bindOpening();
    takeOver(told);
    document.documentElement.dataset.tablet = "ready";
  }
  if (told && new URLSearchParams(location.search).has("refused")) await (await import("./reopening.js")).bindReopening(told);
  keepDrafts();
  keepFresh();
  announceOffline();
  keepSending();
  if (told && document.querySelector("[data-offline-page]")) (await import("./offline.js")).bindOffline(told);
  if (told && document.querySelector("[data-here]")) (await import("./waitinghere.js")).bindWaiting();
  if (document.body.dataset.copiedAt) await askWhoRecords();
  if (told && document.querySelector("[data-outbox-page]")) (await import("./outboxpage.js")).bindOutbox(told);
  await keepUpdated();
  setTimeout(() => { keepCopies().catch(() => {}); }, 1500);
}
