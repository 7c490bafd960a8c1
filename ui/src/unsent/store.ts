/**
 * What waits on this device, in IndexedDB: the heads in order, the fields apart from them so that
 * a list never loads photographs, and one lease so that two tabs never send at once (Web Locks do
 * not exist on plain http addresses).
 */

/** One field of a waiting entry, as the form would have posted it. */
export type Field =
  | { name: string; value: string }
  | { name: string; file: string; type: string; bytes: ArrayBuffer };

/** Why the server would not take an entry, in its own words. */
export interface Refusal {
  status: number;
  say: string;
}

/** The head of one waiting entry. */
export interface Waiting {
  /** Place in the queue, given by the store. */
  order: number;
  /** The identifier that makes a repeat harmless. */
  entry: string;
  action: string;
  label: string;
  /** When it was typed, ISO. */
  made: string;
  /** Bytes of all its fields. */
  bytes: number;
  /** How often it alone did not get through. */
  tries: number;
  refused?: Refusal;
}

export const MOST_ENTRIES = 200;
export const MOST_BYTES = 300_000_000;

/** The queue is at its limit; the message says which, in words. */
export class Full extends Error {}

let opened: Promise<IDBDatabase> | undefined;

function database(): Promise<IDBDatabase> {
  opened ??= new Promise((resolve, reject) => {
    const request = indexedDB.open("guidecoat", 1);
    request.onupgradeneeded = () => {
      const heads = request.result.createObjectStore("waiting", { keyPath: "order", autoIncrement: true });
      heads.createIndex("entry", "entry", { unique: true });
      request.result.createObjectStore("fields");
      request.result.createObjectStore("lease");
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
    request.onblocked = () => reject(new Error("another tab holds an older store open"));
  });
  opened.catch(() => (opened = undefined));
  return opened;
}

function answer<T>(request: IDBRequest<T>): Promise<T> {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

type Stores = (name: "waiting" | "fields" | "lease") => IDBObjectStore;

/** Runs `work` in one transaction and resolves when that has reached the disk. */
async function within<T>(mode: IDBTransactionMode, work: (store: Stores) => Promise<T>): Promise<T> {
  const transaction = (await database()).transaction(["waiting", "fields", "lease"], mode, { durability: "strict" });
  const done = new Promise<void>((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = () => reject(transaction.error ?? new Error("the store gave up"));
  });
  try {
    const result = await work((name) => transaction.objectStore(name));
    await done;
    return result;
  } catch (problem) {
    done.catch(() => {}); // the first problem is the one to tell
    try {
      transaction.abort();
    } catch {
      // it has ended already
    }
    throw problem;
  }
}

/** All waiting entries, in order. */
export function list(): Promise<Waiting[]> {
  return within("readonly", (store) => answer<Waiting[]>(store("waiting").getAll()));
}

/** The waiting entry with this identifier. */
export function find(entry: string): Promise<Waiting | undefined> {
  return within("readonly", (store) => answer<Waiting | undefined>(store("waiting").index("entry").get(entry)));
}

/** The fields of one waiting entry; none when it has gone meanwhile. */
export function fieldsOf(order: number): Promise<Field[] | undefined> {
  return within("readonly", (store) => answer<Field[] | undefined>(store("fields").get(order)));
}

/**
 * Puts an entry at the end, in place of one with the same identifier (refused, then put right);
 * rejects with `Full` at the limits, and then changes nothing.
 */
export function add(head: Omit<Waiting, "order" | "tries">, fields: Field[]): Promise<void> {
  return within("readwrite", async (store) => {
    await takeOff(store, head.entry);
    const before = await answer<Waiting[]>(store("waiting").getAll());
    if (before.length >= MOST_ENTRIES) throw new Full(`${before.length} entries wait already, and no more are held`);
    const held = before.reduce((sum, one) => sum + one.bytes, 0);
    if (held + head.bytes > MOST_BYTES) throw new Full("the photographs that wait fill all the room there is");
    const order = await answer(store("waiting").add({ ...head, tries: 0 }));
    await answer(store("fields").put(fields, order));
  });
}

/** Writes a head back, unless the entry has gone meanwhile. */
export function update(head: Waiting): Promise<void> {
  return within("readwrite", async (store) => {
    if (await answer(store("waiting").getKey(head.order))) await answer(store("waiting").put(head));
  });
}

/** Takes the entry with this identifier off the queue, if it is on it. */
export function remove(entry: string): Promise<void> {
  return within("readwrite", (store) => takeOff(store, entry));
}

async function takeOff(store: Stores, entry: string): Promise<void> {
  const order = await answer(store("waiting").index("entry").getKey(entry));
  if (order === undefined) return;
  await answer(store("waiting").delete(order));
  await answer(store("fields").delete(order));
}

/** A sender that is alive renews its lease well within this time. */
const LEASE_MS = 15_000;
export const RENEW_MS = 5_000;
/** Left behind by a page on its way out, when there is no time for the database. */
const LEFT = "guidecoat.left";

/** Takes or renews the right to send; false while another page has it. */
export function lease(holder: string): Promise<boolean> {
  return within("readwrite", async (store) => {
    const now = Date.now();
    const held = await answer<{ holder: string; until: number } | undefined>(store("lease").get("send"));
    // An end too far off comes from a clock that was put back.
    const alive = held && held.until > now && held.until <= now + LEASE_MS;
    if (alive && held.holder !== holder && held.holder !== left()) return false;
    await answer(store("lease").put({ holder, until: now + LEASE_MS }, "send"));
    return true;
  });
}

/** Gives the right to send back, if it is still ours. */
export function release(holder: string): Promise<void> {
  return within("readwrite", async (store) => {
    const held = await answer<{ holder: string } | undefined>(store("lease").get("send"));
    if (held?.holder === holder) await answer(store("lease").delete("send"));
  });
}

/** The same, at once, from a page that is being left. */
export function leave(holder: string): void {
  try {
    localStorage.setItem(LEFT, holder);
  } catch {
    // Without it the next page waits until the lease runs out.
  }
}

function left(): string | null {
  try {
    return localStorage.getItem(LEFT);
  } catch {
    return null;
  }
}
