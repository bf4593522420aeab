import assert from "node:assert/strict";
import { test } from "node:test";
import { addressIn, fitOf, isBlank, saysSo } from "../../static/js/ownform.js";

const undercut = { id: "e1", kind: "undercut_read", case: "2345678K",
  body: { tooth: 35, surface: "MB", gauge_mm: 0.5, contact: "both", drop_mm: 1.4, gauge: "", marked: false } };

test("the address names the case, the place and the entry", () => {
  const own = { path: "/case/{case}/undercuts", asks: { tooth: "tooth", gauge_mm: "gauge_mm", none: "gauge" }, fixed: { sheet: "a" } };

  assert.equal(addressIn(own, undercut), "/case/2345678K/undercuts?sheet=a&tooth=35&gauge_mm=0.5&refused=e1");
});

test("many values are parted by points, and a field may stand in the path", () => {
  const lines = { id: "e2", kind: "survey_lines_drawn", case: "2345678K", body: { sites: ["34B", "34L"] } };
  assert.equal(addressIn({ path: "/case/{case}/x", asks: { lines: "sites" }, fixed: {} }, lines), "/case/2345678K/x?lines=34B.34L&refused=e2");

  const table = { id: "e3", kind: "table_described", case: null, body: { tag: "T/1" } };
  assert.equal(addressIn({ path: "/tables/{tag}", asks: {}, fixed: {} }, table), "/tables/T%2F1?refused=e3");
});

test("a key says a number however it is written, a yes by its word, a box by being ticked", () => {
  const key = (value) => ({ type: "radio", value });
  assert.ok(saysSo(key("0.50"), 0.5));
  assert.ok(!saysSo(key("0.25"), 0.5));
  assert.ok(!saysSo(key(""), 0));
  assert.ok(saysSo(key("yes"), true) && saysSo(key("no"), false) && !saysSo(key("no"), true));
  assert.ok(saysSo({ type: "checkbox", value: "on" }, true) && !saysSo({ type: "checkbox", value: "on" }, false));
  assert.ok(saysSo({ type: "checkbox", value: "36" }, [36, 37]) && !saysSo({ type: "checkbox", value: "38" }, [36, 37]));
});

test("nothing, an empty text, no and an empty list say nothing", () => {
  assert.deepEqual([null, undefined, "", false, [], 0, "a", true, [0]].map(isBlank), [true, true, true, true, true, false, false, false, false]);
});

test("of two forms the one fits best that can say all and says nothing else unseen", () => {
  const hidden = (value) => ({ type: "hidden", value });
  const key = (value) => ({ type: "submit", value });
  const form = (controls) => (name) => controls[name] ?? [];
  const anew = form({ gauge_mm: [hidden("0.5")], contact: [key("both"), key("none")], drop_mm: [{ type: "number", value: "" }] });
  const more = form({ gauge_mm: [hidden("0.5")], contact: [hidden("none")], drop_mm: [{ type: "number", value: "" }], marked: [{ type: "checkbox", value: "on" }] });

  assert.ok(fitOf(anew, undercut.body) > fitOf(more, undercut.body));
  assert.ok(fitOf(more, { ...undercut.body, contact: "none", marked: true }) >= fitOf(anew, { ...undercut.body, contact: "none", marked: true }));
});
