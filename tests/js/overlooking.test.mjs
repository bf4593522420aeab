import assert from "node:assert/strict";
import { test } from "node:test";
import { closeUp } from "../../static/js/overlooking.js";

/** Where a place of the layer comes to lie, in shares of it. */
function placed(text, share) {
  const [x, y, times] = text.match(/-?[\d.]+/g).map(Number);
  return [x / 100 + share.x * times, y / 100 + share.y * times];
}

test("a place in the middle of the picture comes to the middle", () => {
  for (const share of [{ x: 0.5, y: 0.5 }, { x: 0.3, y: 0.62 }]) {
    assert.deepEqual(placed(closeUp(share, 3), share).map((one) => Number(one.toFixed(3))), [0.5, 0.5]);
  }
});

test("near an edge the picture still fills its place", () => {
  for (const share of [{ x: 0, y: 1 }, { x: 0.04, y: 0.97 }]) {
    const text = closeUp(share, 3);
    const [left, top] = placed(text, { x: 0, y: 0 });
    const [right, bottom] = placed(text, { x: 1, y: 1 });
    assert.ok(left <= 0 && top <= 0 && right >= 1 && bottom >= 1);
  }
});
