/** A tablet for tests: a store, a clock that a test turns, chance from a seed. */
import { digestOf } from "../../static/js/canonical.js";
import { drain } from "../../static/js/drain.js";
import { state, waiting } from "../../static/js/outbox.js";
import { MemoryStore } from "./memorystore.mjs";

export function chance(seed) {
  let at = seed >>> 0;
  return () => {
    at = (at + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(at ^ (at >>> 15), at | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
}

export class Tablet {
  constructor(network, { device = "tablet-000000000001", seed = 7 } = {}) {
    this.store = new MemoryStore();
    this.ms = 1_773_043_200_000;
    this.roll = chance(seed);
    this.here = {
      store: this.store, send: network.send, now: () => (this.ms += 1), digestOf,
      random: (count) => Uint8Array.from({ length: count }, () => Math.floor(this.roll() * 256)),
    };
    this.store.rooms.meta.set("device", { name: "device", device, epoch: "e1" });
  }

  async say(remark, more = {}) {
    const said = { kind: "disturbed", case: "2345678K", setting: null, person: "TEC", supersedes: [], reason: "",
      body: { remark, what: "table_moved" }, ...more };
    return (await state(this.here, [said]))[0];
  }

  async sayMany(count) {
    const made = [];
    for (let n = 0; n < count; n += 1) made.push(await this.say(`mark ${n}`));
    return made;
  }

  drain() {
    return drain(this.here);
  }

  async left() {
    return (await waiting(this.store)).map((one) => one.id);
  }
}
