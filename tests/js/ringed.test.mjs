import assert from "node:assert/strict";
import { test } from "node:test";
import { ringedMarks } from "../../static/js/ringed.js";
import { chance } from "./drawnsquare.mjs";

const RED = [194, 47, 42];
const BLUE = [29, 95, 180];
const BLACK = [52, 54, 58];
const STONES = { gypsum: [201, 194, 180], yellow: [222, 190, 120], green: [150, 180, 150], white: [232, 230, 226] };
const ACROSS = { least: 8, most: 60 };
const COLOURS = { mark: RED, ring: BLUE };

/** A frame of stone, with light falling off to one side and some noise; `draw` puts strokes on it. */
function frame(stone, strokes, { shade = 0.35, noise = 5 } = {}) {
  const [width, height] = [320, 240];
  const data = new Uint8ClampedArray(width * height * 4);
  const { gauss } = chance(5);
  for (let n = 0; n < width * height; n += 1) {
    const [x, y] = [n % width, Math.floor(n / width)];
    const light = 1 - shade * x / width;
    const stroke = strokes.find((one) => one.holds(x, y));
    for (let c = 0; c < 3; c += 1) data[n * 4 + c] = light * (stroke ? stroke.colour[c] : stone[c]) + noise * gauss();
    data[n * 4 + 3] = 255;
  }
  return { data, width, height };
}

const ring = (cx, cy, radius, colour, open = 0) => ({ colour, holds: (x, y) =>
  Math.abs(Math.hypot(x - cx, y - cy) - radius) < 1.5 && Math.abs(Math.atan2(y - cy, x - cx)) >= open });
const dot = (cx, cy, radius, colour) => ({ colour, holds: (x, y) => Math.hypot(x - cx, y - cy) < radius });
const line = (top, colour) => ({ colour, holds: (x, y) => Math.abs(y - top - 0.1 * x) < 2 });
const THREE = [[60, 60], [250, 90], [140, 190]];
const ringed = (mark = RED, open = 0) => THREE.flatMap(([x, y]) => [ring(x, y, 11, BLUE, open), dot(x, y, 3, mark)]);

for (const [name, stone] of Object.entries(STONES)) {
  test(`three ringed marks on ${name} stone are three, in their places`, () => {
    const found = ringedMarks(frame(stone, ringed()), COLOURS, ACROSS);
    assert.equal(found.length, 3);
    for (const [n, [x, y]] of [[0, THREE[0]], [1, THREE[2]], [2, THREE[1]]]) {
      assert.ok(Math.hypot(found[n].x - x - 0.5, found[n].y - y - 0.5) < 1.5);
    }
  });
}

test("marks of graphite are told by how dark they are", () => {
  assert.equal(ringedMarks(frame(STONES.gypsum, ringed(BLACK)), { mark: BLACK, ring: BLUE }, ACROSS).length, 3);
});

test("a ring a little open is still a ring", () => {
  assert.equal(ringedMarks(frame(STONES.gypsum, ringed(RED, 0.25)), COLOURS, ACROSS).length, 3);
});

test("strokes without a ring, rings without a mark and long lines are no ringed marks", () => {
  const strokes = [dot(60, 60, 4, RED), ring(250, 90, 11, BLUE), line(120, BLUE), line(180, RED), dot(200, 40, 9, BLUE)];
  assert.deepEqual(ringedMarks(frame(STONES.gypsum, strokes), COLOURS, ACROSS), []);
});

test("rings of another size than asked do not count", () => {
  assert.equal(ringedMarks(frame(STONES.gypsum, ringed()), COLOURS, { least: 30, most: 90 }).length, 0);
  assert.equal(ringedMarks(frame(STONES.gypsum, ringed()), COLOURS, { least: 3, most: 12 }).length, 0);
});

test("bare stone with a shadow holds nothing", () => {
  assert.deepEqual(ringedMarks(frame(STONES.white, [], { shade: 0.75, noise: 5 }), COLOURS, ACROSS), []);
});
