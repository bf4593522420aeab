// @ts-check
/**
 * Who has shown the PIN to the bench PC from this tab and touched a page since, within the time a seat lasts.
 * No PIN and nothing made of one is kept here: what cannot be asked for is noted as not confirmed. It is
 * forgotten with the tab: after a restart nobody has shown a PIN.
 */

const NAME = "tiltbook-seated";
const TELL_MS = 1000;
/** @type {BroadcastChannel | undefined} */
let otherTabs;

/** @typedef {{person: string, seconds: number, at: number}} Seated */

/**
 * Whose seat it is at a time, "" for nobody.
 * @param {Seated | null} seated
 * @param {number} nowMs
 */
export function personAt(seated, nowMs) {
  if (!seated) return "";
  const passed = nowMs - seated.at;
  return passed >= 0 && passed < seated.seconds * 1000 ? seated.person : "";
}

/** @returns {Seated | null} */
function kept() {
  try {
    const found = JSON.parse(sessionStorage.getItem(NAME) ?? "null");
    return typeof found?.person === "string" && found.seconds > 0 && Number.isFinite(found.at) ? found : null;
  } catch {
    return null;
  }
}

/** @param {Seated} seated */
function keep(seated) {
  try {
    sessionStorage.setItem(NAME, JSON.stringify(seated));
  } catch {
    // A browser that keeps nothing knows nobody.
  }
}

/** Who sits here now. */
export function seatedPerson() {
  return personAt(kept(), Date.now());
}

/** Nobody sits here any more, nor in another tab. */
export function unseat() {
  forget();
  otherTabs?.postMessage("unseat");
}

function forget() {
  try {
    sessionStorage.removeItem(NAME);
  } catch {
    // Nothing was kept.
  }
}

/** A page of the bench PC itself, no copy of one, says who sits here; each touch keeps the seat. */
export function keepSeated() {
  otherTabs = new BroadcastChannel(NAME);
  otherTabs.onmessage = forget;
  const { person, idleSeconds, copiedAt } = document.body.dataset;
  const page = document.querySelector("[data-seat-seconds]");
  const seconds = Number(idleSeconds ?? page?.getAttribute("data-seat-seconds") ?? 0);
  if (!copiedAt && person && seconds) keep({ person, seconds, at: Date.now() });
  if (!copiedAt && !person) unseat();
  const touched = () => {
    const seated = kept();
    const now = Date.now();
    if (seated && personAt(seated, now) && now - seated.at >= TELL_MS) keep({ ...seated, at: now });
  };
  for (const name of ["pointerdown", "keydown"]) document.addEventListener(name, touched, { passive: true, capture: true });
  document.addEventListener("submit", (event) => {
    if (event.target instanceof HTMLFormElement && event.target.id === "lock") unseat();
  }, { capture: true });
}
