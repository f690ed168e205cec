// One plan before it is practised: what it holds, the cautions, and the start.

import { clockOff, store, revised } from "../base/outbox.js";
import { go, to } from "../base/router.js";
import { Button, html, Loading, Page, useSend, Wrong } from "../base/ui.js";
import { begin } from "./log.js";
import { BlockText, TierList } from "./parts.js";
import { findPlan, useNow, ownPractice, planName, toPractise } from "./plan.js";

/** Cautions are read before the first ball. */
export function Cautions() {
  return html`<section class="cautions" aria-labelledby="cautions">
    <h2 id="cautions">Before the first ball</h2>
    <ul>
      <li>Look before each shot: nobody in front of the line, or beside it.</li>
      <li>Stay behind the ball of others.</li>
      <li>Stop for lightning, and follow the course's rules.</li>
      <li>Stop if it hurts, add balls slowly, and ask a licensed professional.</li>
    </ul>
  </section>`;
}

/** Ready shows a plan: args are assignment, week and plan; or "own" and a skill. */
export function Ready({ args }) {
  const now = useNow();
  const own = args[0] === "own";
  const found = now.body && (own ? now.body.skills.find((s) => s.id === args[1]) : findPlan(now.body, ...args));
  const start = useSend(async () => {
    const record = begin(await (own ? ownPractice(now.body, found) : toPractise(now.body, found)), Date.now(), clockOff.peek());
    await store(revised(record, {}));
    go(to("practice", record.id));
  });
  if (!now.body && now.loading) return html`<${Loading} what="the plan" />`;
  if (!found) return html`<${Page} title="No such plan"><p>This plan is not in the present week. <a href=${to("now")}>Go to Now.</a></p></${Page}>`;
  const go2 = html`<${Button} kind="main" class="big" busy=${start.busy} onClick=${start.run}>Start practice</${Button}><${Wrong} problem=${start.problem} />`;
  if (own) {
    return html`<${Page} title=${found.name} lead="Practice of your own: one spot, thirty minutes, balls in a row count.">
      <${TierList} skill=${found} /><${Cautions} />${go2}</${Page}>`;
  }
  const { plan, week, work } = found;
  return html`<${Page} title=${planName(plan)} lead=${`${plan.minutes} minutes · week ${week.number} of ${work.weeks}${week.title ? ` · ${week.title}` : ""}`}>
    <ol class="blocks">${plan.blocks.map((b) => html`<li><${BlockText} block=${b} skill=${now.body.skills.find((s) => s.id === b.skill_id)} /></li>`)}</ol>
    <${Cautions} />
    ${go2}
    <p class="row"><a class="button" href=${to("card", ...args)}>Card on paper</a><a class="button" href=${to("typein", ...args)}>Type in a card</a></p>
  </${Page}>`;
}
