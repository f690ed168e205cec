// Parts that several of the student's pages share.

import { count, fars, near } from "../base/units.js";
import { clubText, kindName, kindText, tierText } from "../base/words.js";
import { html, useEffect, useState } from "../base/ui.js";
import { openTiers } from "./plan.js";

/** The width of a letter below the bar, in per cent of a phone's width. */
const LETTER = 2.4;

/**
 * placed gives each block's name a place in one row below the bar, from the left in
 * per cent; null where it has no room, the shortest blocks first. The minutes stand
 * with the names unless more names have room without.
 */
export function placed(blocks) {
  const [full, short] = [true, false].map((minutes) => roomFor(blocks, minutes));
  const shown = (names) => names.filter((n) => n.left !== null).length;
  return shown(short) > shown(full) ? short : full;
}

function roomFor(blocks, withMinutes) {
  const bySize = blocks.toSorted((a, b) => a.minutes - b.minutes);
  for (let without = 0; ; without++) {
    const names = row(blocks, withMinutes, bySize.slice(0, without));
    if (without === blocks.length || names.filter((n) => n.left === null).length === without) return names;
  }
}

function row(blocks, withMinutes, leftOut) {
  const total = blocks.reduce((sum, b) => sum + b.minutes, 0);
  let [at, free] = [0, 0];
  return blocks.map((block) => {
    const text = withMinutes ? `${kindName(block.kind)} ${block.minutes}` : kindName(block.kind);
    const width = LETTER * text.length;
    const begins = at;
    at += (100 * block.minutes) / total;
    const left = Math.min(Math.max(begins, free), 100 - width);
    if (leftOut.includes(block) || left < free || left >= at) return { text, left: null };
    free = left + width + 1.5 * LETTER;
    return { text, left };
  });
}

/** Bar is the blocks of a plan side by side, each as wide as its minutes. */
export function Bar({ blocks, label = "The blocks, with their minutes" }) {
  const names = placed(blocks);
  return html`<ol class="bar" aria-label=${label}>${blocks.map(({ kind, minutes }, i) => html`<li class=${kind} style=${{ flexGrow: minutes }}>
    <span class="unseen">${kindName(kind)} ${minutes}</span>${names[i].left !== null && html`<span class="bar-name" aria-hidden="true" style=${{ left: `${names[i].left}%` }}>${names[i].text}</span>`}</li>`)}</ol>`;
}

/** room says how many balls a block's minutes have room for at the student's pace, where the service told. */
const room = ({ kind, balls }) => (balls ? `, about ${count(balls, kind === "playout" ? "place" : "ball")}` : "");

/** BlockText is a block in plain words. */
export function BlockText({ block, skill }) {
  const { drill = {} } = block;
  return html`<article class="block">
    <h3><span class="block-kind">${kindName(block.kind)}</span> <span class="block-minutes">${block.minutes} min${room(block)}</span></h3>
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

/** useModule loads what only some blocks need, where that is wanted; null until it is there. */
function useModule(wanted, load) {
  const [module, set] = useState(null);
  useEffect(() => void (wanted && load().then(set, () => {})), [wanted]);
  return wanted ? module : null;
}

/** useStations loads what sets up stations. */
export const useStations = (wanted) => useModule(wanted, () => import("./stations.js"));

/** usePlayout loads what balls are played out with. */
export const usePlayout = (wanted) => useModule(wanted, () => import("./playout.js"));
