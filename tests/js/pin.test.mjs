import assert from "node:assert/strict";
import { test } from "node:test";

import { typed } from "../../static/js/pin.js";

test("digits are added up to the longest PIN", () => {
  const held = [..."729481365"].reduce(typed, "");

  assert.equal(held, "72948136");
});

test("back takes the last digit and clear takes all", () => {
  assert.equal(typed("7294", "back"), "729");
  assert.equal(typed("", "back"), "");
  assert.equal(typed("7294", "clear"), "");
});

test("nothing but a digit is added", () => {
  for (const key of ["x", "12", "", "-"]) assert.equal(typed("7", key), "7");
});
