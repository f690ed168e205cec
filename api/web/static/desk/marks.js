// Balls as marks, in the shapes of the targets: a dashed ring out, a ring in, a
// disc holed.

import { html } from "../base/ui.js";
import { outcomeName } from "../base/words.js";

/** rows cuts balls, numbered from first, behind each that was out: { inside, out }. */
function rows(balls, first) {
  const found = [];
  let row;
  balls.forEach(({ outcome }, i) => {
    if (!row) found.push((row = { inside: [], out: [] }));
    row[outcome === "out" ? "out" : "inside"].push({ outcome, n: first + i });
    if (outcome === "out") row = null;
  });
  return found;
}

/**
 * Marks draws balls in order, oldest first; those in a row stand together, underlined
 * from two on. what names them for who cannot see them, first is the number of the
 * first, and the latest moves when it comes if live.
 */
export function Marks({ balls, what, first = 0, live = false }) {
  const last = first + balls.length - 1;
  const mark = ({ outcome, n }) => html`<span key=${n} class=${`mark-ball ${outcome} ${live && n === last ? "latest" : ""}`}></span>`;
  return html`<p class="marks" role="img" aria-label=${`${what}, oldest first: ${balls.map((b) => outcomeName(b.outcome).toLowerCase()).join(", ")}`}>${rows(balls, first).map(
    ({ inside, out }) => html`<span class="mark-row" key=${[...inside, ...out][0].n}>${inside.length > 0 && html`<span class=${inside.length > 1 ? "mark-run" : ""}>${inside.map(mark)}</span>`}${out.map(mark)}</span>`,
  )}</p>`;
}
