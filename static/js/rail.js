// @ts-check
/** Brings the present step into sight where the rail is wider or longer than its place. */

/** @param {Element | Document} root */
export function showCurrentStep(root) {
  const step = root.querySelector('.rail [aria-current="step"], ol [aria-current="step"]');
  const row = step?.closest("ol");
  if (!(step instanceof HTMLElement) || !row || row.scrollWidth <= row.clientWidth) return;
  row.scrollLeft = step.offsetLeft - (row.clientWidth - step.offsetWidth) / 2;
}
