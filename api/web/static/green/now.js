// Now: this week's plans and the open tiers.

import { who } from "../base/account.js";
import { over } from "./log.js";
import { useLoad } from "../base/load.js";
import { sessions } from "../base/outbox.js";
import { to } from "../base/router.js";
import { day, dayTime, minutes } from "../base/units.js";
import { kindName, runText, tierText } from "../base/words.js";
import { Failed, html, Loading, Notice, Page, useEffect, useState } from "../base/ui.js";
import { TierList } from "./parts.js";
import { useNow, planName } from "./plan.js";

export function Now() {
  const now = useNow();
  const going = (sessions.value ?? []).find((r) => r.live && !over(r) && !r.deleted);
  return html`<${Page} title="Now">
    ${going && html`<${Going} record=${going} />`}
    ${who.value.member?.junior && !who.value.member.consent_at && html`<${Notice} kind="warn" title="A guardian's consent is missing">
      <p>Your sessions stay on this phone until a guardian has agreed that the academy keeps them.</p></${Notice}>`}
    ${!now.body && now.loading && html`<${Loading} what="your week" />`}
    ${!now.body && now.problem && html`<${Failed} what="Your week" problem=${now.problem} retry=${now.reload} />`}
    ${now.body && html`<${Week} now=${now.body} going=${going} />`}
    ${now.body && now.problem && html`<p class="as-of">As of ${dayTime(now.at)}; no fresh answer since.</p>`}
  </${Page}>`;
}

function Going({ record }) {
  return html`<section class="going">
    <h2>Your session goes on</h2>
    <p>${record.plan.name}, since ${dayTime(record.live.started + record.clock)}.</p>
    <p><a class="button main big" href=${to("practice", record.id)}>Go on</a></p>
  </section>`;
}

/** Words are the coach's, loaded when there are some. */
function Words() {
  const thread = useLoad(`/v1/students/${who.value.membership.member_id}/messages?limit=3`);
  const [Part, set] = useState();
  useEffect(() => void (thread.body?.items[0] && import("./messages.js").then((m) => set(() => m.Latest)).catch(() => {})), [thread.body]);
  return Part && html`<${Part} thread=${thread} />`;
}

function Week({ now, going }) {
  if (now.work.length === 0 && now.skills.length === 0) {
    return html`<${Words} /><section class="empty"><h2>No programme yet</h2>
      <p>It will appear here once your coach has given you one.</p></section>`;
  }
  const week = now.skills.filter((s) => !s.earlier);
  const earlier = now.skills.filter((s) => s.earlier);
  const first = !going && now.work.flatMap((w) => w.week?.plans ?? []).find((p) => p.done < p.times);
  return html`
    ${now.work.map((w) => html`<${Work} work=${w} first=${first} />`)}
    <${Words} />
    ${week.length > 0 && html`<section><h2>Skills of this week</h2>${week.map((s) => html`<${Skill} skill=${s} />`)}</section>`}
    ${earlier.length > 0 && html`<section><h2>Still open from earlier weeks</h2>${earlier.map((s) => html`<${Skill} skill=${s} />`)}</section>`}
    <${GoodSession} />`;
}

function Work({ work, first }) {
  const { phase } = work.position;
  if (!work.week) {
    return html`<section class="work"><h2>${work.programme_name}</h2><p>Starts on ${day(work.start_date)}.</p></section>`;
  }
  return html`<section class="work">
    <h2>${work.programme_name}</h2>
    <p class="lead">Week ${work.week.number} of ${work.weeks}${work.week.title ? `: ${work.week.title}` : ""}${phase === "running" ? `, day ${work.position.day}` : ""}</p>
    ${phase === "paused" && html`<${Notice} title="Paused"><p>Your coach has paused the programme. You may practise all the same.</p></${Notice}>`}
    ${phase === "finished" && html`<${Notice} title="Finished"><p>The last week is over. You may go on with its plans.</p></${Notice}>`}
    ${work.week.text && html`<p class="text">${work.week.text}</p>`}
    ${work.adjustments.length > 0 && html`<section><h3>From your coach</h3>${work.adjustments.map((a) => html`<p key=${a.id}>${a.text || "Your plan was changed."}</p>`)}</section>`}
    <ul class="plans">${work.week.plans.filter((p) => p.times > 0).map((p) => html`<li><${Plan} work=${work} plan=${p} first=${p === first} /></li>`)}</ul>
  </section>`;
}

function Plan({ work, plan, first }) {
  const left = Math.max(0, plan.times - plan.done);
  return html`<a class="plan" href=${to("ready", work.assignment_id, work.week.number, plan.number)}>
    <span class="plan-name">${planName(plan)}</span>
    <span class="plan-minutes">${minutes(plan.minutes * 60)}</span>
    <span class="plan-done">${left ? `Done ${plan.done} of ${plan.times} this week` : `Done for this week (${plan.done})`}</span>
    <span class="plan-blocks">${plan.blocks.map((b) => `${kindName(b.kind)} ${b.minutes}`).join(" · ")}</span>
    <span class=${`plan-go button${first ? " main" : ""}`}>See and start</span>
  </a>`;
}

function Skill({ skill }) {
  const finished = skill.held >= skill.ladder.tiers.length;
  return html`<article class="skill">
    <h3>${skill.name}</h3>
    ${skill.text && html`<p class="text">${skill.text}</p>`}
    <${TierList} skill=${skill} />
    <p>${finished ? "All steps passed." : skill.best_run.length > 0 ? `Most in a row: ${runText(skill.best_run)}${skill.near ? `; lately ${skill.near.text}` : ""}.` : `Next: ${tierText(skill.next_tier)}.`}</p>
    <p><a class="button" href=${to("ready", "own", skill.id)}>Practise ${skill.name} alone</a></p>
  </article>`;
}

function GoodSession() {
  return html`<section><h2>A good session</h2>
    <ul class="plain">
      <li>The blocks in their order, each about as long as planned.</li>
      <li>Every ball logged as it stops, also the bad ones.</li>
      <li>One ball, one chance in the random block.</li>
      <li>In the test, start again without hurry.</li>
    </ul></section>`;
}
