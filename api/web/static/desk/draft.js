// A programme's draft: kept on this device at each change, saved to the service
// before long, and never overwritten by either side without being asked.
//
// A record of the store "drafts" is { id, revision, etag, content, at }: what
// was written on top of which revision of the service's draft.

import * as api from "../base/api.js";
import * as db from "../base/db.js";
import { fetched, kept } from "../base/load.js";
import { signal } from "../base/ui.js";
import { count } from "../base/units.js";
import { differences } from "./diff.js";

/** How long changes are gathered before they are saved, in milliseconds. */
const GATHER = 800;

/** How long to wait before the service is asked again, in milliseconds. */
const AGAIN = 5_000;

/** How many steps can be undone. */
const STEPS = 100;

/** bare is a draft without the minutes that the service fills in for blocks. */
function bare(content) {
  return { ...content, weeks: (content.weeks ?? []).map((w) => ({ ...w, plans: (w.plans ?? []).map((p) => ({ ...p, blocks: (p.blocks ?? []).map(({ minutes, ...b }) => b) })) })) };
}

/** whole tells whether a kept draft has the shape that is edited. */
function whole({ content }) {
  const every = (list, fn) => Array.isArray(list) && list.every((x) => x && typeof x === "object" && fn(x));
  return Boolean(content) && every(content.weeks, (w) => every(w.plans ?? [], (p) => every(p.blocks ?? [], () => true)));
}

/**
 * fieldOf is the pointer of the one field in which two drafts differ; null when
 * they differ in more, or in what a list holds.
 */
export function fieldOf(a, b) {
  const found = [];
  const flat = (x) => !x || typeof x !== "object" || (Array.isArray(x) && x.every((v) => typeof v !== "object"));
  const walk = (x, y, at) => {
    if (JSON.stringify(x) === JSON.stringify(y)) return;
    if (flat(x) && flat(y)) found.push(at);
    else if (flat(x) || flat(y) || (Array.isArray(x) && x.length !== y.length)) found.push(null);
    else for (const key of new Set([...Object.keys(x), ...Object.keys(y)])) walk(x[key], y[key], `${at}/${key}`);
  };
  walk(a, b, "");
  return found.length === 1 ? found[0] : null;
}

export class Draft {
  /** state is what the editor shows; see show for its members. */
  state = signal({ phase: "loading", status: "" });

  #path;
  #id;
  #base = null; // { revision, etag } of the service's draft that ours is on top of
  #past = [];
  #field = null; // the field that is being written in, which undoing takes back as a whole
  #timer = null;
  #saving = null;
  #closed = false;

  constructor(id) {
    this.#id = id;
    this.#path = `/v1/programmes/${id}`;
    this.online = () => this.save();
    this.hidden = () => document.visibilityState === "hidden" && this.save();
  }

  #show(change) {
    if (!this.#closed) this.state.value = { ...this.state.value, ...change, undoable: this.#past.length > 0 };
  }

  /** open reads both sides and decides what is edited. */
  async open() {
    addEventListener("online", this.online);
    document.addEventListener("visibilitychange", this.hidden);
    let mine = await db.read("drafts", this.#id).catch(() => undefined);
    if (mine && !whole(mine)) {
      console.warn("a damaged draft is left aside:", mine);
      mine = undefined;
    }
    let theirs;
    let problem = null;
    try {
      theirs = await fetched(this.#path);
    } catch (e) {
      problem = e;
      if (!e.known) console.error(e);
      if (e.status === 0 || e.status === 401 || e.status >= 500) theirs = await kept(this.#path);
    }
    if (!theirs) return this.#show({ phase: "failed", problem });
    this.#base = { revision: theirs.body.revision, etag: theirs.etag };
    const about = { programme: theirs.body, problems: theirs.body.problems };
    if (!mine || differences(mine.content, theirs.body.draft).length === 0) {
      return this.#show({ phase: "open", content: bare(theirs.body.draft), ...about, status: problem ? "offline" : "saved" });
    }
    this.#show({ phase: "open", content: mine.content, ...about, status: "unsaved" });
    if (mine.revision === theirs.body.revision) return this.save();
    this.#show({ status: "conflict", conflict: { theirs: theirs.body, etag: theirs.etag } });
  }

  /** close stops saving; what is unsaved stays on the device. */
  close() {
    this.save();
    this.#closed = true;
    removeEventListener("online", this.online);
    document.removeEventListener("visibilitychange", this.hidden);
  }

  /** edit changes the draft: fn gets a copy to change as it likes. */
  edit(fn) {
    this.#change((content) => void fn(content));
  }

  /** act is edit for fn that gives a sentence about what it did, which is told. */
  act(fn) {
    this.#change(fn);
  }

  #change(fn) {
    const { content: before } = this.state.value;
    const content = structuredClone(before);
    const said = fn(content) || "";
    const field = fieldOf(before, content);
    if (!field || field !== this.#field) this.#past = [...this.#past, before].slice(-STEPS);
    this.#field = field;
    this.#take(content, said);
  }

  /** settle ends what is being written in a field: what is written next is undone on its own. */
  settle() {
    this.#field = null;
  }

  /** undo takes the last change back, and tells what it was. */
  undo() {
    const before = this.#past.pop();
    this.settle();
    if (!before) return;
    const undone = differences(before, this.state.value.content);
    this.#take(before, `Undone: ${undone.length === 1 ? `${undone[0].place}, ${undone[0].what}` : count(undone.length, "change")}.`);
  }

  #take(content, said) {
    const conflict = this.state.value.status === "conflict";
    this.#show({ content, said, status: conflict ? "conflict" : "unsaved", problem: null });
    this.#keep();
    if (!conflict) this.#soon(GATHER);
  }

  #keep() {
    return db.write("drafts", { id: this.#id, ...this.#base, content: this.state.value.content, at: Date.now() }).catch((e) => {
      console.error(e);
      this.#show({ unkept: true });
    });
  }

  #soon(ms) {
    clearTimeout(this.#timer);
    if (!this.#closed) this.#timer = setTimeout(() => this.save(), ms);
  }

  /** save saves what is unsaved, one request at a time. */
  save() {
    clearTimeout(this.#timer);
    const { phase, status } = this.state.value;
    if (phase !== "open" || status === "saved" || status === "conflict") return this.#saving ?? Promise.resolve();
    this.#saving ??= this.#send().finally(() => {
      this.#saving = null;
      // What was written while this came to its end is saved next.
      if (this.state.value.status === "unsaved") this.#soon(GATHER);
    });
    return this.#saving;
  }

  async #send() {
    const { content } = this.state.value;
    this.#show({ status: "saving" });
    try {
      const answer = await api.send("PUT", this.#path, { body: content, headers: { "If-Match": this.#base.etag } });
      await this.#saved(answer, content);
    } catch (e) {
      await this.#refused(e);
    }
  }

  async #saved({ body, etag }, content) {
    this.#base = { revision: body.revision, etag };
    await db.write("cache", { path: this.#path, body, etag, at: Date.now() }).catch(() => {});
    const more = this.state.value.content !== content;
    this.#show({ programme: body, problems: body.problems, problem: null, status: more ? "unsaved" : "saved" });
    if (more) {
      this.#keep();
      this.#soon(GATHER);
    } else {
      await db.remove("drafts", this.#id).catch(() => {});
    }
  }

  async #refused(e) {
    if (e.status === 412) return this.#parted();
    if (!e.known) console.error(e);
    const waits = e.status === 0 || e.status === 429 || e.status >= 500;
    this.#show({ problem: e, status: waits ? "offline" : e.status === 401 ? "sign-in" : "refused" });
    if (waits) this.#soon(Math.max(AGAIN, e.retryAfter * 1000 || 0));
  }

  /** parted: somebody else saved meanwhile. */
  async #parted() {
    try {
      const theirs = await fetched(this.#path);
      this.#show({ status: "conflict", conflict: { theirs: theirs.body, etag: theirs.etag } });
    } catch (e) {
      this.#show({ status: "offline", problem: e });
      this.#soon(AGAIN);
    }
  }

  /** keepMine saves ours over theirs, which was shown. */
  keepMine() {
    const { conflict } = this.state.value;
    this.#base = { revision: conflict.theirs.revision, etag: conflict.etag };
    this.#show({ conflict: null, status: "unsaved" });
    return this.save();
  }

  /** takeTheirs goes on with theirs; ours can be had back by undoing. */
  async takeTheirs() {
    const { conflict, content } = this.state.value;
    this.#past.push(content);
    this.settle();
    this.#base = { revision: conflict.theirs.revision, etag: conflict.etag };
    await db.remove("drafts", this.#id).catch(() => {});
    this.#show({ conflict: null, content: bare(conflict.theirs.draft), programme: conflict.theirs, problems: conflict.theirs.problems, status: "saved" });
  }

  /** copyMine keeps ours as a programme of its own; it gives the new one's ID. */
  async copyMine() {
    const { content } = this.state.value;
    const made = await api.post("/v1/programmes", { ...content, name: `${content.name.slice(0, 110)} (copy)` });
    await this.takeTheirs();
    return made.id;
  }

  /** publish freezes what is saved as the next version; it gives the version. */
  async publish() {
    await this.save();
    if (this.state.value.status !== "saved") throw this.state.value.problem ?? Object.assign(new Error("Not saved yet."), { known: true, detail: "The draft is not saved yet, so it cannot be published." });
    const version = await api.post(`${this.#path}/versions`, undefined, { headers: { "If-Match": this.#base.etag } });
    const now = await fetched(this.#path);
    this.#base = { revision: now.body.revision, etag: now.etag };
    this.#show({ programme: now.body });
    return version;
  }

  /** reread takes what stands at the service when nothing of ours is unsaved. */
  async reread() {
    const now = await fetched(this.#path);
    this.#base = { revision: now.body.revision, etag: now.etag };
    this.#show({ programme: now.body });
  }
}
