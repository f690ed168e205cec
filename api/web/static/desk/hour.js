// The hour of a plan, drawn.

import { kindName } from "../base/words.js";
import { html } from "../base/ui.js";

/** The share of a phone's width, in per cent, that a name needs. */
const NAME = 22;

const sum = (list) => list.reduce((a, b) => a + b, 0);

/**
 * roomFor says how the names of parts with these shares, in per cent, go under a bar
 * on a phone: "roomy" when each goes under its part, "" when every other goes a line
 * lower, "crowded" when even those would meet, and parts must be as wide as their names.
 */
export function roomFor(shares) {
  if (shares.every((s) => s >= NAME)) return "roomy";
  const meet = shares.slice(0, -2).some((s, i) => s + shares[i + 1] < NAME);
  // The last name begins further left where its part is narrow.
  return meet || (shares.at(-1) < NAME && sum(shares.slice(-3)) < 2 * NAME) ? "crowded" : "";
}

/**
 * Hour draws the blocks of a plan beside each other, in proportion to their shares and
 * with their names. length is the plan's minutes; a block's minutes may not be known
 * yet. What is missing to 100 per cent is left open.
 */
export function Hour({ blocks, length }) {
  const parts = blocks.filter((b) => b.share > 0);
  const rest = 100 - sum(parts.map((b) => b.share));
  return html`<ol class=${`hour ${roomFor(parts.map((b) => b.share))}`} aria-label=${`The ${length} minutes`}>${parts.map((b, i) => html`<li key=${i} class=${`hour-part ${b.kind}`} style=${{ flexGrow: b.share }}>
    <span>${kindName(b.kind)}</span><span>${b.minutes ?? "–"} min</span></li>`)}${rest > 0 && html`<li class="hour-part rest" aria-hidden="true" style=${{ flexGrow: rest }}></li>`}</ol>`;
}
