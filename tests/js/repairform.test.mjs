import assert from "node:assert/strict";
import { test } from "node:test";
import { isUnseen, pairsOf, unitOf } from "../../static/js/repairform.js";

const ID = "0195a1b2-c3d4-7e5f-8a6b-7c8d9e0f1a2b";
const kind = { fields: { sites: { many: true }, answers: { many: true } } };

test("a length is in mm, an angle in degrees, a tooth in nothing", () => {
  assert.deepEqual(["drop_mm", "ap_deg", "tooth"].map(unitOf), ["mm", "\u00b0", ""]);
});

test("names of entries and the bytes of a photo go along unseen", () => {
  assert.deepEqual([isUnseen("finding", ID), isUnseen("answers", [ID]), isUnseen("sha256", "ab"), isUnseen("remark", "seen")],
    [true, true, true, false]);
  const refused = { statement: { body: { answers: [ID], remark: "seen", sites: ["34B"] } } };

  assert.deepEqual(pairsOf(refused, [["remark", "put right"], ["sites", "34B, 35L"]], kind),
    [["answers", ID], ["remark", "put right"], ["sites", "34B"], ["sites", "35L"]]);
});

test("a photo's lens that nobody stated is not stated by putting the photo right", () => {
  const refused = { statement: { body: { sha256: "ab", focal_px: null, shows: "cast" } } };
  const photo = { fields: { sha256: {}, focal_px: {}, shows: {} } };

  assert.deepEqual(pairsOf(refused, [["shows", "site"]], photo), [["sha256", "ab"], ["shows", "site"]]);
});
