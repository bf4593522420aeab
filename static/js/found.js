// @ts-check
/**
 * The elements under root that match and were not handed out before, root included.
 * Behaviours may so be bound again after any swap without doubling themselves.
 * @param {Element | Document} root
 * @param {string} selector
 * @returns {HTMLElement[]}
 */
export function fresh(root, selector) {
  const own = root instanceof Element && root.matches(selector) ? [root] : [];
  return [...own, ...root.querySelectorAll(selector)]
    .filter((part) => !(selector in handed(part)))
    .map((part) => {
      handed(part)[selector] = true;
      return /** @type {HTMLElement} */ (part);
    });
}

/** @type {WeakMap<Element, Record<string, boolean>>} */
const known = new WeakMap();

/** @param {Element} part */
function handed(part) {
  const marks = known.get(part) ?? {};
  known.set(part, marks);
  return marks;
}
