// Parts that several of the student's pages share.

import { fars, near } from "../base/units.js";
import { clubText, kindName, kindText, tierText } from "../base/words.js";
import { html, useEffect, useState } from "../base/ui.js";
import { openTiers } from "./plan.js";

/** The width of a letter below the bar, in per cent of a phone's width. */
const LETTER = 2.2;

/** placed gives each block's name with its minutes a place below the bar, from the left in per cent, in a row where it meets none. */
export function placed(blocks) {
  const total = blocks.reduce((sum, b) => sum + b.minutes, 0);
  const ends = []; // of the last name in each row
  let at = 0;
  return blocks.map(({ kind, minutes }) => {
    const text = `${kindName(kind)} ${minutes}`;
    const left = Math.max(0, Math.min(at, 100 - LETTER * text.length));
    const free = ends.findIndex((end) => end <= left);
    const row = free < 0 ? ends.length : free;
    ends[row] = left + LETTER * (text.length + 1);
    at += (100 * minutes) / total;
    return { text, left, row };
  });
}

/** Bar is the blocks of a plan side by side, each as wide as its minutes. */
export function Bar({ blocks, label = "The blocks, with their minutes" }) {
  const names = placed(blocks);
  const rows = 1 + Math.max(...names.map((n) => n.row));
  return html`<ol class="bar" aria-label=${label} style=${{ paddingBottom: `${1.3 * rows}em` }}>${blocks.map(({ kind, minutes }, i) => html`<li class=${kind} style=${{ flexGrow: minutes }}>
    <span style=${{ left: `${names[i].left}%`, marginTop: `${1.3 * names[i].row}em` }}>${names[i].text}</span></li>`)}</ol>`;
}

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

/** useStations loads what sets up stations, where that is wanted; null until it is there. */
export function useStations(wanted) {
  const [module, set] = useState(null);
  useEffect(() => void (wanted && import("./stations.js").then(set, () => {})), [wanted]);
  return wanted ? module : null;
}
