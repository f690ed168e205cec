// The device's own store: one IndexedDB database per member, so that two people
// who share a phone never see or send each other's sessions.
//
// sessions  every session this device recorded, changed or deleted, by id; see
//           outbox.js for what a record holds
// cache     the last answers of the service, by path: { path, body, etag, at }
// drafts    what a coach wrote and the service does not have yet, by id; see
//           desk/draft.js for what a record holds

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
  if (!member) return Promise.reject(new Error("nobody is signed in on this device"));
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

/** wipe deletes all that the device keeps of the member. */
export async function wipe() {
  const member = whose.peek();
  if (!member) return;
  (await opening)?.close();
  opening = null;
  await deleteDB(nameOf(member));
  for (const key of Object.keys(localStorage)) {
    if (key.startsWith("fringework.")) localStorage.removeItem(key);
  }
}

/**
 * write puts a record so that it survives a phone that dies the next moment, and
 * only then returns.
 */
export async function write(store, record) {
  const tx = (await open()).transaction(store, "readwrite", { durability: "strict" });
  await Promise.all([tx.store.put(record), tx.done]);
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
  const after = fn(before);
  if (after !== undefined) await tx.store.put(after);
  await tx.done;
  return after ?? before;
}
