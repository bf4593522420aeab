// @ts-check
/** Opens a refused statement in the form of its own step: filled, with the reason beside the field it names. */
import { emptied, fillIn, formFor, noticeOf } from "./filling.js";
import { says } from "./says.js";
import { store } from "./store.js";

/**
 * @typedef {import("./takeover.js").Stating} Stating
 * @typedef {import("./outbox.js").Refused} Refused
 */

/**
 * Before drafts are put back: what was changed already in such a form comes over what was refused.
 * @param {Stating} stating
 */
export async function bindReopening(stating) {
  const id = new URLSearchParams(location.search).get("refused");
  let one = id ? /** @type {Refused | undefined} */ (await store.get("refused", id).catch(() => undefined)) : undefined;
  const { role } = document.body.dataset;
  if (!one || !stating.kinds[one.statement.kind] || role === "reader") return;
  const show = () => {
    if (!one || document.querySelector("form[data-instead]")) return;
    const form = formFor(document, one.statement);
    if (form) reopen(form, one, stating);
    else sayNoForm(one);
  };
  document.addEventListener("htmx:load", show);
  document.addEventListener("tiltbook:kept", ({ target }) => {
    if (!(target instanceof HTMLFormElement) || !one || target.dataset.instead !== one.id) return;
    one = undefined;
    emptied(target);
    const address = new URL(location.href);
    address.searchParams.delete("refused");
    history.replaceState(history.state, "", address);
  });
  show();
}

/**
 * @param {HTMLFormElement} form
 * @param {Refused} one
 * @param {Stating} stating
 */
function reopen(form, one, stating) {
  const why = one.words || one.code;
  const leave = Object.assign(document.createElement("a"), { href: "/outbox" });
  fillIn(form, { ...one, words: why }, stating, (isBeside) =>
    noticeOf("notice stop", isBeside ? says("outbox.replaces") : says("outbox.replaces_why", { why }), leave));
}

/** @param {Refused} one */
function sayNoForm(one) {
  const place = document.getElementById("controls") ?? document.getElementById("main");
  if (!place || place.querySelector("[data-filled]")) return;
  const text = says("outbox.no_form", { why: one.words || one.code });
  const leave = Object.assign(document.createElement("a"), { href: "/outbox" });
  const notice = noticeOf("notice stop", text, leave);
  notice.dataset.filled = "";
  place.prepend(notice);
}
