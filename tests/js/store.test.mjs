import assert from "node:assert/strict";
import { test } from "node:test";
import { NoStore, paired, TabletStore } from "../../static/js/store.js";

/** A handle whose transactions work or throw, by a script. */
function handle(script) {
  return {
    transaction(rooms, mode, options) {
      const act = script.shift() ?? "ok";
      if (act !== "ok") throw new DOMException("gone", act);
      const turn = { mode, options, objectStore: () => ({ put() {}, get() { const asked = { result: 7 }; queueMicrotask(() => asked.onsuccess?.()); return asked; } }) };
      queueMicrotask(() => queueMicrotask(() => turn.oncomplete?.()));
      handle.last = turn;
      return turn;
    },
  };
}

test("a handle found dead after the tablet slept is dropped and opened anew, once", async () => {
  let opened = 0;
  const store = new TabletStore(async () => { opened += 1; return handle(opened === 1 ? ["InvalidStateError"] : []); });

  assert.equal(await store.write([["put", "meta", { name: "a" }]]), true);
  assert.equal(opened, 2);
});

test("a handle that stays dead is said to be, and the next try opens again", async () => {
  let opened = 0;
  const store = new TabletStore(async () => { opened += 1; return handle(opened < 3 ? ["UnknownError"] : []); });

  await assert.rejects(store.get("meta", "a"), (error) => error instanceof NoStore && error.code === "dead");
  assert.equal(await store.get("meta", "a"), 7);
  assert.equal(opened, 3);
});

test("a full tablet is no dead handle", async () => {
  let opened = 0;
  const store = new TabletStore(async () => { opened += 1; return handle(["QuotaExceededError"]); });

  await assert.rejects(store.write([["put", "outbox", {}]]), { name: "QuotaExceededError" });
  assert.equal(opened, 1);
});

test("a write asks for strict durability", async () => {
  const store = new TabletStore(async () => handle([]));
  await store.write([["put", "outbox", {}]]);

  assert.deepEqual([handle.last.mode, handle.last.options], ["readwrite", { durability: "strict" }]);
});

test("a browser that keeps nothing says so", async () => {
  await assert.rejects(new TabletStore().get("meta", "a"), (error) => error instanceof NoStore && error.code === "none");
});

test("records that another page holds are not taken for a tablet that is not paired", async () => {
  const held = (code) => paired(new TabletStore(async () => { throw new NoStore(code); }));

  assert.deepEqual(await Promise.all(["blocked", "dead", "none"].map(held)), ["unknown", "unknown", false]);
});
