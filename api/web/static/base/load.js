// What the service said, kept for when it cannot be asked. Each answer is
// stored under its path; a page shows the stored one at once and the fresh one
// when it comes.

import * as api from "./api.js";
import * as db from "./db.js";
import { onTold, tell, tellAll } from "./bus.js";
import { useEffect, useRef, useState } from "./ui.js";

/** kept gives { body, at } of the last answer at a path, or undefined. */
export async function kept(path) {
  return db.read("cache", path).catch(() => undefined);
}

/**
 * fetched asks the service and keeps the answer. When the answer is the one that
 * is kept already, the service sends no body.
 */
export async function fetched(path) {
  const before = await kept(path);
  const answer = await api.send("GET", path, before?.etag ? { headers: { "If-None-Match": before.etag } } : {});
  const after = answer.status === 304 ? { ...before, at: Date.now() } : { path, body: answer.body, etag: answer.etag, at: Date.now() };
  await db.write("cache", after);
  tell("loaded", path);
  return after;
}

/** refreshed asks for what was changed here, and shows it wherever it is shown. */
export async function refreshed(path) {
  await fetched(path);
  tellAll("loaded", path);
}

/**
 * useLoad gives { body, at, loading, problem, reload } of a GET. body is the
 * kept answer until the fresh one comes and stays when that fails; problem tells
 * why it failed. at is when body was true, in milliseconds.
 *
 *     const skills = useLoad("/v1/skills");
 *     if (!skills.body) return html`<${Missing} what="your skills" from=${skills} />`;
 */
export function useLoad(path) {
  const [state, set] = useState({ path: null, loading: true });
  const turn = useRef(0);
  const run = async (ask) => {
    const mine = ++turn.current;
    const show = (change) => turn.current === mine && set((s) => ({ ...(s.path === path ? s : { path }), ...change }));
    const before = await kept(path);
    if (before) show({ body: before.body, at: before.at });
    if (!ask) return;
    show({ loading: true });
    try {
      const after = await fetched(path);
      show({ body: after.body, at: after.at, loading: false, problem: null });
    } catch (e) {
      if (!e.known) console.error(e);
      show({ loading: false, problem: e });
    }
  };
  useEffect(() => {
    if (!path) return;
    run(true);
    const stop = onTold("loaded", (other) => other === path && run(false));
    const again = () => run(true);
    addEventListener("online", again);
    return () => {
      turn.current++;
      stop();
      removeEventListener("online", again);
    };
  }, [path]);
  const current = state.path === path ? state : { loading: true };
  return { ...current, reload: () => run(true) };
}
