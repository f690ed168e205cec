// How much a student practises, compared with lately: a bar for each of five weeks
// and a sentence, with a caution where the service gives one.

import { day } from "./units.js";
import { ballsText } from "./words.js";
import { html, Notice } from "./ui.js";

/** The room of a week, its bar, the text above and below, and the tallest bar, in CSS pixels. */
const [SLOT, BAR, TEXT, TALL] = [58, 30, 20, 64];

/** shortDay leaves the year out: "26 Oct". */
const shortDay = (date) => day(date).replace(/ \d{4}$|^\d{4}-/, "");

/** Volume shows the load of a progress answer. */
export function Volume({ load }) {
  if (!load?.text) return null;
  const { weeks } = load;
  const most = Math.max(1, ...weeks.map((w) => w.balls));
  const height = (w) => Math.max(2, Math.round((w.balls / most) * TALL));
  const name = (w, i) => (i === weeks.length - 1 ? "now" : shortDay(w.week));
  const words = `Balls by the week. ${weeks.map((w, i) => `${i === weeks.length - 1 ? "This week" : `From ${day(w.week)}`}: ${ballsText(w.balls)}`).join("; ")}.`;
  const label = (i, y, text) => html`<text x=${(i + 0.5) * SLOT} y=${y} text-anchor="middle" font-size="13" fill="currentColor">${text}</text>`;
  return html`<div class="volume"><svg width=${weeks.length * SLOT} height=${TALL + 2 * TEXT} role="img" aria-label=${words}>${weeks.map((w, i) => html`<g>
      <rect class=${i === weeks.length - 1 ? "now" : "then"} x=${(i + 0.5) * SLOT - BAR / 2} y=${TEXT + TALL - height(w)} width=${BAR} height=${height(w)} />
      ${label(i, TEXT + TALL - height(w) - 5, w.balls)}${label(i, TALL + 2 * TEXT - 5, name(w, i))}</g>`)}</svg>
    <p>${load.text}</p></div>
    ${load.caution && html`<${Notice} kind="warn" title="Take care"><p>${load.caution} ${load.rule}</p><details><summary>Why?</summary><p>${load.why}</p></details></${Notice}>`}
    ${!load.caution && load.rule && html`<p class="small">${load.rule}</p>`}`;
}
