// @ts-check
/** Arrow keys walk along the arch and around the enlarged tooth; a swap keeps one's place. */
import { fresh } from "./found.js";

const AROUND = ["B", "DB", "D", "DL", "L", "ML", "M", "MB"];
const WAYS = { ArrowLeft: -1, ArrowUp: -1, ArrowRight: 1, ArrowDown: 1 };

/**
 * Where an arrow key leads in a row of links; at either end it stays.
 * @param {number} at
 * @param {string} key
 * @param {number} count
 * @param {boolean} round whether the row is a ring
 */
export function next(at, key, count, round) {
  if (key === "Home") return 0;
  if (key === "End") return count - 1;
  const to = at + (WAYS[/** @type {keyof typeof WAYS} */ (key)] ?? 0);
  return round ? (to + count) % count : Math.min(count - 1, Math.max(0, to));
}

/** @param {Element | Document} root */
export function bindArchmap(root) {
  for (const map of fresh(root, "[data-archmap]")) {
    const teeth = /** @type {SVGAElement[]} */ ([...map.querySelectorAll("a[data-tooth]")]);
    teeth.sort((a, b) => middle(a) - middle(b));
    const zones = /** @type {SVGAElement[]} */ ([...map.querySelectorAll("a[data-surface]")]);
    zones.sort((a, b) => place(a) - place(b));
    walk(teeth, false);
    walk(zones, true);
  }
}

/** @param {SVGAElement} tooth */
function middle(tooth) {
  const box = tooth.getBBox();
  return box.x + box.width / 2;
}

/** @param {SVGAElement} zone */
function place(zone) {
  return AROUND.indexOf(zone.dataset.surface ?? "");
}

/**
 * One stop for the tab key in a row; arrows move within it.
 * @param {SVGAElement[]} links
 * @param {boolean} round
 */
function walk(links, round) {
  const current = links.find((link) => link.hasAttribute("aria-current")) ?? links[0];
  for (const link of links) {
    link.setAttribute("tabindex", link === current ? "0" : "-1");
    link.addEventListener("keydown", (event) => {
      if (!(event.key in WAYS || event.key === "Home" || event.key === "End")) return;
      event.preventDefault();
      const to = links[next(links.indexOf(link), event.key, links.length, round)];
      for (const other of links) other.setAttribute("tabindex", other === to ? "0" : "-1");
      to.focus();
    });
  }
}

/**
 * After a swap took the focused tooth or surface away, focus the one that took its place.
 * @param {Document} page
 */
export function keepPlace(page) {
  /** @type {string | undefined} */
  let held;
  page.addEventListener("htmx:beforeSwap", () => {
    const at = page.activeElement;
    held = at instanceof SVGElement ? selector(at) : undefined;
  });
  page.addEventListener("htmx:afterSettle", () => {
    const lost = held && (!page.activeElement || page.activeElement === page.body);
    const again = lost ? page.querySelector(held ?? "") : null;
    if (again instanceof SVGElement) again.focus();
    held = undefined;
  });
}

/** @param {SVGElement} link */
function selector(link) {
  const { tooth, surface } = link.dataset;
  if (surface) return `[data-archmap] a[data-surface="${surface}"]`;
  return tooth ? `[data-archmap] a[data-tooth="${tooth}"]` : undefined;
}
