// @ts-check
/** Hides the page behind a dialog that only its person's PIN takes away; what was typed stays. */

import { keepSeated, unseat } from "./seated.js";

/**
 * @param {HTMLDialogElement} dialog
 * @param {() => void} uncovered
 */
export function cover(dialog, uncovered) {
  const form = dialog.querySelector("form");
  if (!form) return;
  const done = new AbortController();
  const left = standUp(form);
  toThisPage(dialog);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    await left;
    if (await fits(form)) dialog.close("known");
  }, { signal: done.signal });
  dialog.addEventListener("cancel", (event) => event.preventDefault(), { signal: done.signal });
  dialog.addEventListener("close", () => {
    // A browser may close a dialog all the same when it is asked to again and again.
    if (dialog.returnValue !== "known") return dialog.showModal();
    done.abort();
    hideRest(false);
    return uncovered();
  }, { signal: done.signal });
  dialog.returnValue = "";
  hideRest(true);
  dialog.showModal();
}

/**
 * What lies under the cover is neither seen nor read aloud, whatever the browser draws.
 * @param {boolean} hidden
 */
function hideRest(hidden) {
  document.documentElement.toggleAttribute("data-covered", hidden);
}

/**
 * Free the seat, so that nobody goes on under this person's initials; one that somebody else took meanwhile stays.
 * @param {HTMLFormElement} form
 */
async function standUp(form) {
  unseat();
  const sent = new URLSearchParams({ csrf_token: field(form, "csrf_token").value, of: field(form, "initials").value });
  await fetch(form.dataset.lock ?? "", { method: "POST", body: sent, redirect: "manual" }).catch(() => {});
}

/**
 * Whoever signs in instead comes to the page that was open.
 * @param {HTMLDialogElement} dialog
 */
function toThisPage(dialog) {
  const other = dialog.querySelector("[data-cover-other]");
  if (!(other instanceof HTMLAnchorElement)) return;
  const address = new URL(other.href);
  address.searchParams.set("next", location.pathname + location.search);
  other.href = address.href;
}

/**
 * Ask the bench PC whether the PIN is right; say what is wrong when it is not.
 * @param {HTMLFormElement} form
 */
async function fits(form) {
  const pin = field(form, "cover_pin");
  const sent = new URLSearchParams({
    csrf_token: field(form, "csrf_token").value, initials: field(form, "initials").value,
    next: field(form, "next").value, pin: pin.value,
  });
  pin.value = "";
  const answer = await fetch(form.action, { method: "POST", body: sent }).catch(() => null);
  if (!answer) offerWithout(form);
  else if (answer.ok && answer.redirected) keepSeated();
  const right = answer?.ok && answer.redirected;
  say(form, right ? "" : await why(answer, form));
  if (!right) pin.focus();
  return right;
}

/**
 * A tablet that keeps what is stated goes on without the bench PC: nobody's name is proved there.
 * @param {HTMLFormElement} form
 */
function offerWithout(form) {
  if (document.documentElement.dataset.tablet !== "ready") return;
  const way = form.querySelector("[data-cover-without]");
  const code = document.body.dataset.case;
  way?.toggleAttribute("hidden", false);
  if (code) way?.querySelector("a")?.setAttribute("href", `/case/${code}/offline`);
}

/**
 * The words of the refusal, from the page that was answered.
 * @param {Response | null} answer
 * @param {HTMLFormElement} form
 */
async function why(answer, form) {
  const page = new DOMParser().parseFromString(answer ? await answer.text() : "", "text/html");
  const said = page.querySelector("#pin-error, #initials-error")?.textContent?.trim();
  return said || (answer ? form.dataset.failed : form.dataset.unreachable) || "";
}

/**
 * @param {HTMLFormElement} form
 * @param {string} text
 */
function say(form, text) {
  const place = form.querySelector("[data-cover-says]");
  if (!(place instanceof HTMLElement)) return;
  place.textContent = text;
  place.hidden = !text;
}

/**
 * @param {HTMLFormElement} form
 * @param {string} name
 * @returns {HTMLInputElement}
 */
function field(form, name) {
  return /** @type {HTMLInputElement} */ (form.elements.namedItem(name));
}
