import assert from "node:assert/strict";
import { test } from "node:test";
import { isIdle } from "../../static/js/idle.js";
import { fits, pressed } from "../../static/js/pad.js";
import { inWords, stepped } from "../../static/js/stepper.js";
import { next } from "../../static/js/archmap.js";

test("steps of 0.05 gather no binary dust", () => {
  let value = "0";
  for (let n = 0; n < 7; n += 1) value = stepped(value, 0.05, 0, 10);

  assert.equal(value, "0.35");
});

test("a stepper stays within its limits", () => {
  assert.equal(stepped("9.98", 0.05, 0, 10), "10.00");
  assert.equal(stepped("-14.5", -1, -15, 15), "-15.0");
});

test("a tilt is said by the edge it lowers, without a sign", () => {
  const ways = { above: "{}° front", below: "{}° back", level: "0° level" };

  assert.equal(inWords("2.5", ways), "2.5° front");
  assert.equal(inWords("-4", ways), "4.0° back");
  assert.equal(inWords("0.0", ways), "0° level");
  assert.equal(inWords("", ways), "");
});

test("an empty stepper starts at zero or at the nearest limit", () => {
  assert.equal(stepped("", 0.5, -15, 15), "0.0");
  assert.equal(stepped("", 0.5, 2, 15), "2.0");
});

test("the pad writes what its keys say", () => {
  const typed = ["0", "1", ".", ".", "4", "0"].reduce(pressed, "");

  assert.equal(typed, "1.40");
  assert.equal(pressed("1.40", "back"), "1.4");
  assert.equal(pressed("1.5", "sign"), "-1.5");
  assert.equal(pressed("-1.5", "sign"), "1.5");
  assert.equal(pressed("", "."), "0.");
  assert.equal(pressed("-5", "back"), "");
});

test("the pad takes no more than six digits", () => {
  assert.equal(pressed("123.456", "7"), "123.456");
});

test("the pad knows what fits", () => {
  assert.equal(fits("1.4", { min: "0", max: "10" }), true);
  assert.equal(fits("10.5", { min: "0", max: "10" }), false);
  assert.equal(fits("-", { min: "", max: "" }), false);
  assert.equal(fits("", { min: "0", max: "10" }), false);
});

test("arrows stop at the ends of the arch and go round a tooth", () => {
  assert.equal(next(15, "ArrowRight", 16, false), 15);
  assert.equal(next(0, "ArrowLeft", 16, false), 0);
  assert.equal(next(7, "ArrowRight", 8, true), 0);
  assert.equal(next(0, "ArrowLeft", 8, true), 7);
  assert.equal(next(5, "Home", 16, false), 0);
  assert.equal(next(5, "End", 16, false), 15);
});

test("a page locks after the time and not before", () => {
  assert.equal(isIdle(0, 599_000, 600), false);
  assert.equal(isIdle(0, 600_000, 600), true);
  assert.equal(isIdle(0, 9e9, 0), false);
});
