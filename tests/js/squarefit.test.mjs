import assert from "node:assert/strict";
import { test } from "node:test";
import { fitted } from "../../static/js/squarefit.js";
import { cornersOf, dotsOf, planeOf, sidePx, tiltDeg } from "../../static/js/squareplane.js";
import { farthest, picture, roughly, seen } from "./drawnsquare.mjs";

const DOTS = 29;

test("a label's text tells how many dots its square counts", () => {
  // ISO/IEC 18004:2015, table 7, level Q, alphanumeric: version 2 holds 29, version 3 holds 47.
  assert.equal(dotsOf("HTTP://A.B/C/K7Q2M4XD"), 25);
  assert.equal(dotsOf("X".repeat(29)), 25);
  assert.equal(dotsOf("X".repeat(30)), 29);
  assert.equal(dotsOf("X".repeat(47)), 29);
  assert.equal(dotsOf("X".repeat(48)), 33);
});

test("a plane goes through the corners it was made of", () => {
  const corners = [{ x: 3, y: 4 }, { x: 90, y: 11 }, { x: 84, y: 99 }, { x: 1, y: 80 }];
  assert.ok(farthest(cornersOf(planeOf(corners)), corners) < 1e-9);
});

test("a square seen straight from above has no tilt, wherever it lies in the picture", () => {
  for (const aside of [[0, 0], [90, 0], [-60, 70]]) {
    assert.ok(tiltDeg(seen({ aside }), 996, { x: 640, y: 480 }) < 1e-4);
  }
});

test("the tilt of a square is told to the degree it was drawn with", () => {
  for (const tilt of [5, 10, 20, 35]) {
    for (const across of [0, 50, 140, 260]) {
      const told = tiltDeg(seen({ tilt, across, aside: [40, -30] }), 996, { x: 640, y: 480 });
      assert.ok(Math.abs(told - tilt) < 1e-6, `${told} for ${tilt}`);
    }
  }
});

for (const distance of [200, 300, 400]) {
  test(`rough corners are brought to a fifth of a pixel at ${distance} mm`, () => {
    for (const [n, tilt] of [0, 8, 12, 20, 30].entries()) {
      const drawn = picture(seen({ tilt, across: 70 * n, distance, turn: n }), DOTS, { seed: n + 3 });
      const fit = fitted(drawn.grey, roughly(drawn.corners, DOTS, 0.2, n + 1), DOTS);
      assert.ok(fit, `nothing at ${tilt} degrees`);
      assert.ok(farthest(fit.corners, drawn.corners) < 0.2, `${farthest(fit.corners, drawn.corners)} px at ${tilt}`);
    }
  });
}

test("the tilt of a drawn square is told to two degrees", () => {
  for (const [n, tilt] of [0, 6, 10, 14, 20].entries()) {
    const corners = seen({ tilt, across: 55 * n, turn: 2 * n });
    const drawn = picture(corners, DOTS, { seed: n + 11 });
    const moved = { x: corners[0].x - drawn.corners[0].x, y: corners[0].y - drawn.corners[0].y };
    const fit = fitted(drawn.grey, roughly(drawn.corners, DOTS, 0.2, n + 5), DOTS);
    const placed = fit.corners.map(({ x, y }) => ({ x: x + moved.x, y: y + moved.y }));
    assert.ok(Math.abs(tiltDeg(placed, 996, { x: 640, y: 480 }) - tilt) < 2);
  }
});

test("the corners may be named from any of them on", () => {
  const drawn = picture(seen({ turn: 0.7 }), DOTS);
  const turned = [2, 3, 0, 1].map((n) => drawn.corners[n]);
  assert.ok(farthest(fitted(drawn.grey, turned, DOTS).corners, drawn.corners) < 0.2);
});

test("the spread of the edges is told as it was drawn, whatever the size", () => {
  for (const distance of [180, 260]) {
    for (const blur of [0.1, 0.25, 0.4]) {
      const drawn = picture(seen({ distance }), DOTS, { blur });
      const told = fitted(drawn.grey, drawn.corners, DOTS)?.blur ?? 9;
      assert.ok(Math.abs(told - blur) < 0.2 * blur + 0.05, `${told} for ${blur}`);
    }
  }
});

test("a square too soft to be read is no fit", () => {
  const drawn = picture(seen({}), DOTS, { blur: 0.8 });
  assert.equal(fitted(drawn.grey, drawn.corners, DOTS), null);
});

test("a patch without dots is no square", () => {
  const grey = { data: new Float32Array(100 * 100).fill(180), width: 100, height: 100 };
  assert.equal(fitted(grey, [{ x: 20, y: 20 }, { x: 80, y: 20 }, { x: 80, y: 80 }, { x: 20, y: 80 }], DOTS), null);
});

test("a wrong count of dots is no fit", () => {
  const drawn = picture(seen({}), 33);
  assert.equal(fitted(drawn.grey, drawn.corners, 25), null);
  assert.ok(sidePx(drawn.corners) > 50);
});
