// Preparing a lesson: what changed since the last, one field for the cue, and Enter
// leads to the next lesson of the day.

import * as api from "../base/api.js";
import { knownText, Media } from "../base/lesson.js";
import { fetched, useLoad } from "../base/load.js";
import { Misses } from "../base/misses.js";
import { reached } from "../base/reached.js";
import { go, to } from "../base/router.js";
import { count, day, dayTime, isoDay, minutes, near, percent, percents, time } from "../base/units.js";
import { ballsText, tierText } from "../base/words.js";
import { Button, Dialog, Field, html, Page, useEffect, useRef, useSend, useState, Wrong } from "../base/ui.js";
import { dayPath, inOrder } from "./lessons.js";
import { Missing } from "./parts.js";
import { reasonText } from "./reasons.js";

const pathOf = (id) => `/v1/lessons/${id}/preparation`;

export function LessonPage({ args: [id] }) {
  const loaded = useLoad(pathOf(id));
  const { body } = loaded;
  if (!body) return html`<${Page} title="Lesson" wide><${Missing} what="the lesson" from=${loaded} /></${Page}>`;
  const { lesson, student } = body;
  return html`<${Page} title=${student.name} wide lead=${`Lesson, ${dayTime(lesson.starts_at)}, ${lesson.minutes} min`}>
    <${Write} key=${lesson.id} body=${body} reload=${loaded.reload} />
    <div class="columns prepare"><div><${Since} body=${body} /></div>
      <div class="aside"><${Look} body=${body} /><${Words} written=${body.written} /><${Shots} lesson=${lesson} student=${student} reload=${loaded.reload} /></div></div>
  </${Page}>`;
}

/** useDay finds the lessons around one on its day, and fetches the next one's preparation. */
function useDay(lesson) {
  const path = dayPath(isoDay(lesson.starts_at));
  const loaded = useLoad(path);
  const all = inOrder(loaded);
  const at = all.findIndex((l) => l.id === lesson.id);
  const next = at >= 0 ? all[at + 1] : undefined;
  useEffect(() => void (next && fetched(pathOf(next.id)).catch((e) => e.known || console.error(e))), [next?.id]);
  return { before: all[at - 1], next, place: at + 1, of: all.length };
}

/** Write is the cue and the rest of what a coach writes. Enter in the cue saves and goes on. */
function Write({ body: { lesson, student, previous }, reload }) {
  const around = useDay(lesson);
  const [form, set] = useState({ cue: lesson.cue ?? "", drill: lesson.drill ?? "", notes: lesson.notes ?? "" });
  const [asking, ask] = useState(false);
  const [saved, setSaved] = useState(false);
  const field = useRef(null);
  useEffect(() => field.current?.querySelector("input")?.focus(), []);
  const changed = ["cue", "drill", "notes"].some((name) => form[name] !== (lesson[name] ?? ""));
  const keep = async () => {
    if (!changed) return;
    await api.put(`/v1/lessons/${lesson.id}`, { starts_at: lesson.starts_at, minutes: lesson.minutes, ...form });
    await fetched(pathOf(lesson.id));
    await fetched(dayPath(isoDay(lesson.starts_at)));
  };
  const onward = useSend(async () => {
    await keep();
    if (around.next) go(to("lesson", around.next.id));
    else setSaved(true);
  });
  const stay = useSend(async () => (await keep(), setSaved(true)));
  const drop = useSend(async () => {
    await api.del(`/v1/lessons/${lesson.id}`);
    go(to("lessons"), { replace: true });
  });
  const write = (name) => ({ value: form[name], onInput: (e) => (setSaved(false), set({ ...form, [name]: e.currentTarget.value })), error: onward.at(`/${name}`) ?? stay.at(`/${name}`) });
  return html`<form class="panel" onSubmit=${onward.run}>
    <div ref=${field}><${Field} label="Cue" hint=${`One thing, in ${student.name.split(" ")[0]}'s own words.${previous?.cue ? ` The last one: “${previous.cue}”` : ""}`} maxlength="140" autocomplete="off" ...${write("cue")} /></div>
    <details open=${Boolean(form.drill || form.notes)}><summary>What to practise, and notes</summary>
      <${Field} as="textarea" rows="2" label="Practise until the next lesson" hint="The student sees it." maxlength="500" ...${write("drill")} />
      <${Field} as="textarea" rows="3" label="Notes for coaches" hint="No page shows them to the student; they are in the student's download of all that is held on them." maxlength="4000" ...${write("notes")} /></details>
    <details><summary>What is known of cues</summary><p>${knownText}</p></details>
    <div role="alert"><${Wrong} problem=${onward.problem ?? stay.problem ?? drop.problem} /></div>
    <div class="row"><${Button} kind="main" type="submit" busy=${onward.busy}>${around.next ? `Save; next: ${time(around.next.starts_at)} ${around.next.student_name}` : "Save"}</${Button}>
      ${around.next && html`<${Button} busy=${stay.busy} onClick=${stay.run}>Save and stay</${Button}>`}
      ${around.before && html`<a class="button" href=${to("lesson", around.before.id)}>Back: ${around.before.student_name}</a>`}
      <a class="button" href=${to("student", student.id)}>All about ${student.name}</a><a class="button" href=${to("lessons")}>The day</a>
      <${Button} kind="quiet" onClick=${() => ask(true)}>Delete …</${Button}> <span role="status">${saved ? "Saved." : ""}</span></div>
    ${around.of > 0 && html`<p class="small">Lesson ${around.place} of ${around.of} that day. Enter in the cue saves and goes on. The student sees cue and practice from the day of the lesson on.</p>`}
    ${asking && html`<${Dialog} title="Delete this lesson?" onClose=${() => ask(false)}><p>Its words, photos and clips are deleted for good.</p><div class="stack"><${Button} busy=${drop.busy} onClick=${drop.run}>Delete it</${Button}><${Button} kind="main" onClick=${() => ask(false)}>Keep it</${Button}></div></${Dialog}>`}
  </form>`;
}

const rateText = (r) => `${percent(r.mean)} (${percents(r.interval_80.low, r.interval_80.high)})`;

/** Since is the practice since the last lesson, skill by skill. */
function Since({ body: { previous, since, practice, skills } }) {
  return html`<section><h2>Since ${previous ? `the lesson of ${day(since)}` : day(since)}</h2>
    ${!previous && html`<p class="small">There is no lesson before this one.</p>`}
    <p>${practice.sessions ? `${count(practice.sessions, "session")}, ${ballsText(practice.balls + practice.attested.balls)}, ${minutes(practice.seconds)}.` : "No session."}</p>
    ${skills.map((s) => html`<div class="panel" key=${s.skill_id}><h3>${s.name}</h3>
      ${s.now && html`<p><strong>${rateText(s.now)}</strong> inside ${near(s.now.radius_m)} now${s.before ? `; ${rateText(s.before)} then` : ""}.</p>`}
      <p>${s.practice.sessions ? `${count(s.practice.sessions, "session")}, ${ballsText(s.practice.balls)}.` : "Not practised since."}
        ${s.passed.length > 0 && ` Passed: ${s.passed.map((m) => tierText(m.tier)).join("; ")}.`}${s.stuck && " No step passed since."}${s.next_tier && ` Next: ${tierText(s.next_tier)}.`}</p>
      ${s.practice.misses && html`<${Misses} counts=${s.practice.misses} />`}</div>`)}
    ${skills.some((s) => s.before && s.now) && html`<p class="small">The true rate is in the brackets 4 times in 5. Then and now say nothing of the cause.</p>`}
  </section>`;
}

function Look({ body: { hints, attention } }) {
  return html`<section><h2>What to look at</h2>
    ${attention.length > 0 && html`<p>${attention.map((a) => reasonText(a)).join("; ")}.</p>`}
    ${hints.length ? html`<ul class="plain">${hints.map((h) => html`<li>${h}</li>`)}</ul>` : html`<p>Nothing stands out.</p>`}</section>`;
}

const kinds = { note: "note", comment: "comment", message: "message" };

function Words({ written }) {
  if (written.length === 0) return null;
  return html`<section><h2>In the student's words</h2><ul class="plain">${written.map((w) => html`<li><p class="text">${w.text}</p><p class="small">${w.session_id ? html`<a href=${to("session", w.session_id)}>${kinds[w.kind]}, ${day(w.at)}</a>` : `${kinds[w.kind]}, ${day(w.at)}`}</p></li>`)}</ul></section>`;
}

/** The longer side, in pixels, that a photo is made to have before it is sent. */
const LONG = 2048;

/** smaller makes a photo of any size and kind that the browser reads a JPEG that is quick to send. */
async function smaller(file) {
  const bitmap = await createImageBitmap(file, { imageOrientation: "from-image" });
  const by = Math.min(1, LONG / Math.max(bitmap.width, bitmap.height));
  const canvas = Object.assign(document.createElement("canvas"), { width: Math.round(bitmap.width * by), height: Math.round(bitmap.height * by) });
  canvas.getContext("2d").drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  return new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.9));
}

/** Shots are the photos and clips of a lesson, with adding one. */
function Shots({ lesson, student, reload }) {
  const [days, set] = useState("30");
  const [file, choose] = useState(null);
  const send = useSend(async () => {
    const content = file.type.startsWith("image/") ? await smaller(file).catch(() => file) : file;
    await reached(`/v1/lessons/${lesson.id}/media?days=${days}`, { method: "POST", headers: { "Content-Type": content.type || "application/octet-stream" }, body: content, silence: 120_000 }, (r) => r.json());
    choose(null);
    reload();
  });
  const use = useLoad("/v1/academy/media").body;
  return html`<section><h2>Photos and clips</h2><${Media} lesson=${lesson} onGone=${reload} />
    <form class="form" onSubmit=${send.run}>
      <${Field} label="Photo, or clip of at most 20 seconds and 8 MB" hint=${student.junior ? "A junior's are kept only if the guardian has agreed." : undefined} type="file" accept="image/jpeg,image/png,image/heic,video/mp4,video/webm,video/quicktime" key=${lesson.media.length} onChange=${(e) => choose(e.currentTarget.files[0] ?? null)} />
      <${Field} label="Days it is kept, as agreed with the student" type="number" min="1" max="365" value=${days} onInput=${(e) => set(e.currentTarget.value)} />
      <div role="alert"><${Wrong} problem=${send.problem} /></div>
      <p class="row"><${Button} type="submit" busy=${send.busy} disabled=${!file}>Add it</${Button}></p>
      ${use && html`<p class="small">The academy's photos and clips take ${Math.ceil(use.bytes / 1e6)} of ${Math.round(use.limit_bytes / 1e6)} MB.</p>`}</form></section>`;
}
