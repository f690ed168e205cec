// What this device keeps of everybody who was at it. One person may belong to two
// academies, and two people may share a phone; each member has a database of their
// own (db.js), which nobody but that member sends.

import { who } from "./account.js";
import { asked, forgetPeople, nameOf, recall, use, whose } from "./db.js";
import { count } from "./units.js";

/**
 * keptHere lists the members of whom something is kept that the service does not
 * have: { id, person, sessions, drafts }, with counts. person is what the device
 * remembers of them, null for those of long ago.
 */
export async function keptHere() {
  const all = await Promise.all((await names()).map(async (name) => {
    const id = name.slice(nameOf("").length);
    return { id, person: await recall(`who.${id}`), ...(await counts(name)) };
  }));
  return all.filter((m) => m.sessions + m.drafts > 0);
}

/** names lists the members' databases. */
async function names() {
  const found = new Set((await indexedDB.databases()).map((d) => d.name).filter((name) => name.startsWith(nameOf(""))));
  if (whose.peek()) found.add(nameOf(whose.peek()));
  return [...found];
}

/** counts looks into a database as it is, of whatever version. */
async function counts(name) {
  const request = indexedDB.open(name);
  request.onupgradeneeded = () => request.transaction.abort(); // there is none: make none
  const db = await asked(request).catch(() => null);
  if (!db) return { sessions: 0, drafts: 0 };
  const counted = async (store, of) => (db.objectStoreNames.contains(store) ? asked(of(db.transaction(store).objectStore(store))) : 0);
  try {
    return {
      sessions: await counted("sessions", (store) => store.index("unsent").count(1)),
      drafts: await counted("drafts", (store) => store.count()),
    };
  } finally {
    db.close();
  }
}

/** whatOf says what is kept of a member: "2 sessions not sent". */
export function whatOf({ sessions, drafts }) {
  return [sessions && `${count(sessions, "session")} not sent`, drafts && `${count(drafts, "draft")} not saved`].filter(Boolean).join(", ");
}

/** isMine tells whether a member is the account that is signed in. */
export const isMine = ({ person }) => person?.account.id === who.value?.account.id;

/** whomOf names a member: by the academy where that is all that differs. */
export function whomOf(member) {
  if (!member.person) return "Somebody else";
  const { account, membership } = member.person;
  return isMine(member) ? membership.academy_name : `${account.name}, ${membership.academy_name}`;
}

/** wipe deletes all that the device keeps, of everybody; nobody is at it then. */
export async function wipe() {
  const all = await names();
  use(null); // nothing may open it again meanwhile
  await Promise.all(all.map((name) => asked(indexedDB.deleteDatabase(name))));
  await forgetPeople();
  for (const key of Object.keys(localStorage)) {
    if (key.startsWith("fringework.")) localStorage.removeItem(key);
  }
}
