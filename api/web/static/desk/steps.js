// Small drawings that a line has room for: a ladder as steps, and a rate as a line.
// Each says in words what it shows.

import { cut } from "../base/chart.js";
import { count, percent } from "../base/units.js";
import { tierText } from "../base/words.js";
import { html } from "../base/ui.js";

/** The widest that one step is drawn, in CSS pixels. */
const STEP = 14;

/** stepsText says where a student stands at a skill: "2 of 4 steps passed; next: 9 in a row inside 5 ft". */
export function stepsText({ held, tiers, next_tier: next }) {
  if (!tiers) return "no steps";
  return `${held} of ${count(tiers, "step")} passed${next ? `; next: ${tierText(next)}` : ""}`;
}

/**
 * Steps draws the ladder of skill (as the dashboard has it) as steps from the left:
 * those passed filled, the next outlined heavy, later ones thin. size is its height
 * in CSS pixels. quiet leaves the words to what stands beside it.
 */
export function Steps({ skill, size = 22, quiet = false }) {
  const { held, tiers } = skill;
  if (!tiers) return null;
  const step = Math.min(STEP, 96 / tiers);
  const width = step * tiers;
  const high = (i) => 4 + ((size - 6) * (i + 1)) / tiers;
  const kind = (i) => (i < held ? "passed" : i === held ? "next" : "later");
  const words = quiet ? { "aria-hidden": "true" } : { role: "img", "aria-label": stepsText(skill) };
  return html`<svg class="step-drawing" width=${width + 2} height=${size} viewBox=${`0 0 ${width + 2} ${size}`} ...${words}>
    ${Array.from({ length: tiers }, (_, i) => html`<rect class=${kind(i)} x=${1 + i * step + 1} y=${size - 1 - high(i)} width=${step - 2} height=${high(i)} />`)}</svg>`;
}

/** lineText says a line of rates: "from 48 to 59 % over 12 sessions". */
export const lineText = (line) => `rate ${line.length < 2 ? percent(line[0]) : `from ${Math.round(100 * line[0])} to ${percent(line.at(-1))} over ${count(line.length, "session")}`}`;

/** Line draws the rates of the last sessions; its scale is cut to where they lie. */
export function Line({ line, width = 72, height = 22 }) {
  if (!line || line.length < 2) return null;
  const [low, high] = cut(Math.min(...line), Math.max(...line), { span: 0.2, by: 0.05 });
  const x = (i) => 2 + (i / (line.length - 1)) * (width - 7);
  const y = (v) => 3 + ((high - v) / (high - low)) * (height - 6);
  return html`<svg class="small-line" width=${width} height=${height} viewBox=${`0 0 ${width} ${height}`} role="img" aria-label=${lineText(line)}>
    <polyline points=${line.map((v, i) => `${x(i).toFixed(1)},${y(v).toFixed(1)}`).join(" ")} />
    <circle cx=${x(line.length - 1)} cy=${y(line.at(-1))} r="2.5" /></svg>`;
}
