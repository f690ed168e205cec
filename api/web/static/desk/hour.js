// The hour of a plan, drawn.

import { kindName } from "../base/words.js";
import { html } from "../base/ui.js";

/**
 * Hour draws the blocks of a plan beside each other, in proportion to their shares and
 * with their names; no part is narrower than its name. length is the plan's minutes; a
 * block's minutes may not be known yet. What is missing to 100 per cent is left open.
 */
export function Hour({ blocks, length }) {
  const rest = 100 - blocks.reduce((sum, b) => sum + b.share, 0);
  return html`<ol class="hour" aria-label=${`The ${length} minutes`}>${blocks.filter((b) => b.share > 0).map((b, i) => html`<li key=${i} class=${`hour-part ${b.kind}`} style=${{ flexGrow: b.share }}>
    <span>${kindName(b.kind)}</span><span>${b.minutes ?? "–"} min</span></li>`)}${rest > 0 && html`<li class="hour-part rest" aria-hidden="true" style=${{ flexGrow: rest }}></li>`}</ol>`;
}
