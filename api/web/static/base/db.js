// The device's own store: one IndexedDB database per member, so that two people
// who share a phone never see or send each other's sessions, and a small one
// that says who is at the device. README.md tells what is in them.

import { deleteDB, openDB } from "idb";
import { signal } from "./ui.js";

const VERSION = 2;

/** whose is the member whose database is in use; null for nobody. */
export const whose = signal(null);

let opening = null; // promise of the open database

/** use names the member whose database is meant from now on; null for nobody. */
export function use(id) {
  if (id === whose.peek()) return;
  opening?.then((db) => db.close());
  opening = null;
  whose.value = id;
}

/** open gives the member's database. It throws when nobody is at the device. */
export function open() {
  const member = whose.peek();
  if (!member) return Promise.reject(Object.assign(new Error("Nobody is signed in on this device."), { known: true }));
  opening ??= openDB(nameOf(member), VERSION, {
    upgrade(db, before) {
      if (before < 1) {
        const sessions = db.createObjectStore("sessions", { keyPath: "id" });
        sessions.createIndex("unsent", "unsent");
        db.createObjectStore("cache", { keyPath: "path" });
      }
      if (before < 2) db.createObjectStore("drafts", { keyPath: "id" });
    },
    blocking(_, __, event) {
      event.target.close(); // another tab wipes or upgrades it
    },
  });
  return opening;
}

function nameOf(id) {
  return `fringework.${id}`;
}

/** wipe deletes all that the device keeps of the member; nobody is at it then. */
export async function wipe() {
  const member = whose.peek();
  if (!member) return;
  use(null); // nothing may open it again meanwhile
  await deleteDB(nameOf(member));
  for (const key of Object.keys(localStorage)) {
    if (key.startsWith("fringework.")) localStorage.removeItem(key);
  }
}

const device = openDB("fringework", 1, {
  upgrade(db) {
    db.createObjectStore("device");
  },
});

/** recall gives what the device remembers under a name; null when nothing. */
export async function recall(name) {
  try {
    return (await (await device).get("device", name)) ?? null;
  } catch {
    return null; // a browser that keeps nothing, as some do in private windows
  }
}

/** remember keeps a value under a name, and forgets it when it is null. */
export async function remember(name, value) {
  try {
    const tx = (await device).transaction("device", "readwrite", { durability: "strict" });
    await Promise.all([value === null ? tx.store.delete(name) : tx.store.put(value, name), tx.done]);
  } catch (e) {
    console.warn("not remembered:", e.message);
  }
}

/**
 * write puts a record so that it survives a phone that dies the next moment, and
 * only then gives it as it was written.
 */
export async function write(store, record) {
  const written = counted(record, record);
  const tx = (await open()).transaction(store, "readwrite", { durability: "strict" });
  await Promise.all([tx.store.put(written), tx.done]);
  return written;
}

/** read gives a record by its key; undefined when there is none. */
export const read = async (store, key) => (await open()).get(store, key);

/** readAll gives all records of a store in order of their keys. */
export const readAll = async (store) => (await open()).getAll(store);

/** remove deletes a record. */
export const remove = async (store, key) => (await open()).delete(store, key);

/**
 * change replaces a record by fn of it, in one transaction; fn must not wait
 * for anything but may give undefined to leave the record alone. It gives what
 * stands.
 */
export async function change(store, key, fn) {
  const tx = (await open()).transaction(store, "readwrite", { durability: "strict" });
  const before = await tx.store.get(key);
  const after = counted(before, fn(before));
  if (after !== undefined) await tx.store.put(after);
  await tx.done;
  return after ?? before;
}

/**
 * changeFrom is change for whoever knows what stands: it writes fn(known) in the
 * same breath as it looks whether known still stands, and begins anew when that
 * has changed. It saves a tap the wait for the reading; fn may be called twice.
 */
export async function changeFrom(known, store, key, fn) {
  const after = counted(known, fn(known));
  if (after === undefined) return known;
  const tx = (await open()).transaction(store, "readwrite", { durability: "strict" });
  const reading = tx.store.get(key);
  const writing = tx.store.put(after).catch(() => {}); // fails when aborted
  if ((await reading)?.writes === known.writes) {
    await Promise.all([writing, tx.done]);
    return after;
  }
  tx.abort();
  await tx.done.catch(() => {});
  return change(store, key, fn);
}

/** counted counts how often a record was written, by which changeFrom knows it. */
const counted = (before, after) => after && { ...after, writes: (before?.writes ?? 0) + 1 };
