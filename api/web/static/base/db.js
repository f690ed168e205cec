// The device's own store: one IndexedDB database per member, so that two people
// who share a phone never see or send each other's sessions, and a small one
// that says who is at the device. README.md tells what is in them.

import { signal } from "./ui.js";

const VERSION = 3;

/** whose is the member whose database is in use; null for nobody. */
export const whose = signal(null);

/** asked is a promise of what a request gives. */
export const asked = (request) => new Promise((done, fail) => {
  request.onsuccess = () => done(request.result);
  request.onerror = () => fail(request.error);
});

function opened(name, version, upgrade) {
  const request = indexedDB.open(name, version);
  request.onupgradeneeded = ({ oldVersion }) => upgrade(request.result, oldVersion);
  return asked(request).then((db) => {
    db.onversionchange = () => db.close(); // another tab wipes or upgrades it
    return db;
  });
}

let opening = null; // promise of the open database

/** use names the member whose database is meant from now on; null for nobody. */
export function use(id) {
  if (id === whose.peek()) return;
  opening?.then((db) => db.close(), () => {});
  opening = null;
  whose.value = id;
}

/** open gives the member's database. It throws when nobody is at the device. */
function open() {
  const member = whose.peek();
  if (!member) return Promise.reject(Object.assign(new Error("Nobody is signed in on this device."), { known: true }));
  opening ??= opened(nameOf(member), VERSION, (db, before) => {
    if (before < 1) {
      db.createObjectStore("sessions", { keyPath: "id" }).createIndex("unsent", "unsent");
      db.createObjectStore("cache", { keyPath: "path" });
    }
    if (before < 2) db.createObjectStore("drafts", { keyPath: "id" });
    if (before < 3) db.createObjectStore("turns"); // a session's id and the number of each writing
  });
  return opening;
}

/** nameOf names the database of a member. */
export const nameOf = (id) => `fringework.${id}`;

const device = opened("fringework", 1, (db) => db.createObjectStore("device"));

/** recall gives what the device remembers under a name; null when nothing. */
export async function recall(name) {
  try {
    return (await asked((await device).transaction("device").objectStore("device").get(name))) ?? null;
  } catch {
    return null; // a browser that keeps nothing, as some do in private windows
  }
}

/** remember keeps each value under its name, all or none, and forgets those that are null. */
export async function remember(values) {
  try {
    await written(await device, "device", ({ store }) => Object.entries(values).map(([name, value]) => (value === null ? store.delete(name) : store.put(value, name))));
  } catch (e) {
    console.warn("not remembered:", e.message);
  }
}

/** forgetPeople forgets who is at the device, and who was. */
export const forgetPeople = async () => written(await device, "device", ({ store }) => store.delete(IDBKeyRange.bound("who", "who/")));

/**
 * writing begins a transaction that survives a phone that dies the next moment.
 * Each writing of a session has its turn, by which changeFrom knows of the others.
 */
function writing(db, name) {
  const tx = db.transaction(name === "sessions" ? [name, "turns"] : name, "readwrite", { durability: "strict" });
  const done = new Promise((done, fail) => {
    tx.oncomplete = done;
    tx.onabort = () => fail(tx.error ?? new Error("It was not saved on this device."));
  });
  done.catch(() => {}); // whoever waits for it is told
  const store = tx.objectStore(name);
  const turns = name === "sessions" && tx.objectStore("turns");
  const turn = (id, number) => {
    if (!turns) return;
    turns.put(1, [id, number]);
    turns.delete(IDBKeyRange.bound([id], [id, number - TURNS]));
  };
  return { tx, done, store, turns, turn };
}

/** TURNS is how many turns of a session are kept: no tab is further behind, as they tell each other. */
const TURNS = 20;

/** written makes the requests of fn(tx), and waits until they are kept. */
async function written(db, name, fn) {
  const tx = writing(db, name);
  fn(tx);
  await tx.done;
}

/** write keeps a record, and gives it as it was written once it is. */
export async function write(name, record) {
  const after = counted(record, record);
  await written(await open(), name, ({ store, turn }) => {
    store.put(after);
    turn(after.id, after.writes);
  });
  return after;
}

const reading = async (name) => (await open()).transaction(name).objectStore(name);

/** read gives a record by its key; undefined when there is none. */
export const read = async (name, key) => asked((await reading(name)).get(key));

/** readAll gives all records of a store in order of their keys. */
export const readAll = async (name) => asked((await reading(name)).getAll());

/** unsent gives the sessions that the service has not taken. */
export const unsent = async () => asked((await reading("sessions")).index("unsent").getAll(1));

/** remove deletes a record; what another tab still knows of it does not bring it back. */
export async function remove(name, key) {
  const { done, store, turn } = writing(await open(), name);
  const before = await asked(store.get(key));
  store.delete(key);
  turn(key, (before?.writes ?? 0) + 1);
  await done;
}

/**
 * change replaces a record by fn of it, in one transaction; fn must not wait
 * for anything but may give undefined to leave the record alone. It gives what
 * stands.
 */
export async function change(name, key, fn) {
  const { done, store, turn } = writing(await open(), name);
  const before = await asked(store.get(key));
  const after = counted(before, fn(before));
  if (after) {
    store.put(after);
    turn(key, after.writes);
  }
  await done;
  return after ?? before;
}

/**
 * changeFrom is change of a session for whoever knows what stands: it writes
 * fn(known) unread, and begins anew when another tab has had that turn. It saves
 * a tap the wait for the reading; fn may be called twice.
 */
export async function changeFrom(known, fn) {
  const after = counted(known, fn(known));
  if (after === undefined) return known;
  const { tx, done, store, turns } = writing(await open(), "sessions");
  turns.add(1, [known.id, after.writes]); // fails when it was had, and the rest with it
  store.put(after);
  tx.commit?.(); // there is nothing more to ask
  try {
    await done;
    return after;
  } catch (e) {
    if (e.name !== "ConstraintError") throw e;
    return change("sessions", known.id, fn);
  }
}

/** counted counts how often a record was written, by which changeFrom knows it. */
const counted = (before, after) => after && { ...after, writes: (before?.writes ?? 0) + 1 };
