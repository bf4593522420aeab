import assert from "node:assert/strict";
import { test } from "node:test";
import { moved, onStep } from "../../static/js/tiltmap.js";

test("a tilt on the map lies on half degrees, without binary dust", () => {
  assert.equal(onStep(1.2499, 15), 1);
  assert.equal(onStep(1.2501, 15), 1.5);
  assert.equal(onStep(-0.2, 15), 0);
  assert.ok(Object.is(onStep(-0.2, 15), 0));
});

test("a tilt stays on the map", () => {
  assert.equal(onStep(17.3, 15), 15);
  assert.equal(onStep(-99, 15), -15);
});

test("the arrow up lowers the front, the arrow right the right of view", () => {
  assert.deepEqual(moved("ArrowUp", [0, 0], 15), [0.5, 0]);
  assert.deepEqual(moved("ArrowDown", [0, 0], 15), [-0.5, 0]);
  assert.deepEqual(moved("ArrowRight", [1, 1], 15), [1, 1.5]);
  assert.deepEqual(moved("ArrowLeft", [1, -15], 15), [1, -15]);
});

test("another key moves nothing", () => {
  assert.equal(moved("Enter", [0, 0], 15), null);
});
