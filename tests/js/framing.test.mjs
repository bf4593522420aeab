import assert from "node:assert/strict";
import { test } from "node:test";
import { GOOD_DEG, POOR_DEG, judged, steadied, toSay, worst } from "../../static/js/framing.js";
import { seen } from "./drawnsquare.mjs";

const CODE = "K7Q2M4XD";
const TEXT = "HTTP://192.168.1.20:8480/C/K7Q2M4XD"; // 35 letters: 29 dots
const NEVER = { said: "", saidMs: -9e9, due: "", dueMs: 0 };

function look({ tilt = 0, distance = 300, blur = 0.1, code = CODE, marks = 3, scale = 1, label = true } = {}) {
  const corners = seen({ tilt, distance });
  return { label: label ? { text: TEXT, code, corners, blur } : null, marks, width: 1280, height: 960, scale };
}

function states(asked) {
  return Object.fromEntries(Object.entries(judged(look(asked), CODE)).map(([name, one]) => [name, one.state]));
}

test("a level, near and sharp frame with three marks lacks nothing", () => {
  const hints = judged(look({ distance: 160 }), CODE);
  assert.deepEqual(Object.values(hints).map((one) => one.state), ["good", "good", "good", "good", "good"]);
  assert.equal(worst(hints), "good");
});

test("without a label nothing that hangs on it is judged", () => {
  assert.deepEqual(states({ label: false, marks: null }), { label: "none", straight: "none", near: "none", sharp: "none", marks: "none" });
});

test("another case's label is named, and a square that is no label said to be none", () => {
  assert.deepEqual(judged(look({ code: "22222222" }), CODE).label, { state: "poor", key: "other", params: { code: "2222-2222" } });
  assert.equal(judged(look({ code: "" }), CODE).label.key, "foreign");
});

test("the camera is straight up to 10 degrees, aslant up to 20, and beyond that too much so", () => {
  assert.equal(states({ tilt: GOOD_DEG - 1 }).straight, "good");
  assert.equal(states({ tilt: GOOD_DEG + 1 }).straight, "fair");
  assert.equal(states({ tilt: POOR_DEG - 1 }).straight, "fair");
  assert.equal(states({ tilt: POOR_DEG + 1 }).straight, "poor");
  assert.deepEqual(judged(look({ tilt: 15 }), CODE).straight.params, { deg: 15 });
});

test("near enough is four pixels a dot, three at the least, in the photo rather than in the frame", () => {
  // 20 mm at 996 px of focal length: 29 dots of 996 * 20 / 29 / distance px.
  assert.equal(states({ distance: 170 }).near, "good");
  assert.equal(states({ distance: 190 }).near, "fair");
  assert.equal(states({ distance: 240 }).near, "poor");
  assert.equal(states({ distance: 240, scale: 2 }).near, "good");
});

test("edges spread over half a dot are sharp, over a whole one blurred, and unread ones too", () => {
  assert.equal(states({ blur: 0.19 }).sharp, "good");
  assert.equal(states({ blur: 0.3 }).sharp, "fair");
  assert.equal(states({ blur: 0.45 }).sharp, "poor");
  assert.deepEqual([states({ blur: null }).sharp, states({ blur: null }).straight], ["poor", "none"]);
});

test("three marks are wanted: fewer and more are both said", () => {
  const told = (marks) => judged(look({ marks }), CODE).marks;
  assert.deepEqual([0, 2, 3, 5].map((n) => told(n).key), ["poor", "fair", "good", "many"]);
  assert.deepEqual(told(2).params, { count: 2 });
});

test("one odd look does not change what is shown, two alike do", () => {
  const [good, bad] = [judged(look(), CODE), judged(look({ label: false }), CODE)];
  const once = steadied(steadied(null, good), bad);
  assert.equal(once.shown.label.key, "good");
  assert.equal(steadied(once, bad).shown.label.key, "none");
  assert.equal(steadied(once, good).shown.label.key, "good");
});

test("what is said aloud is the first thing to put right, and that all is well", () => {
  const aloud = (asked) => {
    const hints = judged(look({ distance: 160, ...asked }), CODE);
    return toSay(toSay(NEVER, hints, 0), hints, 2000).aloud;
  };
  assert.equal(aloud({}), "ready");
  assert.equal(aloud({ tilt: 30, marks: 0 }), "straight.poor");
  assert.equal(aloud({ marks: 2 }), "marks.fair");
  assert.equal(aloud({ label: false }), "label.none");
});

test("nothing is said at once, nothing twice, and nothing soon after the last", () => {
  const [far, good] = [judged(look({ distance: 400 }), CODE), judged(look({ distance: 160 }), CODE)];
  let saying = toSay(NEVER, far, 0);
  assert.equal(saying.aloud, "");
  saying = toSay(saying, far, 1300);
  assert.equal(saying.aloud, "near.poor");
  saying = toSay(saying, far, 9000);
  assert.equal(saying.aloud, "");
  saying = toSay({ ...saying, saidMs: 9000 }, good, 9100);
  saying = toSay(saying, good, 11_000);
  assert.equal(saying.aloud, "");
  assert.equal(toSay(saying, good, 14_100).aloud, "ready");
});

test("only the hints that are asked for count", () => {
  const { label, sharp } = judged(look({ tilt: 40, marks: 0 }), CODE);
  assert.equal(worst({ label, sharp }), "good");
});
