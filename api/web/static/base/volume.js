// How much a student practises, compared with lately: five small bars and a
// sentence, with a caution where the service gives one.

import { day } from "./units.js";
import { ballsText } from "./words.js";
import { html, Notice } from "./ui.js";

const [BAR, GAP, HEIGHT] = [14, 5, 40];

/** Volume shows the load of a progress answer. */
export function Volume({ load }) {
  if (!load?.text) return null;
  const most = Math.max(1, ...load.weeks.map((w) => w.balls));
  const height = (w) => Math.max(2, Math.round((w.balls / most) * (HEIGHT - 4)));
  return html`<div class="volume"><svg width=${load.weeks.length * (BAR + GAP)} height=${HEIGHT} aria-hidden="true">${load.weeks.map((w, i) => html`<rect class=${i === load.weeks.length - 1 ? "now" : "then"} x=${i * (BAR + GAP) + 1} y=${HEIGHT - height(w) - 1} width=${BAR - 2} height=${height(w)}><title>Week of ${day(w.week)}: ${ballsText(w.balls)}</title></rect>`)}</svg>
    <p>${load.text}</p></div>
    ${load.caution && html`<${Notice} kind="warn" title="Take care"><p>${load.caution} ${load.rule}</p><details><summary>Why?</summary><p>${load.why}</p></details></${Notice}>`}
    ${!load.caution && load.rule && html`<p class="small">${load.rule}</p>`}`;
}
