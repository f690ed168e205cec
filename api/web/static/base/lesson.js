// Lessons, as both sides read them: photos and clips, the dates on charts, and what is
// known of cues.

import * as api from "./api.js";
import * as db from "./db.js";
import { kept } from "./load.js";
import { reached } from "./reached.js";
import { count, day } from "./units.js";
import { Button, html, useEffect, useSend, useState, Wrong } from "./ui.js";

/** mediaPath is where a photo or a clip of a lesson is. */
export const mediaPath = (lesson, media) => `/v1/lessons/${lesson.id}/media/${media.id}`;

/** knownText says in a line what is known of a cue about the ball or the club's way, and what is not. */
export const knownText = "A cue about the ball or the grass often works better than one about the body (Wulf, Höß & Prinz 1998; Wulf and others 1999, on pitch shots); whether it does for you, nobody has tested.";

/** Media shows the photos and clips of a lesson; keep leaves them on this device for when there is no network. onGone is called when one was deleted. */
export function Media({ lesson, keep = false, onGone }) {
  return html`<ul class="media">${lesson.media.map((m) => html`<li key=${m.id}><${One} lesson=${lesson} media=${m} keep=${keep} onGone=${onGone} /></li>`)}</ul>`;
}

const isClip = (media) => media.type.startsWith("video/");

function One({ lesson, media, keep, onGone }) {
  const path = mediaPath(lesson, media);
  const [state, set] = useState({});
  useEffect(() => {
    let url = null;
    let gone = false;
    const load = async () => {
      const blob = (keep && (await kept(path))?.body) || (await reached(path, { silence: 60_000 }, (r) => r.blob()));
      if (keep) await db.write("cache", { path, body: blob, at: Date.now() });
      if (gone) return;
      url = URL.createObjectURL(blob);
      set({ url });
    };
    load().catch((problem) => (problem.known || console.error(problem), set({ problem })));
    return () => {
      gone = true;
      if (url) URL.revokeObjectURL(url);
    };
  }, [path]);
  const drop = useSend(async () => {
    await api.del(path);
    await db.remove("cache", path);
    onGone();
  });
  const what = isClip(media) ? "clip" : "photo";
  return html`<figure>
    ${state.url && (isClip(media) ? html`<video src=${state.url} controls playsinline preload="metadata"></video>` : html`<img src=${state.url} alt=${`Photo of the lesson of ${day(lesson.starts_at)}`} />`)}
    ${!state.url && html`<p>${state.problem ? `The ${what} could not be loaded.` : `Loading the ${what} …`}</p>`}<${Wrong} problem=${state.problem} />
    <figcaption class="small">Kept until ${day(media.keep_until)}. ${onGone && html`<${Button} kind="quiet" busy=${drop.busy} onClick=${drop.run}>Delete this ${what}</${Button}>`}<${Wrong} problem=${drop.problem} /></figcaption>
  </figure>`;
}

/** sweep drops photos and clips from this device that no lesson has any more. */
export async function sweep(lessons) {
  const there = new Set(lessons.flatMap((l) => l.media.map((m) => mediaPath(l, m))));
  for (const { path } of await db.readAll("cache")) {
    if (/^\/v1\/lessons\/[^/]+\/media\//.test(path) && !there.has(path)) await db.remove("cache", path);
  }
}

/** linesOf places lessons on a chart whose points are sessions, oldest first. */
export function linesOf(lessons, points) {
  const begun = (l) => Date.parse(l.starts_at);
  const at = (p) => Date.parse(p.started_at ?? `${p.day}T23:59:59Z`);
  return lessons.filter((l) => begun(l) <= Date.now() && begun(l) >= at(points[0])).map((l) => {
    const before = points.findIndex((p) => at(p) > begun(l));
    return { before: before < 0 ? points.length : before, text: `Lesson, ${day(l.starts_at)}` };
  });
}

/** linesText says what the upright lines are. */
export const linesText = (lines) => (lines.length ? ` An upright line marks a lesson (${count(lines.length, "lesson")}); what comes after it need not come from it.` : "");
