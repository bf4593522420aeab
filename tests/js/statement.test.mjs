import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { canonical, digestOf, entryId, timeOf } from "../../static/js/canonical.js";
import { bodyFrom, claimsOf, statementFrom } from "../../static/js/statement.js";

const { kinds, forms } = JSON.parse(readFileSync(new URL("vectors.json", import.meta.url), "utf8"));
const AROUND = { id: "0195a1b2-c3d4-7e5f-8a6b-7c8d9e0f1a2b", at: "2026-03-09T08:00:00.007Z", person: "TEC",
  v: 1, device: "tablet-1", seq: 7, prev: "0".repeat(64) };

for (const { kind, pairs, text, digest, claims } of forms) {
  test(`a form becomes the same bytes as on the bench PC: ${kind} ${JSON.stringify(pairs).slice(0, 60)}`, async () => {
    const { said, faults } = statementFrom(kind, kinds[kind], "2345678K", pairs);

    assert.deepEqual(faults, []);
    assert.equal(canonical({ ...said, ...AROUND }), text);
    assert.equal(await digestOf(text), digest);
    assert.deepEqual(claimsOf(kinds[kind], said.body), claims);
  });
}

test("what is missing or no number is said by field", () => {
  const { faults } = bodyFrom(kinds.undercut_read, [["tooth", "3x"], ["surface", "Q"], ["gauge_mm", "0.2.5"], ["drop_mm", "1e400"]]);

  assert.deepEqual(faults.map(({ field, code }) => [field, code]), [["tooth", "not_whole"], ["surface", "not_a_choice"],
    ["gauge_mm", "not_a_number"], ["contact", "missing"], ["drop_mm", "not_a_number"]]);
});

test("a number too large for the record is refused before it is sealed", () => {
  assert.equal(bodyFrom(kinds.undercut_read, [["gauge_mm", "9999999999"]]).faults[2].code, "not_a_number");
});

test("a correction without a reason, and a finding without a setting, are refused", () => {
  const pairs = [["finding", "x"], ["supersedes", "a"]];

  assert.deepEqual(statementFrom("confirmed", kinds.confirmed, "C", pairs).faults.map((one) => one.code), ["missing", "no_setting"]);
});

test("a reason at hand stands in where none is typed", () => {
  const { said } = statementFrom("withdrawn", kinds.withdrawn, "C", [["entry", "x"]], "at once");

  assert.equal(said.reason, "at once");
});

test("half a letter has no bytes and is refused", () => {
  assert.throws(() => canonical({ remark: "\ud800" }), RangeError);
  assert.equal(bodyFrom(kinds.disturbed, [["what", "arm_moved"], ["remark", "\udc00"]]).faults[0].code, "control_characters");
});

test("zero has no sign and figures keep four decimals", () => {
  assert.equal(canonical([-0, 0.00004, 1.00005, -2.5, 0.1 + 0.2]), "[0,0,1.0001,-2.5,0.3]");
});

test("ids are of version 7 and sort in the order they were made, also when the clock is set back", () => {
  const random = new Uint8Array(10).fill(255);
  const first = entryId(1_773_043_200_000, "", random);
  const second = entryId(1_773_043_100_000, first, random);

  assert.match(first, /^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  assert.equal(timeOf(first), 1_773_043_200_000);
  assert.ok(second > first);
  assert.equal(timeOf(entryId(1_773_043_200_000, entryId(1_873_043_200_000, "", random), random)), 1_773_043_200_000);
});

test("what the way of a re-mount asks for is missed by name", () => {
  const around = [["brings_back", AROUND.id], ["setting", AROUND.id], ["tolerance_deg", "1"]];
  const missed = (pairs) => statementFrom("remount_read", kinds.remount_read, "2345678K", [...around, ...pairs]).faults.map((one) => one.field);

  assert.deepEqual(missed([["method", "tripod"], ["tripod", AROUND.id], ["h_a_mm", "0"]]), ["h_b_mm", "h_c_mm"]);
  assert.deepEqual(missed([["method", "scored_lines"], ["lat_deg", "1"]]), ["ap_deg"]);
  assert.deepEqual(missed([["method", "scored_lines"], ["fourth", AROUND.id], ["ap_deg", "0"], ["lat_deg", "1"]]), ["h_d_mm"]);
});
