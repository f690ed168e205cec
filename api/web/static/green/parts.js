// Parts that several of the student's pages share.

import { fars, near } from "../base/units.js";
import { clubText, kindName, kindText, tierText } from "../base/words.js";
import { html } from "../base/ui.js";
import { openTiers } from "./plan.js";

/** Bar is the blocks of a plan side by side, each as wide as its minutes. */
export const Bar = ({ blocks, label = "The blocks, with their minutes" }) => html`<ol class="bar" aria-label=${label}>${blocks.map((b) => html`<li class=${b.kind} style=${{ flexGrow: b.minutes }}>
  <span>${kindName(b.kind)}</span> <span>${b.minutes}</span></li>`)}</ol>`;

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
    ["Club", drill.clubs?.map(clubText).join(", ")],
    ["Flight", drill.carry_percent && `${drill.carry_percent} % carry, ${100 - drill.carry_percent} % roll`],
    ["Target", drill.radius_m && `inside ${near(drill.radius_m)}`],
  ].filter(([, text]) => text);
  return html`<dl class="facts">${facts.map(([name, text]) => html`<div><dt>${name}</dt><dd>${text}</dd></div>`)}</dl>`;
}
