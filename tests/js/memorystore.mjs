/** A store in memory with the promises of the one in the browser, and a power cut at any write. */
const KEYS = { meta: "name", outbox: "n", envelopes: "seq", copies: "seq", refused: "id", photos: "sha" };

export class MemoryStore {
  constructor() {
    this.rooms = Object.fromEntries(Object.keys(KEYS).map((room) => [room, new Map()]));
    this.next = 1;
    this.cutAfter = Infinity;
  }

  async get(room, key) {
    return structuredClone(this.rooms[room].get(key));
  }

  async all(room) {
    return structuredClone([...this.rooms[room].entries()].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, value]) => value));
  }

  async atOnce(rooms) {
    return structuredClone(rooms.map((room) => [...this.rooms[room].entries()].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, value]) => value)));
  }

  async first(room, count) {
    return (await this.all(room)).slice(0, count);
  }

  async count(room) {
    return this.rooms[room].size;
  }

  async write(ops, edits) {
    if (this.cutAfter-- <= 0) throw new Error("power cut");
    const held = this.rooms.meta.get("edits")?.n ?? 0;
    if (edits !== undefined && edits !== held) return false;
    if (edits !== undefined) this.rooms.meta.set("edits", { name: "edits", n: held + 1 });
    for (const [what, room, value, high] of structuredClone(ops)) this.#apply(what, room, value, high);
    return true;
  }

  #apply(what, room, value, high) {
    const rows = this.rooms[room];
    if (what === "delete") rows.delete(value);
    if (what === "deleteRange") for (const key of [...rows.keys()]) if (key >= value && key <= high) rows.delete(key);
    if (what !== "put") return;
    if (room === "outbox" && value.n === undefined) value.n = this.next++;
    rows.set(value[KEYS[room]], value);
  }
}
