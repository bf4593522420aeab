import assert from "node:assert/strict";
import { test } from "node:test";
import { cameAfter, nearest, nudged, onPicture } from "../../static/js/photospots.js";

const SIZE = { x: 4000, y: 3000 };

test("an arrow key moves a place by its step and nothing else does", () => {
  assert.deepEqual(nudged("ArrowLeft", { x: 10, y: 20 }, 0.25, SIZE), { x: 9.75, y: 20 });
  assert.deepEqual(nudged("ArrowDown", { x: 10, y: 20 }, 2.5, SIZE), { x: 10, y: 22.5 });
  assert.equal(nudged("Enter", { x: 10, y: 20 }, 1, SIZE), null);
});

test("no place leaves the picture", () => {
  assert.deepEqual(nudged("ArrowUp", { x: 10, y: 0.5 }, 10, SIZE), { x: 10, y: 0 });
  assert.deepEqual(onPicture({ x: 4000.4, y: -3 }, SIZE), { x: 4000, y: 0 });
});

test("a finger takes up the nearest place within its reach", () => {
  const spots = new Map([["a", { x: 100, y: 100 }], ["b", { x: 130, y: 100 }]]);

  assert.equal(nearest(spots, { x: 120, y: 100 }, 28), "b");
  assert.equal(nearest(spots, { x: 112, y: 100 }, 28), "a");
  assert.equal(nearest(spots, { x: 500, y: 500 }, 28), "");
});

test("a mark that was found stays known as moved, however often it is tapped", () => {
  assert.equal(cameAfter("found", false), "moved");
  assert.equal(cameAfter("moved", true), "moved");
  assert.equal(cameAfter("tapped", false), "tapped");
});
