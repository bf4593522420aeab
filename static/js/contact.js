// @ts-check
/** Asking the bench PC, and what is known of it: last contact, failures in a row, why sending rests. */

/**
 * @typedef {import("./outbox.js").Store} Store
 * @typedef {{status: number, json: any}} Answer json is null where the answer was none of ours
 * @typedef {(asked: {method: string, path: string, body: string, epoch: string}) => Promise<Answer>} Send
 * @typedef {{store: Store, send: Send, now: () => number, digestOf: (text: string) => Promise<string>}} Here
 * @typedef {{name: string, failed: number, paused: string, words: string, contact_ms: number | null}} State
 * @typedef {"done" | "again" | "paused"} Outcome
 */

const PAUSES = [401, 403];
/** @type {State} */
const FRESH = { name: "state", failed: 0, paused: "", words: "", contact_ms: null };

/**
 * @param {Here} here
 * @param {string} method
 * @param {string} path
 * @param {string} body
 * @returns {Promise<Answer>} status 0 where nobody answered
 */
export async function asked(here, method, path, body) {
  const { epoch } = await here.store.get("meta", "device");
  try {
    return await here.send({ method, path, body, epoch });
  } catch {
    return { status: 0, json: null };
  }
}

/**
 * @param {Here} here
 * @param {string[]} entries
 */
export async function push(here, entries) {
  const [{ device, epoch }, waiting] = await Promise.all([here.store.get("meta", "device"), here.store.count("outbox")]);
  const unsent = waiting + entries.length;
  return asked(here, "POST", "/sync/push", JSON.stringify({ device, epoch, unsent, entries }));
}

/**
 * @param {Here} here
 * @param {Answer} answer
 * @returns {Promise<Outcome>}
 */
export async function failedWith(here, answer) {
  const before = await stateOf(here.store);
  const paused = PAUSES.includes(answer.status) ? answer.json?.code || "not_known" : "";
  const contact_ms = answer.json ? here.now() : before.contact_ms;
  await note(here, { failed: before.failed + 1, paused, words: answer.json?.words ?? "", contact_ms });
  return paused ? "paused" : "again";
}

/**
 * @param {Here} here
 * @param {string} paused
 * @returns {Promise<Outcome>}
 */
export async function stopped(here, paused) {
  await note(here, { failed: (await stateOf(here.store)).failed + 1, paused, words: "", contact_ms: here.now() });
  return "paused";
}

/**
 * @param {Here} here
 * @param {{epoch?: string}} told
 */
export async function newEpoch(here, told) {
  const device = await here.store.get("meta", "device");
  if (typeof told?.epoch !== "string") return;
  await here.store.write([["put", "meta", { ...device, epoch: told.epoch }], ["put", "meta", { name: "refill" }]]);
}

/**
 * @param {Store} store
 * @returns {Promise<State>}
 */
export async function stateOf(store) {
  return (await store.get("meta", "state")) ?? FRESH;
}

/**
 * @param {Here} here
 * @param {Omit<State, "name">} state
 */
export function note(here, state) {
  return here.store.write([["put", "meta", { name: "state", ...state }]]);
}
