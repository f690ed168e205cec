// Now: what to do today. The rest of the week is below it, and is loaded later.

import { who } from "../base/account.js";
import { over } from "./log.js";
import { uuid7 } from "../base/uuid7.js";
import { sessions } from "../base/outbox.js";
import { to } from "../base/router.js";
import { day, dayTime } from "../base/units.js";
import { Failed, html, Loading, Notice, Page, useState } from "../base/ui.js";
import { Bar, lazy } from "./parts.js";
import { useNow, planName } from "./plan.js";

export function Now() {
  const now = useNow();
  const going = goingOn();
  return html`<${Page} title="Now">
    ${going && html`<${Going} record=${going} />`}
    ${who.value.member?.junior && !who.value.member.consent_at && html`<${Notice} kind="warn" title="A guardian's consent is missing">
      <p>Your sessions stay on this phone until a guardian has agreed that the academy keeps them.</p></${Notice}>`}
    ${!now.body && now.loading && html`<${Loading} what="your week" />`}
    ${!now.body && now.problem && html`<${Failed} what="Your week" problem=${now.problem} retry=${now.reload} />`}
    ${now.body && html`<${Today} now=${now.body} going=${going} />`}
    ${now.body && now.problem && html`<p class="as-of">Last updated ${dayTime(now.at)}.</p>`}
  </${Page}>`;
}

/** goingOn is the session that goes on at this phone, or undefined. */
export const goingOn = () => (sessions.value ?? []).find((r) => r.live && !over(r) && !r.deleted);

function Going({ record }) {
  return html`<section class="going">
    <h2>Session in progress</h2>
    <p>${record.plan.name}, since ${dayTime(record.live.started + record.clock)}.</p>
    <p><a class="button main big" href=${to("practice", record.id)}>Go on</a></p>
  </section>`;
}

function Today({ now, going }) {
  const todo = now.work.flatMap((w) => w.week?.plans ?? []).find((p) => p.done < p.times);
  return html`${now.work.length + now.skills.length === 0 && html`<section class="empty"><h2>No programme yet</h2>
      <p>It will appear here once your coach has given you one.</p></section>`}
    ${now.tests?.length > 0 && html`<${Tests} now=${now} />`}
    ${now.work.map((w) => html`<${Work} work=${w} todo=${todo} going=${going} />`)}
    ${!todo && html`<${OnCourse} />`}
    <${Rest} now=${now} />`;
}

/** How long after its start a round is the one that goes on. */
const ROUND = 8 * 3_600_000;

/** OnCourse is the way to the round that goes on, or to a new one. */
function OnCourse() {
  const [fresh] = useState(() => uuid7());
  const record = (sessions.value ?? []).find((r) => r.kind === "rounds" && !r.deleted && Date.now() - Date.parse(r.content.started_at) < ROUND);
  return html`<p><a class="button on-course" href=${record ? to("round", record.id) : to("round", fresh, "new")}>On the course: ${record ? "go on with your round" : "log a round"}</a></p>`;
}

/** Rest is what one may read beside today's plan, and Tests what is asked for before it. */
const Rest = lazy(() => import("./week.js"), "Week");
const Tests = lazy(() => import("./tests.js"), "Asked");

function Work({ work, todo, going }) {
  const { position: { phase, until }, week } = work;
  if (!week) return html`<p>${work.programme_name} starts on ${day(work.start_date)}.</p>`;
  const plans = week.plans.filter((p) => p.times > 0);
  const others = plans.filter((p) => p !== todo);
  return html`<section class="work">
    <p class="small">${work.programme_name} · Week ${week.number} of ${work.weeks}${week.title ? `: ${week.title}` : ""}${phase === "running" ? `, day ${work.position.day}` : ""}</p>
    ${phase === "paused" && html`<${Notice} title=${until ? `Paused until ${day(until)}` : "Paused"}><p>Your coach has paused the programme. You may practise all the same.</p></${Notice}>`}
    ${phase === "finished" && html`<${Notice} title="Finished"><p>The last week is over. You may go on with its plans.</p></${Notice}>`}
    ${plans.includes(todo) && html`<${Plan} work=${work} plan=${todo} going=${going} />`}
    ${others.length > 0 && html`<h3>${plans.includes(todo) ? "Also this week" : plans.some((p) => p.done < p.times) ? "This week" : "All done this week"}</h3>
      <ul class="plans">${others.map((p) => html`<li><a class="plan" href=${placeOf(work, p)}><span>${planName(p)}</span> <span class="small">${doneText(p)}</span></a></li>`)}</ul>`}
  </section>`;
}

const placeOf = (work, plan) => to("ready", work.assignment_id, work.week.number, plan.number);

const doneText = (plan) => `${plan.minutes} min · done ${plan.done} of ${plan.times}`;

/** Plan is today's, with its hour and its start. */
function Plan({ work, plan, going }) {
  return html`<h2>${planName(plan)}</h2>
    <p class="plan-done">${doneText(plan)} this week</p>
    <${Bar} blocks=${plan.blocks} />
    <p><a class=${`button big${going ? "" : " main"}`} href=${placeOf(work, plan)}>Start<span class="unseen"> ${planName(plan)}</span></a></p>
    <${OnCourse} />`;
}
