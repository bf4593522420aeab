import assert from "node:assert/strict";
import { test } from "node:test";
import {
  arrowPath, byKey, changed, farFrom, fresh, longEnough, MOST_LETTERS, moved, readShape, sized, undone, written,
} from "../../static/js/drawnshapes.js";
import { chance } from "./drawnsquare.mjs";

const SIZE = { width: 1200, height: 900 };
const ARROW = { sort: "arrow", start: [0.2, 0.3], end: [0.4, 0.5], text: "rubbed off" };
const CIRCLE = { sort: "circle", start: [0.5, 0.5], end: [0.6, 0.5], text: "" };
const key = (name, more = {}) => ({ key: name, shiftKey: false, altKey: false, ...more });

test("what is written is read again", () => {
  for (const shape of [ARROW, CIRCLE]) assert.deepEqual(readShape(written(shape)), shape);
  assert.equal(written(ARROW), "arrow 0.2 0.3 0.4 0.5 rubbed off");
  assert.equal(written(CIRCLE), "circle 0.5 0.5 0.6 0.5");
});

test("any shape drawn by chance is written as an entry takes it", () => {
  const { even } = chance(11);
  for (let n = 0; n < 500; n += 1) {
    const shape = { sort: "arrow", start: [even() * 1.4 - 0.2, even() ** 9], end: [even(), even() * 2], text: "" };
    assert.match(written(shape), /^arrow( (0(\.\d{1,4})?|1)){4}$/);
  }
});

test("words are kept short and in one line", () => {
  const told = readShape(written({ ...ARROW, text: ` a\nb\tc ${"x".repeat(99)}` })).text;
  assert.ok(told.startsWith("a b c x") && told.length === MOST_LETTERS);
});

test("what is no shape is read as none", () => {
  for (const text of ["", "line 0 0 1 1", "arrow 0 0 1", "arrow 0 0 1 1.2", "arrow -0.1 0 1 1", "circle 0.12345 0 1 1", "arrow 0 0 1 1x"]) {
    assert.equal(readShape(text), null, text);
  }
});

test("the arrow keys move a shape by a hundredth, in finer steps by a fifth of that, alike both ways", () => {
  assert.deepEqual(byKey(key("ArrowRight"), ARROW, SIZE), { ...ARROW, start: [0.21, 0.3], end: [0.41, 0.5] });
  assert.deepEqual(byKey(key("ArrowUp", { altKey: true }), ARROW, SIZE), { ...ARROW, start: [0.2, 0.2973], end: [0.4, 0.4973] });
  assert.equal(byKey(key("a"), ARROW, SIZE), null);
});

test("with shift they move its end alone", () => {
  assert.deepEqual(byKey(key("ArrowLeft", { shiftKey: true }), CIRCLE, SIZE), { ...CIRCLE, end: [0.59, 0.5] });
});

test("a shape stays in the picture and keeps its size", () => {
  const far = moved(ARROW, [2, -2]);
  assert.deepEqual([far.start, far.end], [[0.8, 0], [1, 0.2]]);
});

test("a shape never shrinks to nothing", () => {
  assert.equal(sized(CIRCLE, [0.501, 0.5]), CIRCLE);
  assert.notDeepEqual(longEnough({ ...CIRCLE, end: [0.5, 0.5] }).end, [0.5, 0.5]);
  assert.deepEqual(longEnough({ ...CIRCLE, start: [0.99, 0.5], end: [0.99, 0.5] }).end, [0.87, 0.5]);
});

test("shapes added by key lie aside of each other, inside the picture", () => {
  for (const sort of ["arrow", "circle"]) {
    const places = Array.from({ length: 6 }, (_, n) => fresh(sort, n).start.join());
    assert.equal(new Set(places).size, 6);
    assert.match(written(fresh(sort, 5)), /^\w+( 0\.\d+){4}$/);
  }
});

test("how far a finger is from a stroke counts along an arrow and round a circle", () => {
  assert.ok(farFrom(ARROW, [0.3, 0.4], SIZE) < 1e-9);
  assert.ok(Math.abs(farFrom(ARROW, [0.1, 0.3], SIZE) - 120) < 1e-9);
  assert.ok(farFrom(CIRCLE, [0.5, 0.5 + 120 / 900], SIZE) < 1e-9);
  assert.ok(Math.abs(farFrom(CIRCLE, [0.5, 0.5], SIZE) - 120) < 1e-9);
});

test("an arrow's head lies at its end", () => {
  assert.equal(arrowPath({ ...ARROW, start: [0, 0.5], end: [0.5, 0.5] }, SIZE),
    "M0.0 450.0L600.0 450.0M571.2 467.3L600.0 450.0L571.2 432.7");
});

test("every change can be taken back, the last one first, and nothing before the first", () => {
  let sheet = { shapes: [], before: [], chosen: -1 };
  sheet = changed(sheet, [ARROW], 0);
  sheet = changed(sheet, [ARROW, CIRCLE], 1);
  sheet = changed(sheet, [ARROW], 0);
  const seen = [];
  for (let n = 0; n < 4; n += 1) {
    sheet = undone(sheet);
    seen.push(sheet.shapes.length);
  }
  assert.deepEqual(seen, [2, 1, 0, 0]);
  assert.equal(sheet.chosen, -1);
});
