// @ts-check
/** A new version is asked for, taken once, and never under a form that is open or typed in. */
import { isTouched } from "./drafts.js";
import { says } from "./says.js";
import { sayOnlineOnly } from "./strip.js";

/**
 * Whether the page may be loaded anew now.
 * @param {{touched: boolean, dialog: boolean, busy: boolean}} page
 */
export function mayReload(page) {
  return !page.touched && !page.dialog && !page.busy;
}

function now() {
  return {
    touched: isTouched(),
    dialog: document.querySelector("dialog[open]") !== null,
    busy: document.querySelector(".htmx-request, [data-once][aria-disabled]") !== null,
  };
}

/** Register the worker and watch for the next one. */
export async function keepUpdated() {
  const workers = navigator.serviceWorker;
  if (!workers) return sayOnlineOnly();
  const registration = await workers.register("/sw.js", { updateViaCache: "none" }).catch(() => null);
  if (!registration) return sayOnlineOnly();
  let asked = false;
  const look = () => { if (registration.waiting && workers.controller) offer(registration, () => { asked = true; }); };
  registration.addEventListener("updatefound", () => registration.installing?.addEventListener("statechange", look));
  workers.addEventListener("controllerchange", () => {
    if (asked) location.reload();
    asked = false;
  });
  // The bar stands in a part of the page that is shown anew with it.
  document.addEventListener("htmx:oobAfterSwap", look);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) registration.update().catch(() => {}); });
  look();
}

/**
 * @param {ServiceWorkerRegistration} registration
 * @param {() => void} taken
 */
function offer(registration, taken) {
  if (document.querySelector("[data-update]")) return;
  const bar = Object.assign(document.createElement("p"), { className: "notice plain update" });
  bar.dataset.update = "";
  bar.setAttribute("role", "status");
  const text = document.createElement("span");
  text.textContent = `${says("update.ready")} `;
  const key = Object.assign(document.createElement("button"), { type: "button", className: "action quiet small" });
  key.textContent = says("update.take");
  key.addEventListener("click", () => {
    if (!mayReload(now())) {
      text.textContent = `${says("update.not_now")} `;
      return;
    }
    taken();
    registration.waiting?.postMessage("take over");
  });
  bar.append(text, key);
  document.getElementById("top")?.append(bar);
}
