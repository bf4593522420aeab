// @ts-check
/**
 * What is typed stays while the part of the page it stands in is replaced by one that knows nothing of it: the
 * part was asked for before, or by a link that says nothing of the field.
 */

const PLACE = ["tooth", "surface", "entry", "finding"];
const WRITTEN = ["number", "text", "textarea"];

/** @typedef {HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement} Field */
/** @typedef {{place: string, part: string, field: Field}} Typed */

let moment = 0;
/** @type {WeakMap<Element, number>} */
const typedAt = new WeakMap();

/** A moment later than all before it. */
export function thisMoment() {
  moment += 1;
  return moment;
}

/**
 * Whether a field was typed in after a moment.
 * @param {Element} field
 * @param {number} since
 */
export function typedSince(field, since) {
  return (typedAt.get(field) ?? 0) > since;
}

/**
 * @param {unknown} one
 * @returns {one is Field}
 */
export function isField(one) {
  return one instanceof HTMLInputElement || one instanceof HTMLSelectElement || one instanceof HTMLTextAreaElement;
}

/**
 * The value a form holds unseen, "" for none.
 * @param {HTMLFormElement} form
 * @param {string} name
 */
export function unseenIn(form, name) {
  const found = form.elements.namedItem(name);
  return found instanceof HTMLInputElement && found.type === "hidden" ? found.value : "";
}

/**
 * What a field belongs to: the statement its form makes and the site it makes it of.
 * @param {Field} field
 */
function placeOf({ form, id }) {
  if (!form) return `#${id}`;
  return [form.dataset.statement ?? form.getAttribute("action"), ...PLACE.map((name) => unseenIn(form, name))].join("|");
}

/**
 * @param {Element} part
 * @param {number} since when the part that replaces it was asked for
 * @param {string[] | null} asked what was said with a mere look at the page, null where something was stated
 * @returns {Typed[]}
 */
function typedIn(part, since, asked) {
  const from = (/** @type {Field} */ field) => asked && WRITTEN.includes(field.type) && !asked.includes(field.name) ? 0 : since;
  return [...part.querySelectorAll("input, select, textarea")].filter(isField)
    .filter((field) => field.name && !["hidden", "password"].includes(field.type) && typedSince(field, from(field)))
    .map((field) => ({ field, place: placeOf(field), part: field.form ? unseenIn(field.form, "part") : "" }));
}

/**
 * The field that took the place of one, in the same form if that is there still.
 * @param {Typed} typed
 * @param {Document} page
 * @returns {Field | undefined}
 */
function successor({ field, place, part }, page) {
  const isChoice = ["radio", "checkbox"].includes(field.type);
  const same = [...page.getElementsByName(field.name)].filter(isField).filter((one) =>
    one.type === field.type && placeOf(one) === place && (!isChoice || one.value === field.value));
  return same.find((one) => one.form && unseenIn(one.form, "part") === part) ?? same[0];
}

/**
 * @param {Field} from
 * @param {Field} to
 */
function hand(from, to) {
  if (from instanceof HTMLInputElement && to instanceof HTMLInputElement) {
    if (from.type === "file") to.files = from.files;
    else if (["radio", "checkbox"].includes(from.type)) to.checked = from.checked;
    else to.value = from.value;
  } else to.value = from.value;
  typedAt.set(to, thisMoment());
}

/**
 * The names that a look at a page says something of, null for what states something.
 * @param {any} config of the request
 * @returns {string[] | null}
 */
function askedIn(config) {
  if (config?.verb !== "get") return null;
  const [, query = ""] = String(config.path).split("?");
  return [...new URLSearchParams(query).keys(), ...(config.formData?.keys() ?? [])];
}

/** @param {Document} page */
export function keepTyped(page) {
  /** @type {WeakMap<object, number>} */
  const askedAt = new WeakMap();
  /** @type {WeakMap<object, Typed[]>} */
  const leaving = new WeakMap();
  /** @type {WeakMap<object, Field[]>} */
  const arrived = new WeakMap();
  for (const name of ["input", "change"]) {
    page.addEventListener(name, ({ target }) => { if (target instanceof Element) typedAt.set(target, thisMoment()); }, { capture: true });
  }
  // What is sent belongs to what is stated: the next form starts without it.
  page.addEventListener("submit", ({ target }) => {
    if (target instanceof HTMLFormElement) for (const field of target.elements) typedAt.delete(field);
  }, { capture: true });
  /** @param {string} name @param {(xhr: object, detail: any) => void} act */
  const on = (name, act) => page.addEventListener(name, (event) => {
    const { detail } = /** @type {CustomEvent} */ (event);
    if (detail.xhr) act(detail.xhr, detail);
  });
  on("htmx:beforeRequest", (xhr) => askedAt.set(xhr, thisMoment()));
  on("htmx:beforeSwap", (xhr, { target, requestConfig }) => {
    const typed = target instanceof Element ? typedIn(target, askedAt.get(xhr) ?? Infinity, askedIn(requestConfig)) : [];
    if (typed.length) leaving.set(xhr, typed);
  });
  on("htmx:afterSwap", (xhr) => {
    const found = (leaving.get(xhr) ?? []).flatMap((typed) => {
      const to = typed.field.isConnected ? undefined : successor(typed, page);
      if (to) hand(typed.field, to);
      return to ? [to] : [];
    });
    leaving.delete(xhr);
    if (found.length) arrived.set(xhr, found);
  });
  // Only now the new part is bound: what looks on as a field changes hears of it.
  on("htmx:afterSettle", (xhr) => {
    const fields = arrived.get(xhr) ?? [];
    arrived.delete(xhr);
    for (const field of fields) for (const name of ["input", "change"]) field.dispatchEvent(new Event(name, { bubbles: true }));
  });
}
