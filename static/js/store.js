// @ts-check
/** What this tablet keeps for good: the only file that says indexedDB. Every write is awaited to the disk. */

/** @typedef {import("./outbox.js").Op} Op */

const NAME = "tiltbook";
const VERSION = 1;
/** @type {Record<string, IDBObjectStoreParameters>} */
const ROOMS = {
  meta: { keyPath: "name" }, outbox: { keyPath: "n", autoIncrement: true }, envelopes: { keyPath: "seq" },
  copies: { keyPath: "seq" }, refused: { keyPath: "id" }, drafts: { keyPath: "key" }, photos: { keyPath: "sha" },
};
const DEAD = ["InvalidStateError", "UnknownError", "AbortError", "TransactionInactiveError"];
const BLOCKED_MS = 4000;

/** The store cannot be had: `code` is "none", "blocked" or "dead". */
export class NoStore extends Error {
  /** @param {string} code */
  constructor(code) {
    super(code);
    this.code = code;
  }
}

/** @returns {Promise<IDBDatabase>} */
function opened() {
  return new Promise((done, failed) => {
    if (!globalThis.indexedDB) return failed(new NoStore("none"));
    const asked = globalThis.indexedDB.open(NAME, VERSION);
    const late = setTimeout(() => failed(new NoStore("blocked")), BLOCKED_MS);
    asked.onupgradeneeded = () => {
      for (const [room, options] of Object.entries(ROOMS)) {
        if (!asked.result.objectStoreNames.contains(room)) asked.result.createObjectStore(room, options);
      }
    };
    asked.onerror = () => failed(asked.error ?? new NoStore("none"));
    asked.onsuccess = () => {
      clearTimeout(late);
      // A page of a newer version waits for this one to let go.
      asked.result.onversionchange = () => asked.result.close();
      done(asked.result);
    };
  });
}

/** The store of this tablet; a handle found dead after the tablet slept is opened anew, once. */
export class TabletStore {
  /** @param {() => Promise<IDBDatabase>} open */
  constructor(open = opened) {
    this.open = open;
    /** @type {Promise<IDBDatabase> | null} */
    this.handle = null;
    /** @type {Set<string>} */
    this.written = new Set();
  }

  /**
   * @template T
   * @param {(db: IDBDatabase) => Promise<T>} work
   * @returns {Promise<T>}
   */
  async #with(work) {
    try {
      return await work(await this.#db());
    } catch (error) {
      if (!DEAD.includes(/** @type {Error} */ (error)?.name)) throw error;
      this.handle = null;
      try {
        return await work(await this.#db());
      } catch (again) {
        this.handle = null;
        throw DEAD.includes(/** @type {Error} */ (again)?.name) ? new NoStore("dead") : again;
      }
    }
  }

  #db() {
    this.handle ??= this.open().catch((error) => {
      this.handle = null;
      throw error;
    });
    return this.handle;
  }

  /**
   * @param {string} room
   * @param {any} key
   * @returns {Promise<any>}
   */
  get(room, key) {
    return this.#read(room, (rows) => rows.get(key));
  }

  /**
   * @param {string} room
   * @returns {Promise<any[]>}
   */
  all(room) {
    return this.#read(room, (rows) => rows.getAll());
  }

  /**
   * @param {string} room
   * @param {number} count
   * @returns {Promise<any[]>}
   */
  first(room, count) {
    return this.#read(room, (rows) => rows.getAll(null, count));
  }

  /**
   * @param {string} room
   * @returns {Promise<number>}
   */
  count(room) {
    return this.#read(room, (rows) => rows.count());
  }

  /**
   * Everything in several rooms as it was at one moment, so that nothing on its way between two is missed.
   * @param {string[]} rooms
   * @returns {Promise<any[][]>}
   */
  atOnce(rooms) {
    return this.#with((db) => {
      const turn = db.transaction(rooms);
      return Promise.all(rooms.map((room) => new Promise((/** @type {(rows: any[]) => void} */ done, failed) => {
        const asked = turn.objectStore(room).getAll();
        asked.onsuccess = () => done(asked.result);
        asked.onerror = () => failed(asked.error);
      })));
    });
  }

  /**
   * @param {string} room
   * @param {(rows: IDBObjectStore) => IDBRequest} ask
   * @returns {Promise<any>}
   */
  #read(room, ask) {
    return this.#with((db) => new Promise((done, failed) => {
      const asked = ask(db.transaction(room).objectStore(room));
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => failed(asked.error);
    }));
  }

  /** The rooms written to since this was asked last. */
  roomsWritten() {
    const rooms = [...this.written];
    this.written.clear();
    return rooms;
  }

  /**
   * Do all writes or none; when this returns they are on the disk.
   * @param {Op[]} ops
   * @param {number} [edits] what the counter of edits has to be still; it is counted on
   * @returns {Promise<boolean>} false when somebody else edited meanwhile
   */
  write(ops, edits) {
    return this.#with((db) => new Promise((done, failed) => {
      const rooms = [...new Set([...ops.map(([, room]) => room), ...(edits === undefined ? [] : ["meta"])])];
      const turn = db.transaction(rooms, "readwrite", { durability: "strict" });
      for (const room of rooms) this.written.add(room);
      let kept = true;
      turn.oncomplete = () => done(kept);
      turn.onabort = () => (kept ? failed(turn.error ?? new DOMException("", "AbortError")) : done(false));
      if (edits === undefined) return apply(turn, ops);
      const counter = turn.objectStore("meta").get("edits");
      counter.onsuccess = () => {
        if ((counter.result?.n ?? 0) === edits) {
          return apply(turn, [...ops, ["put", "meta", { name: "edits", n: edits + 1 }]]);
        }
        kept = false;
        return turn.abort();
      };
    }));
  }
}

/**
 * @param {IDBTransaction} turn
 * @param {Op[]} ops
 */
function apply(turn, ops) {
  for (const [what, room, value, high] of ops) {
    const rows = turn.objectStore(room);
    if (what === "put") rows.put(value);
    else rows.delete(what === "delete" ? value : IDBKeyRange.bound(value, high));
  }
}

export const store = new TabletStore();

/**
 * Whether this tablet is paired with a bench PC; false too where nothing can be kept at all. "unknown" where
 * another page holds the records in an older version, or the tablet does not give them out just now.
 * @param {TabletStore} kept
 * @returns {Promise<boolean | "unknown">}
 */
export async function paired(kept = store) {
  try {
    return Boolean(await kept.get("meta", "device"));
  } catch (error) {
    return error instanceof NoStore && error.code !== "none" ? "unknown" : false;
  }
}
