// Lessons, as the student takes them along: the cue, what to practise, photos and
// clips, and what comes next. All of it is kept on the phone.

import { knownText, Media, sweep } from "../base/lesson.js";
import { useLoad } from "../base/load.js";
import { to } from "../base/router.js";
import { day, dayTime, time } from "../base/units.js";
import { Button, Failed, html, Loading, Page, useEffect } from "../base/ui.js";
import { LESSONS, planName, useNow } from "./plan.js";

const begun = (lesson) => Date.parse(lesson.starts_at) <= Date.now();

/** nextOf is the first lesson that has not begun. */
const nextOf = (lessons) => lessons.findLast((l) => !begun(l));

/** Taught is the last cue and the next lesson, on the first page; nothing without lessons. */
export function Taught() {
  const lessons = useLoad(LESSONS).body?.items ?? [];
  const [cued, next] = [lessons.find((l) => l.cue), nextOf(lessons)];
  if (!cued && !next) return null;
  return html`<section class="taught"><h2>From your lesson</h2>
    ${cued && html`<p class="cue">${cued.cue}</p><p><a href=${to("lesson", cued.id)}>Lesson of ${day(cued.starts_at)}</a></p>`}
    ${next && html`<p>Next lesson: <a href=${to("lesson", next.id)}>${dayTime(next.starts_at)}</a></p>`}
  </section>`;
}

/** Lessons lists them, latest first. */
export function Lessons() {
  const lessons = useLoad(LESSONS);
  return html`<${Page} title="Lessons">
    <${Missing} from=${lessons} />
    ${lessons.body?.items.length === 0 && html`<p>No lesson yet.</p>`}
    <ul class="sessions">${lessons.body?.items.map((l) => html`<li key=${l.id}><a class="session" href=${to("lesson", l.id)}><span class="session-when">${dayTime(l.starts_at)}</span> <span class="session-what">${l.cue || (begun(l) ? "No cue" : "Planned")}</span></a></li>`)}</ul>
  </${Page}>`;
}

function Missing({ from }) {
  if (from.body) return null;
  return from.loading ? html`<${Loading} what="your lessons" />` : html`<${Failed} what="Your lessons" problem=${from.problem} retry=${from.reload} />`;
}

/** Lesson is one of them; its argument is the lesson's id. */
export function Lesson({ args: [id] }) {
  const lessons = useLoad(LESSONS);
  const now = useNow();
  const all = lessons.body?.items;
  useEffect(() => void (all && sweep(all).catch(console.error)), [all]);
  const lesson = all?.find((l) => l.id === id);
  if (!all) return html`<${Page} title="Lesson"><${Missing} from=${lessons} /></${Page}>`;
  if (!lesson) return html`<${Page} title="Lesson"><p>This lesson is not on your list any more. <a href=${to("lessons")}>All lessons</a></p></${Page}>`;
  const next = all.findLast((l) => Date.parse(l.starts_at) > Date.parse(lesson.starts_at) && !begun(l));
  const plan = now.body?.work.flatMap((w) => w.week?.plans ?? []).find((p) => p.done < p.times);
  return html`<${Page} title=${`Lesson, ${day(lesson.starts_at)}`} lead=${`${time(lesson.starts_at)}, ${lesson.minutes} min`}>
    ${!begun(lesson) && !lesson.cue && html`<p>Your coach's words will be here on the day.</p>`}
    ${lesson.cue && html`<section class="taught"><h2>Keep in mind</h2><p class="cue">${lesson.cue}</p>
      <p class="small screen-only">It stands on your technique blocks until a later lesson has another.</p></section>`}
    ${lesson.media.length > 0 && html`<section><h2>Photos and clips</h2><${Media} lesson=${lesson} keep onGone=${lessons.reload} /></section>`}
    ${lesson.drill && html`<section><h2>Practise this</h2><p class="text">${lesson.drill}</p></section>`}
    ${begun(lesson) && plan && html`<section><h2>Next session</h2><p>${planName(plan)}, ${plan.minutes} min. <a class="screen-only" href=${to("now")}>Go to Now</a></p></section>`}
    ${next && html`<section><h2>Next lesson</h2><p>${dayTime(next.starts_at)}</p></section>`}
    ${lesson.cue && html`<details class="screen-only"><summary>What is known of cues</summary><p>${knownText}</p></details>`}
    ${(lesson.cue || lesson.drill) && html`<p class="row screen-only"><${Button} onClick=${() => print()}>Print</${Button}>
      ${navigator.share && html`<${Button} onClick=${() => navigator.share({ title: "Lesson", text: [lesson.cue, lesson.drill].filter(Boolean).join("\n") }).catch(() => {})}>Share the words</${Button}>`}</p>`}
    <p class="screen-only"><a href=${to("lessons")}>All lessons</a></p>
  </${Page}>`;
}
