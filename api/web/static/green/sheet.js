// A plan on paper, with boxes to tick by pencil.

import { minutes, near } from "../base/units.js";
import { clubText, kindName, kindText, taskText, tierText } from "../base/words.js";
import { paces, run, stationsOf, usualSpot } from "../base/ground.js";
import { letter, Side } from "../base/side.js";
import { html } from "../base/ui.js";
import { DrillFacts } from "./parts.js";
import { PLACES } from "./log.js";
import { openTiers, planName } from "./plan.js";

/** CardSheet is one plan of a student; named says whether the plan's name is on it. */
export function CardSheet({ name, work, week, plan, skills, named, now, green }) {
  return html`<div class="card">
    <p class="card-head"><span>${name}</span><span>${work.programme_name}, week ${week.number}${named ? `: ${planName(plan)}` : ""}</span><span>Date ____________</span><span>Start ________</span></p>
    <p class="card-legend">One box a ball: leave it empty for out, draw one stroke for in, fill it for holed. Start again after a ball that is out.</p>
    ${plan.blocks.map((b) => html`<${CardBlock} block=${b} skill=${skills.find((s) => s.id === b.skill_id)} now=${now} green=${green} />`)}
    <p class="card-note">Note:</p>
    <p class="card-caution">Look before each shot. Never stand in front of anyone who is hitting. Stop for lightning, and stop if it hurts.</p>
  </div>`;
}

function CardBlock({ block, skill, now, green }) {
  // As many boxes as the student's pace fills, and some more, in tens.
  const boxes = Math.min(80, Math.max(10, Math.ceil((1.2 * (block.balls ?? 2 * block.minutes)) / 10) * 10));
  const playout = block.kind === "playout";
  const tier = block.kind === "test" && skill && openTiers(skill)[0];
  return html`<section class="card-block">
    <h2>${kindName(block.kind)} <span class="card-minutes">${minutes(block.minutes * 60)} planned, ______ spent</span></h2>
    <p>${block.skill_name}. ${block.drill?.text || kindText(block.kind)}${tier ? ` To pass: ${tierText(tier)}.` : ""}</p>
    <${DrillFacts} drill=${block.drill ?? {}} />
    ${block.kind === "stations" && html`<${SetUp} drill=${block.drill ?? {}} now=${now} green=${green} />`}
    ${block.deck?.length ? html`<${Deck} tasks=${block.deck.slice(0, playout ? PLACES : boxes)} drill=${block.drill ?? {}} playout=${playout} />` : html`<p class="boxes" aria-hidden="true">${Array.from({ length: boxes / 10 }, () => html`<span class="ten">${Array.from({ length: 10 }, () => html`<span class="box"></span>`)}</span>`)}</p>`}
    ${playout ? html`<p class="card-totals"><span>Places ______</span><span>Strokes ______</span><span>Up and down ______</span></p>` : html`<p class="card-totals"><span>Balls ______</span><span>Inside ______</span><span>Holed ______</span><span>Most in a row ______</span></p>`}
  </section>`;
}

/** SetUp draws where to land the balls of stations, on a green of medium speed unless today's is known. */
function SetUp({ drill, now, green = { stimp_ft: 9, slope_deg: 0 } }) {
  const stations = stationsOf(now, drill);
  if (!stations.length) return null;
  const carry = usualSpot(stations, drill, green);
  return html`<p>Land every ball at ${paces(carry)} paces; it is in when it lands ${drill.radius_m ? `inside ${near(drill.radius_m)}` : "within a club's length"} of that spot. Green of ${green.stimp_ft} ft: ${stations.map((s, i) => `${letter(i)} ${clubText(s.name)} stops at ${paces(carry + run(s, carry, green))}`).join(", ")}. Yours landed ____ and stopped ____.</p>
    <${Side} stations=${stations} carry=${carry} green=${green} left=${now.hand === "left"} hole=${drill.distances_m?.length === 1 ? drill.distances_m[0] : undefined} />`;
}

/** Deck is the tasks of a block that deals them in order, each with its box, or a line for its strokes, in tens that stay together. */
function Deck({ tasks, drill, playout }) {
  return html`${drill.more_of_misses && html`<p>Today you get more of what you missed lately.</p>`}
    <div class="card-deck">${tens(tasks).map((ten, i) => html`<ol start=${10 * i + 1}>${ten.map((t) => html`<li>${playout ? html`<span aria-hidden="true">____</span>` : html`<span class="box" aria-hidden="true"></span>`} ${taskText(t, undefined, drill.distances_m)}</li>`)}</ol>`)}</div>`;
}

const tens = (list) => Array.from({ length: Math.ceil(list.length / 10) }, (_, i) => list.slice(10 * i, 10 * i + 10));
