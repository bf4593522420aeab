import assert from "node:assert/strict";
import { test } from "node:test";
import { KEEP_COPIES_MS, waitMs } from "../../static/js/drain.js";
import { dropRefused, repair, tally } from "../../static/js/outbox.js";
import { Bench, Network } from "./standin.mjs";
import { chance, Tablet } from "./tablet.mjs";

const ids = (list) => list.map((one) => one.id);

function scene(acts = [], more = {}) {
  const bench = new Bench();
  const network = new Network(bench, acts);
  return { bench, network, tablet: new Tablet(network, more) };
}

async function drained(tablet, most = 60) {
  for (let n = 0; n < most; n += 1) if (await tablet.drain() === "done") return n;
  throw new Error("never drained");
}

test("waits grow to a minute and never march in step", () => {
  assert.deepEqual([waitMs(1, 1), waitMs(2, 1), waitMs(20, 1)], [2000, 4000, 60_000]);
  assert.equal(waitMs(3, 0), 4000);
});
