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

test("what was stated arrives once, in order and in one chain", async () => {
  const { bench, tablet } = scene();
  const said = await tablet.sayMany(5);

  assert.equal(await tablet.drain(), "done");

  assert.deepEqual(ids(bench.log), ids(said));
  assert.deepEqual(bench.log.map((one) => one.seq), [1, 2, 3, 4, 5]);
  assert.deepEqual(await tablet.left(), []);
});

test("more than a batch goes in several", async () => {
  const { bench, tablet } = scene();
  await tablet.sayMany(1203);

  await tablet.drain();

  assert.equal(bench.log.length, 1203);
  assert.equal(bench.pushes, 3);
});

for (const acts of [["drop", "drop"], ["lose"], ["double"], ["half", "half"], [500, 503, 502], ["lose", "late"], ["drop", "ok", "late"]]) {
  test(`nothing is lost and nothing comes twice when the network does: ${acts.join(", ")}`, async () => {
    const { bench, tablet } = scene(acts);
    const said = await tablet.sayMany(6);

    await drained(tablet);

    assert.deepEqual(ids(bench.log), ids(said));
    assert.deepEqual(bench.aside, []);
  });
}

for (const [status, code] of [[401, "bad_signature"], [403, "revoked"]]) {
  test(`a ${status} pauses, keeps everything and says so`, async () => {
    const { bench, tablet } = scene([status]);
    const said = await tablet.sayMany(2);

    assert.equal(await tablet.drain(), "paused");

    const told = await tally(tablet.store);
    assert.deepEqual([told.paused, told.words, told.waiting], [code, "why", 2]);
    assert.deepEqual(await tablet.left(), ids(said));
    assert.equal(await tablet.drain(), "done");
    assert.equal(bench.log.length, 2);
    assert.equal((await tally(tablet.store)).paused, "");
  });
}

test("a refused statement goes aside with its words and the later ones are sealed anew", async () => {
  const { bench, tablet } = scene();
  bench.refuses = (entry) => (entry.body.remark === "mark 1" ? "unknown_person" : "");
  const said = await tablet.sayMany(4);

  await drained(tablet);

  assert.deepEqual(ids(bench.log), [said[0].id, said[2].id, said[3].id]);
  assert.deepEqual(bench.log.map((one) => one.seq), [1, 2, 3]);
  const [refused] = await tablet.store.all("refused");
  assert.deepEqual([refused.id, refused.code, refused.words], [said[1].id, "unknown_person", "words of unknown_person"]);
});

test("a statement that waits for its person stays sealed, with the words, and goes once it may", async () => {
  const { bench, tablet } = scene();
  bench.waitsFor = "NEW";
  const said = [await tablet.say("a"), await tablet.say("b", { person: "NEW" }), await tablet.say("c")];

  assert.equal(await tablet.drain(), "again");

  const told = await tally(tablet.store);
  assert.deepEqual([told.waiting, told.paused, told.words], [2, "unknown_person", "words of unknown_person"]);
  bench.waitsFor = "";
  await drained(tablet);
  assert.deepEqual(ids(bench.log), ids(said));
  assert.deepEqual(bench.log.map((one) => one.seq), [1, 2, 3]);
});

test("a refused statement put right keeps its id and is taken", async () => {
  const { bench, tablet } = scene();
  bench.refuses = (entry) => (entry.person === "GONE" ? "unknown_person" : "");
  const [said] = [await tablet.say("a", { person: "GONE" })];
  await drained(tablet);

  await repair(tablet.here, said.id, { person: "TEC" });
  await drained(tablet);

  assert.deepEqual(bench.log.map((one) => [one.id, one.person]), [[said.id, "TEC"]]);
  assert.equal(await tablet.store.count("refused"), 0);
});

test("a refused statement dropped is gone", async () => {
  const { bench, tablet } = scene();
  bench.refuses = () => "not_allowed";
  const said = await tablet.say("a");
  await drained(tablet);

  await dropRefused(tablet.store, said.id);

  assert.equal((await tally(tablet.store)).refused, 0);
  assert.deepEqual(await tablet.left(), []);
});

test("a restored bench of a new epoch is refilled from the copies", async () => {
  const { bench, tablet } = scene();
  const first = await tablet.sayMany(7);
  await drained(tablet);
  bench.log.length = 3;
  bench.epoch = "e2";
  const later = await tablet.say("later");

  await drained(tablet);

  assert.deepEqual(ids(bench.log), ids([...first, later]));
  assert.equal((await tablet.store.get("meta", "device")).epoch, "e2");
});

test("a bench that lost entries without a new epoch is refilled too", async () => {
  const { bench, tablet } = scene();
  const first = await tablet.sayMany(4);
  await drained(tablet);
  bench.log.length = 1;
  const later = await tablet.say("later");

  await drained(tablet);

  assert.deepEqual(ids(bench.log), ids([...first, later]));
});

test("where the copies are gone nothing is sent, nothing is dropped and it is said", async () => {
  const { bench, tablet } = scene();
  await tablet.sayMany(4);
  await drained(tablet);
  tablet.ms += KEEP_COPIES_MS + 1000;
  await tablet.say("next");
  await drained(tablet);
  await tablet.drain();
  bench.log.length = 0;
  bench.epoch = "e2";
  const later = await tablet.say("later");

  assert.equal(await tablet.drain(), "paused");

  assert.equal((await tally(tablet.store)).paused, "copies_gone");
  assert.deepEqual(await tablet.left(), [later.id]);
});

test("a bench that always names another epoch is asked later, not for ever", async () => {
  const { bench, tablet } = scene();
  await tablet.say("a");
  bench.answer = () => ({ status: 409, json: { code: "other_epoch", epoch: "x", cursor: { seq: 0, digest: "" } } });

  assert.equal(await tablet.drain(), "again");
  assert.equal((await tablet.left()).length, 1);
});

test("too heavy a batch is cut until it fits", async () => {
  const { bench, tablet } = scene();
  bench.most = 3;
  const said = await tablet.sayMany(8);

  await drained(tablet);

  assert.deepEqual(ids(bench.log), ids(said));
});

test("receipts of another digest remove nothing", async () => {
  const { bench, tablet } = scene();
  const said = await tablet.say("a");
  const honest = bench.answer.bind(bench);
  bench.answer = (asked) => {
    const answer = honest(asked);
    for (const one of answer.json.receipts ?? []) one.digest = "0".repeat(64);
    return answer;
  };

  assert.equal(await tablet.drain(), "again");
  assert.deepEqual(await tablet.left(), [said.id]);
});

test("a forked chain is sealed anew after what the bench holds", async () => {
  const { bench, tablet } = scene();
  bench.log.push({ id: "another", seq: 1, digest: "a".repeat(64) });
  const said = await tablet.sayMany(3);

  await drained(tablet);

  assert.deepEqual(ids(bench.log), ["another", ...ids(said)]);
});

test("a power cut at any write loses nothing", async () => {
  for (let cut = 0; cut < 14; cut += 1) {
    const { bench, tablet } = scene(["lose"]);
    bench.refuses = (entry) => (entry.body.remark === "mark 2" ? "not_allowed" : "");
    const said = await tablet.sayMany(5);
    tablet.store.cutAfter = cut;
    for (let n = 0; n < 3; n += 1) await tablet.drain().catch(() => {});
    tablet.store.cutAfter = Infinity;

    await drained(tablet);

    const held = [...ids(bench.log), ...ids(await tablet.store.all("refused"))].sort();
    assert.deepEqual(held, ids(said).sort(), `cut at write ${cut}`);
  }
});

test("a thousand random weeks lose nothing and double nothing", async () => {
  const ACTS = ["ok", "ok", "drop", "lose", "double", "half", "late", 500, 401, 403];
  for (let seed = 1; seed <= 300; seed += 1) {
    const roll = chance(seed);
    const { bench, network, tablet } = scene([], { seed });
    bench.refuses = (entry) => (entry.body.remark.startsWith("bad") ? "not_allowed" : "");
    const said = [];
    for (let n = 0; n < 30; n += 1) {
      const what = roll();
      if (what < 0.5) said.push(await tablet.say(`${roll() < 0.1 ? "bad" : "mark"} ${n}`));
      else if (what < 0.55) bench.log.length = Math.floor(bench.log.length * roll()), bench.epoch = `e${seed}-${n}`;
      else {
        network.acts = Array.from({ length: 3 }, () => ACTS[Math.floor(roll() * ACTS.length)]);
        await tablet.drain();
      }
    }
    network.acts = [];
    // A bench restored once more learns it by the next statement.
    said.push(await tablet.say("last"));
    await drained(tablet);

    const held = [...ids(bench.log), ...ids(await tablet.store.all("refused"))];
    assert.deepEqual(held.sort(), ids(said).sort(), `seed ${seed}`);
  }
});
