// The coach's lessons: a day of them, one line each, and planning more.

import * as api from "../base/api.js";
import { who } from "../base/account.js";
import { useLoad } from "../base/load.js";
import { fromLocal } from "../base/local.js";
import { route, to } from "../base/router.js";
import { count, day, isoDay, time } from "../base/units.js";
import { Button, Field, html, Page, useSend, useState, Wrong } from "../base/ui.js";
import { Missing, useAll } from "./parts.js";

const DAY = 86_400_000;

/** moved is a date so many days later. */
export const moved = (date, days) => new Date(Date.parse(date) + days * DAY).toISOString().slice(0, 10);

/** dayPath is where the lessons of a day are that the asker gives; latest first. */
export function dayPath(date) {
  const instant = (d) => new Date(fromLocal(d, "00:00")).toISOString();
  return `/v1/lessons?coach_id=${who.value.membership.member_id}&from=${instant(date)}&until=${instant(moved(date, 1))}&limit=200`;
}

/** inOrder are the lessons of a day, the first one first. */
export const inOrder = (answer) => answer.body?.items.toReversed() ?? [];

/** LessonsToday is the way to today's lessons, in a line; nothing on a day without. */
export function LessonsToday() {
  const all = inOrder(useLoad(dayPath(isoDay(Date.now()))));
  if (all.length === 0) return html`<p><a href=${to("lessons")}>Lessons</a></p>`;
  const open = all.filter((l) => !l.cue);
  return html`<p class="new-messages"><strong>${count(all.length, "lesson")} today</strong>, ${time(all[0].starts_at)} to ${time(Date.parse(all.at(-1).starts_at) + all.at(-1).minutes * 60_000)}.
    ${" "}<a class="button" href=${to("lesson", (open[0] ?? all[0]).id)}>${open.length ? "Prepare" : "Look at"} the ${open.length && open.length < all.length ? "next" : "first"}</a> <a href=${to("lessons")}>All of them</a></p>`;
}

/** Lessons lists those of a day, or of one student. */
export function Lessons() {
  const student = route.value.query.get("student");
  return student ? html`<${OfStudent} id=${student} />` : html`<${OfDay} />`;
}

function OfDay() {
  const today = isoDay(Date.now());
  const [date, set] = useState(today);
  const loaded = useLoad(dayPath(date));
  const all = inOrder(loaded);
  return html`<${Page} title=${date === today ? "Lessons today" : `Lessons, ${day(date)}`} wide>
    <div class="row tools"><${Button} onClick=${() => set(moved(date, -1))}>Day before</${Button}><${Button} onClick=${() => set(moved(date, 1))}>Day after</${Button}>
      ${date !== today && html`<${Button} onClick=${() => set(today)}>Today</${Button}>`}</div>
    <${Missing} what="the lessons" from=${loaded} />
    ${loaded.body && all.length === 0 && html`<p>No lesson on this day.</p>`}
    <${List} lessons=${all} named />
    <${Plan} date=${date} onDone=${loaded.reload} />
  </${Page}>`;
}

function OfStudent({ id }) {
  const loaded = useLoad(`/v1/lessons?student_id=${id}&limit=200`);
  const name = loaded.body?.items[0]?.student_name;
  return html`<${Page} title=${name ? `Lessons of ${name}` : "Lessons"} wide>
    <p><a class="button" href=${to("student", id)}>Back to the student</a></p>
    <${Missing} what="the lessons" from=${loaded} />
    ${loaded.body?.items.length === 0 && html`<p>No lesson yet.</p>`}
    <${List} lessons=${loaded.body?.items ?? []} />
    <${Plan} date=${isoDay(Date.now())} student=${id} onDone=${loaded.reload} />
  </${Page}>`;
}

function List({ lessons, named }) {
  return html`<ol class="plain lessons">${lessons.map((l) => html`<li key=${l.id}><a href=${to("lesson", l.id)}>${named ? `${time(l.starts_at)} ${l.student_name}` : `${day(l.starts_at)}, ${time(l.starts_at)}`}</a>
    <span>${l.cue || (named ? "not prepared" : "no cue")}</span></li>`)}</ol>`;
}

/** Plan puts lessons on the calendar: of one student, or of several one after the other. */
function Plan({ date, student, onDone }) {
  const [form, set] = useState({ date, time: "09:00", minutes: "45" });
  const [chosen, choose] = useState(student ? [student] : []);
  const students = useAll(student ? "" : "/v1/members?role=student&limit=200");
  const [done, setDone] = useState(0);
  const send = useSend(async () => {
    const made = await api.post("/v1/lessons", { student_ids: chosen, starts_at: new Date(fromLocal(form.date, form.time)).toISOString(), minutes: Number(form.minutes) });
    setDone(made.items.length);
    if (!student) choose([]);
    onDone();
  });
  const field = (name) => ({ value: form[name], onInput: (e) => set({ ...form, [name]: e.currentTarget.value }) });
  const toggle = (id, on) => choose(on ? [...chosen, id] : chosen.filter((c) => c !== id));
  return html`<details class="panel"><summary>Plan ${student ? "a lesson" : "lessons"}</summary><form class="form" onSubmit=${send.run}>
    <div class="row"><${Field} label="Date" type="date" required ...${field("date")} /><${Field} label="First at" type="time" required ...${field("time")} /><${Field} label="Minutes each" type="number" min="5" max="480" required ...${field("minutes")} /></div>
    ${!student && html`<fieldset><legend>Students, in the order of their lessons</legend>
      <p><${Button} kind="quiet" onClick=${() => choose(students.items?.map((m) => m.id) ?? [])}>All of them</${Button}></p>
      <ul class="plain columns-list">${students.items?.map((m) => html`<li key=${m.id}><label class="option"><input type="checkbox" checked=${chosen.includes(m.id)} onChange=${(e) => toggle(m.id, e.currentTarget.checked)} /><span>${m.name}${chosen.includes(m.id) ? ` (${chosen.indexOf(m.id) + 1})` : ""}</span></label></li>`)}</ul></fieldset>`}
    <div role="alert"><${Wrong} problem=${send.problem} /></div>
    <${Button} kind="main" type="submit" busy=${send.busy} disabled=${chosen.length === 0}>Plan ${count(Math.max(1, chosen.length), "lesson")}</${Button}> <span role="status">${done ? `${count(done, "lesson")} planned.` : ""}</span>
  </form></details>`;
}
