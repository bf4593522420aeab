// @ts-check
/** The spots of a photo, three marks and four corners of the label, and where keys and fingers put them. */

/** @typedef {{x: number, y: number}} At */
export const MARKS = ["a", "b", "c"];
export const CORNERS = ["tl", "tr", "br", "bl"];
/** @type {Record<string, [number, number]>} */
const ARROWS = { ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] };

/**
 * Where an arrow key leads from a place, kept on the picture; null for any other key.
 * @param {string} key
 * @param {At} from
 * @param {number} step
 * @param {At} size
 * @returns {At | null}
 */
export function nudged(key, from, step, size) {
  const way = ARROWS[key];
  return way ? onPicture({ x: from.x + way[0] * step, y: from.y + way[1] * step }, size) : null;
}

/**
 * @param {At} at
 * @param {At} size
 */
export function onPicture(at, size) {
  const kept = (/** @type {number} */ value, /** @type {number} */ most) =>
    Math.round(Math.min(most, Math.max(0, value)) * 100) / 100;
  return { x: kept(at.x, size.x), y: kept(at.y, size.y) };
}

/**
 * The spot nearest to a place, of those within reach of it; '' for none.
 * @param {Map<string, At>} spots
 * @param {At} at
 * @param {number} reach
 */
export function nearest(spots, at, reach) {
  let found = "";
  let least = reach;
  for (const [spot, place] of spots) {
    const far = Math.hypot(place.x - at.x, place.y - at.y);
    if (far <= least) [found, least] = [spot, far];
  }
  return found;
}

/**
 * What is known of a mark after it was moved: one that was found stays known as moved.
 * @param {string} came
 * @param {boolean} tapped
 */
export function cameAfter(came, tapped) {
  return came === "found" || came === "moved" ? "moved" : tapped ? "tapped" : came;
}
