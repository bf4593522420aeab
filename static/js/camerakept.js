// @ts-check
/** What becomes of a photo taken on a paired tablet: it is told what it is about, sent, and then shown. */
import { waiting } from "./outbox.js";
import { settingNow } from "./overlay.js";
import { store } from "./store.js";
import { onChange } from "./sync.js";
import { completeForms } from "./takeover.js";

/**
 * A photo taken without the bench PC is about what was recorded here last, which the page cannot know.
 * @param {HTMLElement} page
 */
export function completePhoto(page) {
  const code = page.dataset.code ?? "";
  completeForms(async (form, kind, pairs) => {
    if (kind !== "photo_kept" || !page.contains(form)) return [];
    const rows = (await waiting(store)).map((one) => one.statement).filter((one) => one.case === code);
    const setting = settingNow({ setting: valueOf(pairs, "setting"), tripod: null, standing: {} }, rows);
    put(pairs, "setting", setting ?? "");
    const asked = new URLSearchParams(location.search).get("about");
    if (document.body.dataset.copiedAt && asked) put(pairs, "about", asked);
    const marked = rows.filter((one) => one.kind === "tripod_marked").pop();
    if (valueOf(pairs, "shows") === "tripod" && marked && !valueOf(pairs, "about")) put(pairs, "about", marked.id);
    return [];
  });
}

/**
 * @param {[string, string][]} pairs
 * @param {string} name
 */
function valueOf(pairs, name) {
  return pairs.find(([key]) => key === name)?.[1] || null;
}

/**
 * @param {[string, string][]} pairs
 * @param {string} name
 * @param {string} value
 */
function put(pairs, name, value) {
  const found = pairs.find(([key]) => key === name);
  if (found) found[1] = value;
  else pairs.push([name, value]);
}

/**
 * Go on to the photo's own page once the bench PC holds it; until then it is kept here and says so.
 * @param {HTMLElement} page
 * @param {import("./statement.js").Statement | null} statement
 */
export function afterKept(page, statement) {
  const sha = statement?.body?.sha256;
  if (!sha) return;
  const look = async () => {
    const [envelopes, rows, photos] = await store.atOnce(["envelopes", "outbox", "photos"]);
    const open = [...envelopes.flatMap((one) => one.entries), ...rows].some((one) => one.id === statement.id);
    const there = photos.find((one) => one.sha === sha);
    if (page.dataset.stage === "kept" && !open && there && !there.bytes) location.assign(`${page.dataset.photos ?? ""}${sha}`);
  };
  onChange(() => { look().catch(() => {}); });
  look().catch(() => {});
}
