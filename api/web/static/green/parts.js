// Parts that several of the student's pages share.

import { fars, near } from "../base/units.js";
import { kindName, kindText, tierText } from "../base/words.js";
import { html } from "../base/ui.js";
import { openTiers } from "./plan.js";

/** BlockText is a block in plain words. */
export function BlockText({ block, skill }) {
  const { drill = {} } = block;
  return html`<article class="block">
    <h3><span class="block-kind">${kindName(block.kind)}</span> <span class="block-minutes">${block.minutes} min</span></h3>
    <p class="block-skill">${block.skill_name}</p>
    <p>${drill.text || kindText(block.kind)}</p>
    <${DrillFacts} drill=${drill} />
    ${block.kind === "test" && skill && openTiers(skill).length > 0 && html`<p><strong>Next:</strong> ${tierText(openTiers(skill)[0])}.</p>`}
  </article>`;
}

/** DrillFacts lists where from, how far, with what, and the target. */
export function DrillFacts({ drill }) {
  const facts = [
    ["Lie", drill.lies?.join(", ")],
    ["Distance", drill.distances_m?.length && fars(drill.distances_m)],
    ["Club", drill.clubs?.join(", ")],
    ["Flight", drill.carry_percent && `${drill.carry_percent} % in the air, ${100 - drill.carry_percent} % on the ground`],
    ["Target", drill.radius_m && `inside ${near(drill.radius_m)}`],
  ].filter(([, text]) => text);
  return html`<dl class="facts">${facts.map(([name, text]) => html`<div><dt>${name}</dt><dd>${text}</dd></div>`)}</dl>`;
}

/** TierList is a skill's ladder: what is passed and what is open. */
export function TierList({ skill }) {
  return html`<ol class="tiers">${skill.ladder.tiers.map((tier, i) => {
    const state = i < skill.held ? "Passed" : i === skill.held ? "Next" : "Later";
    return html`<li class=${`tier ${state.toLowerCase()}`}><span class="tier-state">${state}</span><span>${tierText(tier)}</span></li>`;
  })}</ol>`;
}
