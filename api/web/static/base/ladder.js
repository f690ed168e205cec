// A skill's ladder, drawn.

import { near } from "./units.js";
import { tierText } from "./words.js";
import { html } from "./ui.js";

/** The most steps that have room for their numbers on a phone. */
const ROOM = 6;

const states = { passed: "Passed: ", next: "Next: ", later: "Later: ", plain: "" };

/**
 * Ladder draws steps from the left, each higher than the one before: those passed
 * filled, the next outlined heavy, later ones thin; all alike where it is nobody's.
 * tiers are the ladder's, held is how many of them are passed.
 */
export function Ladder({ tiers, held }) {
  const state = (i) => (held === undefined ? "plain" : i < held ? "passed" : i === held ? "next" : "later");
  return html`<ol class=${`ladder${tiers.length > ROOM ? " many" : ""}`}>${tiers.map((tier, i) => html`<li class=${state(i)} style=${{ "--rise": (i + 1) / tiers.length }}>
    <span class="unseen">${states[state(i)]}${tierText(tier)}</span>
    <span class="step-run" aria-hidden="true">${tier.run}</span><span class="step-circle" aria-hidden="true">${near(tier.radius_m)}${tier.holed ? `, ${tier.holed} holed` : ""}</span></li>`)}</ol>`;
}
