// Balls played out: one from a new place each time, until it is holed. Two taps a
// place: where the first stroke stopped, and how many it then took. Holed ends it.

import { count } from "../base/units.js";
import { html } from "../base/ui.js";
import { playedIn } from "../base/played.js";
import { PLACES, present } from "./log.js";

/** What a place took, as its target says it. */
const most = 5;
const targets = Array.from({ length: most - 1 }, (_, i) => i + 2);

/** HoleOut asks how many strokes it took; leaves is the ruler for what the first one left. */
export function HoleOut({ tapped, say, leaves }) {
  return html`${leaves}<div class="targets strokes" role="group" aria-label="Strokes until it was holed">
    ${targets.map((n) => html`<button type="button" class="target" aria-label=${`Holed in ${n}${n === most ? " or more" : ""}`} ...${tapped(() => say(n))}><span class="target-word">${n}${n === most ? "+" : ""}</span><span class="target-hint">${n === 2 ? "up and down" : "strokes"}</span></button>`)}
  </div>`;
}

/** Places says that all are played, where they are. */
export function Places({ record }) {
  return html`<p class="leaves none">${present(record).done.balls.length >= PLACES ? `All ${PLACES} places are played.` : ""}</p>`;
}

/** Stands is the score so far. */
export function Stands({ record }) {
  const { places, strokes, saved } = playedIn(present(record).done.balls);
  return html`<section class="stands" aria-label="How it stands">
    <p class="run"><span class="run-number">${strokes}</span> <span class="run-of">${strokes === 1 ? "stroke" : "strokes"}, ${count(places, "place")} of ${PLACES}</span></p>
    <p class="counted">${places > 0 ? `${saved} of ${places} up and down` : "No place played out yet"}</p>
  </section>`;
}
