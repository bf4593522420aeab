import assert from "node:assert/strict";
import { test } from "node:test";
import { repair, state, takeOut, tally, waiting } from "../../static/js/outbox.js";
import { Bench, Network } from "./standin.mjs";
import { Tablet } from "./tablet.mjs";

const scene = (acts = []) => {
  const bench = new Bench();
  return { bench, tablet: new Tablet(new Network(bench, acts)) };
};

test("what was just stated is taken out again and leaves nothing", async () => {
  const { bench, tablet } = scene();
  const said = await tablet.say("a");

  assert.equal(await takeOut(tablet.store, said.id), true);
  await tablet.drain();

  assert.deepEqual(bench.log, []);
});

test("a correction of what was taken out corrects what that corrected", async () => {
  const { tablet } = scene();
  const first = await tablet.say("a", { supersedes: ["old"], reason: "again" });
  await tablet.say("b", { supersedes: [first.id], reason: "again" });

  await takeOut(tablet.store, first.id);

  const [left] = await waiting(tablet.store);
  assert.deepEqual(left.statement.supersedes, ["old"]);
});

test("a setting that findings stand on is not taken out but withdrawn", async () => {
  const { tablet } = scene();
  const mounted = await tablet.say("m", { kind: "mounted" });
  await tablet.say("f", { setting: mounted.id });

  assert.equal(await takeOut(tablet.store, mounted.id), false);
  assert.equal((await tablet.left()).length, 2);
});

test("what may have been sent is not taken out", async () => {
  const { tablet } = scene(["lose"]);
  const said = await tablet.say("a");
  await tablet.drain();

  assert.equal(await takeOut(tablet.store, said.id), false);
  assert.equal((await tablet.left()).length, 1);
});

test("while the bench PC does not answer nothing is sealed, so that undo stays clean", async () => {
  const { bench, tablet } = scene(["drop", "drop", "drop"]);
  await tablet.say("sealed by the first try");
  await tablet.drain();
  await tablet.drain();
  const said = await tablet.say("b");
  await tablet.drain();

  assert.equal(await takeOut(tablet.store, said.id), true);
  await tablet.drain();
  assert.equal(bench.log.length, 1);
});

test("undo and sealing at the same moment never both win", async () => {
  const { bench, tablet } = scene();
  for (let n = 0; n < 40; n += 1) {
    const said = await tablet.say(`mark ${n}`);
    const [out] = await Promise.all([takeOut(tablet.store, said.id), tablet.drain()]);
    const sent = bench.log.some((one) => one.id === said.id);
    assert.notEqual(out, sent);
  }
});

test("a statement put right while others are being sealed is not passed over", async () => {
  for (let turns = 0; turns < 40; turns += 1) {
    const { bench, tablet } = scene();
    const made = [await tablet.say("a"), await tablet.say("b", { person: "GONE" }), await tablet.say("c")];
    bench.refuses = (entry) => (entry.person === "GONE" || entry.body.remark === "a" ? "not_allowed" : "");
    await tablet.drain();
    bench.refuses = () => "";
    await repair(tablet.here, made[0].id, {});
    made.push(await tablet.say("d"));
    const draining = tablet.drain();
    for (let n = 0; n < turns; n += 1) await Promise.resolve();
    await repair(tablet.here, made[1].id, { person: "TEC" });
    await draining;
    await tablet.drain();

    assert.deepEqual(bench.log.map((one) => one.id).sort(), made.map((one) => one.id).sort(), `after ${turns} turns`);
  }
});

test("the strip counts what waits and how old the oldest is", async () => {
  const { tablet } = scene([503]);
  const said = await tablet.say("a");
  await tablet.drain();
  await tablet.say("b");

  const told = await tally(tablet.store);
  assert.deepEqual([told.waiting, told.refused, told.failed], [2, 0, 1]);
  assert.equal(told.oldest_ms, Date.parse(said.at));
});

const unproved = (tablet, count) => state(tablet.here, Array.from({ length: count }, (_, n) => ({ kind: "disturbed",
  case: "2345678K", setting: null, person: "TEC", supersedes: [], reason: "", body: { remark: `${n}`, what: "arm_moved" } })), [], false);

test("what is stated without a PIN has a note beside it, and undo takes both out", async () => {
  const { tablet } = scene();
  const [said, note] = await unproved(tablet, 1);

  assert.deepEqual([note.kind, note.body.entries, note.person], ["person_unconfirmed", [said.id], "TEC"]);
  assert.equal(await takeOut(tablet.store, said.id), true);
  assert.deepEqual(await waiting(tablet.store), []);
});

test("undo of one of two leaves the note for the other", async () => {
  const { tablet } = scene();
  const [first, second] = await unproved(tablet, 2);

  assert.equal(await takeOut(tablet.store, first.id), true);
  assert.deepEqual((await waiting(tablet.store)).map((one) => one.statement.body.entries ?? one.id), [second.id, [second.id]]);
});
