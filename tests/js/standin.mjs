/** A stand-in of the bench PC that keeps the contract of the push, and a network that misbehaves by a script. */
import { createHash } from "node:crypto";

const sha = (text) => createHash("sha256").update(text).digest("hex");

export class Bench {
  constructor() {
    this.epoch = "e1";
    this.log = [];
    this.aside = [];
    this.refuses = () => "";
    this.most = Infinity;
    this.pushes = 0;
  }

  get cursor() {
    const last = this.log[this.log.length - 1];
    return last ? { seq: last.seq, digest: last.digest } : { seq: 0, digest: "" };
  }

  answer({ method, path, body, epoch }) {
    const device = this.log[0]?.device ?? "tablet-000000000001";
    if (epoch !== this.epoch) return { status: 409, json: { code: "other_epoch", epoch: this.epoch, cursor: this.cursor } };
    if (method === "GET" && path === "/sync/cursors") return { status: 200, json: { epoch: this.epoch, cursors: { [device]: this.cursor } } };
    this.pushes += 1;
    const { entries } = JSON.parse(body);
    if (entries.length > this.most) return { status: 413, json: { code: "oversize" } };
    const receipts = entries.map((text) => this.#take(text));
    return { status: 200, json: { epoch: this.epoch, cursor: this.cursor, receipts } };
  }

  #take(text) {
    const entry = JSON.parse(text);
    const digest = sha(text);
    const refused = (code) => ({ id: entry.id, digest, verdict: "refused", code, words: `words of ${code}`, held_seq: this.cursor.seq });
    const code = this.refuses(entry);
    if (entry.person === this.waitsFor) return { ...refused("unknown_person"), verdict: "waits" };
    if (code) return refused(code);
    const held = this.log.find((one) => one.id === entry.id);
    if (held) return held.digest === digest ? { id: entry.id, digest, verdict: "already" } : this.#kept(text, refused("other_digest"));
    if (entry.seq > this.cursor.seq + 1) return refused("gap");
    if (entry.seq <= this.cursor.seq) return this.#kept(text, refused("chain_forked"));
    if (entry.prev !== this.cursor.digest) return this.#kept(text, refused("wrong_prev"));
    this.log.push({ ...entry, digest, text });
    return { id: entry.id, digest, verdict: "stored" };
  }

  #kept(text, receipt) {
    this.aside.push(text);
    return receipt;
  }
}

/**
 * Each request takes the next act of the script, "ok" once it is through.
 * Acts: ok, drop (never arrives), lose (arrives, answer lost), double, half, late (an old copy arrives
 * before this one), and a number for a status.
 */
export class Network {
  constructor(bench, acts = []) {
    this.bench = bench;
    this.acts = [...acts];
    this.held = [];
    this.send = async (asked) => this.#send(structuredClone(asked));
  }

  #send(asked) {
    const act = this.acts.shift() ?? "ok";
    if (typeof act === "number") return { status: act, json: act < 500 ? { code: act === 403 ? "revoked" : "bad_signature", words: "why" } : null };
    if (act === "drop") {
      this.held.push(asked);
      throw new TypeError("unreachable");
    }
    if (act === "late") for (const old of this.held.splice(0)) this.bench.answer(old);
    if (act === "double") this.bench.answer(asked);
    const answer = this.bench.answer(asked);
    this.held.push(asked);
    if (act === "lose") throw new TypeError("answer lost");
    if (act === "half" && answer.json.receipts) answer.json.receipts = answer.json.receipts.filter((_, n) => n % 2 === 0);
    return structuredClone(answer);
  }
}
