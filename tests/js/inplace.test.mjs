import assert from "node:assert/strict";
import { test } from "node:test";
import { inPlace } from "../../static/js/inplace.js";
import { state, waiting } from "../../static/js/outbox.js";
import { Bench, Network } from "./standin.mjs";
import { Tablet } from "./tablet.mjs";

const scene = (acts = []) => {
  const bench = new Bench();
  return { bench, tablet: new Tablet(new Network(bench, acts)) };
};

const said = (remark, more = {}) => ({ kind: "disturbed", case: "2345678K", setting: null, person: "TEC", supersedes: [], reason: "",
  body: { remark, what: "arm_moved" }, ...more });

/** One entry that the bench PC refused, with one behind it that names it. */
const refusedOne = async () => {
  const { bench, tablet } = scene();
  const first = await tablet.say("wrong");
  bench.refuses = (entry) => (entry.body.remark === "wrong" ? "bad" : "");
  await tablet.drain();
  return { bench, tablet, first };
};

test("what is stated in the place of a refused entry keeps its id and leaves nothing to attend to", async () => {
  const { bench, tablet, first } = await refusedOne();

  const [made] = await inPlace(tablet.here, first.id, [said("right")]);

  assert.equal(made.id, first.id);
  assert.deepEqual(await tablet.store.all("refused"), []);
  await tablet.drain();
  assert.deepEqual(bench.log.map((one) => [one.id, one.body.remark]), [[first.id, "right"]]);
});

test("a tablet that dies in between holds the refused entry or the new one, never both and never none", async () => {
  for (let cut = 0; cut < 3; cut += 1) {
    const { tablet, first } = await refusedOne();
    tablet.store.cutAfter = cut;
    await inPlace(tablet.here, first.id, [said("right")]).catch(() => {});
    tablet.store.cutAfter = Infinity;

    const held = [...await tablet.store.all("refused"), ...await waiting(tablet.store)].map((one) => one.statement.body.remark);
    assert.deepEqual(held, cut === 0 ? ["wrong"] : ["right"]);
  }
});

test("what is stated meanwhile has ids of its own, in order after the old one", async () => {
  const { tablet, first } = await refusedOne();

  const [, beside] = await inPlace(tablet.here, first.id, [said("right"), said("beside")]);
  const next = await tablet.say("next");

  assert.ok(first.id < beside.id && beside.id < next.id);
});

test("an entry not sent yet is changed where it lies, at the setting of its time", async () => {
  const { bench, tablet } = scene();
  const mounted = await tablet.say("m", { kind: "mounted" });
  const read = await tablet.say("wrong", { setting: mounted.id });
  const later = await tablet.say("later", { setting: mounted.id });

  await inPlace(tablet.here, read.id, [said("right", { setting: later.id })]);

  await tablet.drain();
  assert.deepEqual(bench.log.map((one) => [one.id, one.body.remark, one.setting]),
    [[mounted.id, "m", null], [read.id, "right", mounted.id], [later.id, "later", mounted.id]]);
});

test("an entry that corrects what was stated after it goes behind that", async () => {
  const { bench, tablet } = scene();
  const first = await tablet.say("a");
  const second = await tablet.say("b");

  await inPlace(tablet.here, first.id, [said("a as b", { supersedes: [second.id], reason: "again" })]);

  await tablet.drain();
  assert.deepEqual(bench.log.map((one) => one.body.remark), ["b", "a as b"]);
});

test("what was sent meanwhile is corrected by its name, with a reason", async () => {
  for (const acts of [[], ["lose"]]) {
    const { bench, tablet } = scene(acts);
    const sent = await tablet.say("wrong");
    await tablet.drain();

    const [made] = await inPlace(tablet.here, sent.id, [said("right")], [], true, "corrected");
    await tablet.drain();
    await tablet.drain();

    assert.deepEqual([made.supersedes, made.reason], [[sent.id], "corrected"]);
    assert.deepEqual(bench.log.map((one) => one.body.remark), ["wrong", "right"]);
  }
});

test("a setting that was sent is not corrected: the new one follows it", async () => {
  const { tablet } = scene();
  const sent = await tablet.say("m", { kind: "mounted" });
  await tablet.drain();

  const [made] = await inPlace(tablet.here, sent.id, [said("again", { kind: "mounted" })], [], true, "corrected");

  assert.deepEqual([made.supersedes, made.reason], [[], ""]);
});

test("what was withdrawn in another tab meanwhile is stated as if it had never been", async () => {
  const { bench, tablet, first } = await refusedOne();
  await tablet.store.write([["delete", "refused", first.id]]);

  const [made] = await inPlace(tablet.here, first.id, [said("right")]);

  assert.notEqual(made.id, first.id);
  await tablet.drain();
  assert.equal(bench.log.length, 1);
});

test("the note of an unproved person goes with the new words, once", async () => {
  const { tablet } = scene();
  const [first, note] = await state(tablet.here, [said("wrong")], [], false);

  await inPlace(tablet.here, first.id, [said("right")], [], false);

  const rows = await waiting(tablet.store);
  assert.deepEqual(rows.map((one) => one.statement.kind), ["disturbed", "person_unconfirmed"]);
  assert.notEqual(rows[1].id, note.id);
});

test("changing and sealing at the same moment never lose and never double", async () => {
  for (let turns = 0; turns < 40; turns += 1) {
    const { bench, tablet } = scene();
    const made = [await tablet.say("a"), await tablet.say("b")];
    const draining = tablet.drain();
    for (let n = 0; n < turns; n += 1) await Promise.resolve();
    await inPlace(tablet.here, made[0].id, [said("a put right")], [], true, "corrected");
    await draining;
    await tablet.drain();

    const last = bench.log[bench.log.length - 1];
    const corrected = bench.log.length === 3 && last.supersedes[0] === made[0].id;
    assert.ok(corrected || bench.log.length === 2 && bench.log[0].id === made[0].id, `after ${turns} turns`);
    assert.ok(bench.log.some((one) => one.body.remark === "a put right"));
  }
});

test("a photo that another takes the place of is not sent any more", async () => {
  const { tablet } = scene();
  const photo = (sha) => ({ kind: "photo_kept", body: { sha256: sha, shows: "tripod" } });
  const first = await tablet.say("", photo("old"));
  await tablet.store.write([["put", "photos", { sha: "old" }], ["put", "photos", { sha: "new" }]]);

  await inPlace(tablet.here, first.id, [said("", photo("new"))]);

  assert.deepEqual((await tablet.store.all("photos")).map((one) => one.sha), ["new"]);
});
