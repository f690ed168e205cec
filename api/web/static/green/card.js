// A practice card on paper: the plan with boxes to tick by pencil.

import { to } from "../base/router.js";
import { minutes } from "../base/units.js";
import { kindName, kindText, taskText, tierText } from "../base/words.js";
import { who } from "../base/account.js";
import { Button, html, Loading, Page } from "../base/ui.js";
import { DrillFacts } from "./parts.js";
import { findPlan, useNow, openTiers, planName } from "./plan.js";

/** Card shows a plan to be printed; args are assignment, week and plan. */
export function Card({ args }) {
  const now = useNow();
  const found = findPlan(now.body, ...args);
  if (!now.body && now.loading) return html`<${Loading} what="the plan" />`;
  if (!found) return html`<${Page} title="No such plan"><p>This plan is not in the present week. <a href=${to("now")}>Go to Now.</a></p></${Page}>`;
  const { plan, week, work } = found;
  return html`<${Page} title=${planName(plan)} wide>
    <p class="screen-only row"><${Button} kind="main" onClick=${() => print()}>Print</${Button}> <a class="button" href=${to("typein", ...args)}>Type it in afterwards</a></p>
    <div class="card">
      <p class="card-head"><span>${who.value.account.name}</span><span>${work.programme_name}, week ${week.number}</span><span>Date ____________</span><span>Start ________</span></p>
      <p class="card-legend">One box a ball: leave it empty for out, draw one stroke for in, fill it for holed. A broken run starts anew.</p>
      ${plan.blocks.map((b) => html`<${CardBlock} block=${b} skill=${now.body.skills.find((s) => s.id === b.skill_id)} />`)}
      <p class="card-note">Note:</p>
      <p class="card-caution">Look before each shot. Stay behind the ball of others. Stop for lightning, and stop if it hurts.</p>
    </div>
  </${Page}>`;
}

function CardBlock({ block, skill }) {
  // As many boxes as two balls a minute make, in tens: common practice, no source.
  const boxes = Math.min(80, Math.max(10, Math.ceil((2 * block.minutes) / 10) * 10));
  const tier = block.kind === "test" && skill && openTiers(skill)[0];
  return html`<section class="card-block">
    <h2>${kindName(block.kind)} <span class="card-minutes">${minutes(block.minutes * 60)} planned, ______ spent</span></h2>
    <p>${block.skill_name}. ${block.drill?.text || kindText(block.kind)}${tier ? ` To make: ${tierText(tier)}.` : ""}</p>
    <${DrillFacts} drill=${block.drill ?? {}} />
    ${block.deck?.length ? html`<${Deck} tasks=${block.deck.slice(0, boxes)} drill=${block.drill ?? {}} />` : html`<p class="boxes" aria-hidden="true">${Array.from({ length: boxes }, (_, i) => html`<span class=${i % 10 === 9 ? "box tenth" : "box"}></span>`)}</p>`}
    <p class="card-totals"><span>Balls ______</span><span>Inside ______</span><span>Holed ______</span><span>Best run ______</span></p>
  </section>`;
}

/** Deck is the day's tasks of a random block in order, each with its box. */
function Deck({ tasks, drill }) {
  return html`${drill.more_of_misses && html`<p>Today you get more of what you missed lately.</p>`}
    <ol class="card-deck">${tasks.map((t) => html`<li><span class="box" aria-hidden="true"></span> ${taskText(t)}</li>`)}</ol>`;
}
