import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { state, waiting } from "../../static/js/outbox.js";
import { isReadHere, isSettledHere, settlementFrom, togetherFrom } from "../../static/js/together.js";
import { checkWords } from "../../static/js/waitinghere.js";
import { Bench, Network } from "./standin.mjs";
import { Tablet } from "./tablet.mjs";

const { kinds } = JSON.parse(readFileSync(new URL("vectors.json", import.meta.url), "utf8"));
const SETTLES = {
  one: [{ kind: "survey_lines_drawn", body: { sites: ["34B"] }, supersedes: ["one", "two"], setting: "s" },
    { kind: "survey_lines_drawn", body: { sites: ["35B"] }, supersedes: [], setting: "s" }],
  two: [{ kind: "withdrawn", body: { entry: "one" }, supersedes: [], setting: null }],
};
const codes = ({ faults }) => faults.map(({ field, code }) => [field, code]);
const check = (...more) => togetherFrom({ kind: "instrument_checked", code: "2345678K",
  pairs: [["tag", "G1"], ["reading", "0,25"], ["unit", "mm"], ["passed", "on"], ...more] }, kinds);

test("a contradiction is settled by all that the bench PC worked out for the statement chosen, with the typed reason", () => {
  const { said, faults } = settlementFrom(SETTLES, "2345678K", [["key", "line"], ["chosen", "one"], ["reason", " Read again\r\ntogether "]]);

  assert.deepEqual(faults, []);
  assert.deepEqual(said, SETTLES.one.map((one) => ({ ...one, case: "2345678K", reason: "Read again\ntogether" })));
});

test("a settlement that chooses nothing or gives no reason states nothing", () => {
  assert.deepEqual(codes(settlementFrom(SETTLES, "C", [["reason", "  "]])), [["chosen", "missing"], ["reason", "missing"]]);
  assert.deepEqual(codes(settlementFrom(SETTLES, "C", [["chosen", "three"], ["reason", "x"]])), [["chosen", "missing"]]);
  assert.deepEqual(settlementFrom(SETTLES, "C", [["chosen", "three"], ["reason", "x"]]).said, []);
});

test("a check is said of the lab, and its uncertainty beside it in the unit of the check", () => {
  const [said, beside] = check(["uncertainty", "0,01"]).said;

  assert.deepEqual([said.case, said.setting, said.body.reading, said.body.passed], [null, null, 0.25, true]);
  assert.deepEqual([beside.case, beside.about, beside.body.uncertainty_mm, beside.body.uncertainty_deg], [null, "check", 0.01, null]);
  assert.equal(check(["unit", "deg"], ["uncertainty", "1"]).said[1].body.uncertainty_deg, 1);
  assert.equal(check().said.length, 1);
});

test("an uncertainty that is no number is said at its own control", () => {
  const { faults } = check(["uncertainty", "little"]);

  assert.deepEqual(faults.map(({ field, code, value, at }) => [field, code, value, at]), [["uncertainty_mm", "not_a_number", "little", "uncertainty"]]);
});

test("the uncertainty names the check that is kept in the same write, and so does the note of the person", async () => {
  const tablet = new Tablet(new Network(new Bench()));
  const said = check(["uncertainty", "0.01"]).said.map((one) => ({ ...one, person: "TEC" }));

  const [made, beside, note] = await state(tablet.here, said, [], false);

  assert.equal(beside.body.check, made.id);
  assert.equal("about" in beside, false);
  assert.deepEqual([note.kind, note.case, note.body.entries], ["person_unconfirmed", null, [made.id, beside.id]]);
  assert.equal((await waiting(tablet.store)).length, 3);
});

test("the heights of a drill make one field in their order, and each that is missing is named", () => {
  const read = (...pairs) => togetherFrom({ kind: "drill_reading", code: "", values: "h_a_mm h_b_mm h_c_mm",
    pairs: [["drill", "d"], ["turn", "2"], ["cast", "X"], ...pairs] }, kinds);

  assert.deepEqual(read(["h_a_mm", "7,31"], ["h_b_mm", "-6.5"], ["h_c_mm", "0"]).said[0].body.values_mm, [7.31, -6.5, 0]);
  assert.deepEqual(codes(read(["h_a_mm", "1"], ["h_b_mm", " "], ["h_c_mm", "x"])), [["h_b_mm", "missing"], ["h_c_mm", "not_a_number"]]);
});

test("what was settled here is known until that is taken back", () => {
  const stated = { id: "new", kind: "undercut_read", body: {}, supersedes: ["two"] };
  const back = { id: "back", kind: "withdrawn", body: { entry: "new" }, supersedes: [] };

  assert.equal(isSettledHere(SETTLES, [stated]), true);
  assert.equal(isSettledHere(SETTLES, [stated, back]), false);
  assert.equal(isSettledHere(SETTLES, [{ ...stated, supersedes: ["else"] }]), false);
  assert.equal(isSettledHere(SETTLES, [{ ...back, body: { entry: "one" } }]), true);
});

test("a turn that was read here is told from the same one taken anew", () => {
  const read = { kind: "drill_reading", body: { drill: "d", turn: 2 }, supersedes: [] };

  assert.equal(isReadHere([["drill", "d"], ["turn", "2"]], [read]), true);
  assert.equal(isReadHere([["drill", "d"], ["turn", "3"]], [read]), false);
  assert.equal(isReadHere([["drill", "d"], ["turn", "2"], ["supersedes", "first"]], [read]), false);
});

test("a check that waits reads as in the list of checks", () => {
  const words = { passed: "passed", failed: "failed", mm: "mm", deg: "degrees", point: "," };

  assert.equal(checkWords({ reading: 0.26, reference: 0.25, unit: "mm", passed: true, remark: "" }, words), "0,26 / 0,25 mm · passed");
  assert.equal(checkWords({ reading: null, reference: null, unit: "deg", passed: false, remark: "loose" }, words), "failed · loose");
});
