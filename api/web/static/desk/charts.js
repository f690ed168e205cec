// Charts of the desk, drawn as SVG: bars by session or by week, and a split
// against its plan. Each has a heading, a sentence and a table (base/chart.js has
// the band).

import { flag, LEFT, RIGHT, Table, useWidth } from "../base/chart.js";
import { html, useId, useState } from "../base/ui.js";

const HEIGHT = 230;
const TOP = 22;
const BOTTOM = 30;

/** Figure frames a chart: heading, sentence, and the table to switch to. draw gives the chart for a width. */
export function Figure({ title, sentence, columns, rows, draw }) {
  const [table, show] = useState(false);
  const id = useId();
  return html`<figure class="chart">
    <figcaption><h3 id=${id}>${title}</h3><p>${sentence}</p></figcaption>
    ${table ? html`<${Table} caption=${title} columns=${columns} rows=${rows} />` : html`<${Sized} draw=${draw} about=${id} />`}
    <button type="button" class="button quiet" aria-pressed=${table ? "true" : "false"} onClick=${() => show(!table)}>${table ? "Show as chart" : "Show as table"}</button>
  </figure>`;
}

function Sized({ draw, about }) {
  const [ref, width] = useWidth();
  return html`<div ref=${ref}>${draw(width, about)}</div>`;
}

/** step is a round distance between the lines of a scale up to top. */
function step(top) {
  const raw = Math.max(top, 1) / 4;
  const power = 10 ** Math.floor(Math.log10(raw));
  return Math.max(1, [1, 2, 5, 10].find((m) => m * power >= raw) * power);
}

/**
 * Bars draws one bar for each of points: { label, value, mark (text, or
 * nothing), line (a value to reach, or nothing) }.
 */
export function Bars({ title, sentence, points, unit, columns, rows }) {
  const top = Math.max(1, ...points.flatMap((p) => [p.value, p.line ?? 0]));
  const by = step(top);
  const most = Math.ceil(top / by) * by;
  const y = (v) => TOP + (1 - v / most) * (HEIGHT - TOP - BOTTOM);
  const draw = (width, about) => {
    const slot = (width - LEFT - RIGHT) / points.length;
    const bar = Math.min(36, slot * 0.7);
    const x = (i) => LEFT + slot * (i + 0.5);
    return html`<svg class="band bars" viewBox=${`0 0 ${width} ${HEIGHT}`} role="img" aria-labelledby=${about}><desc>${sentence}</desc>
      ${Array.from({ length: Math.round(most / by) + 1 }, (_, i) => i * by).map((v) => html`<g><line class="grid" x1=${LEFT} x2=${width - RIGHT} y1=${y(v)} y2=${y(v)} /><text class="axis" x=${LEFT - 6} y=${y(v) + 4} text-anchor="end">${v}</text></g>`)}
      ${points.map((p, i) => html`<rect class=${p.mark ? "bar marked" : "bar"} x=${x(i) - bar / 2} y=${y(p.value)} width=${bar} height=${Math.max(0, y(0) - y(p.value))}><title>${p.label}: ${p.value} ${unit}${p.mark ? `, ${p.mark}` : ""}</title></rect>`)}
      ${points.map((p, i) => p.line !== undefined && html`<line class="goal" x1=${x(i) - slot / 2} x2=${x(i) + slot / 2} y1=${y(p.line)} y2=${y(p.line)} />`)}
      ${points.map((p, i) => p.mark && html`<path class="mark" d=${flag(x(i), y(p.value))}><title>${p.mark}</title></path>`)}
      <text class="axis" x=${LEFT} y=${HEIGHT - 8}>${points[0].label}</text>
      ${points.length > 1 && html`<text class="axis" x=${width - RIGHT} y=${HEIGHT - 8} text-anchor="end">${points.at(-1).label}</text>`}
    </svg>`;
  };
  return html`<${Figure} title=${title} sentence=${sentence} columns=${columns} rows=${rows} draw=${draw} />`;
}

const ROW = 66;

/**
 * Split draws parts of a whole beside what was planned: { label, spent, planned,
 * text }, in per cent.
 */
export function Split({ title, sentence, parts, columns, rows }) {
  const most = Math.max(10, ...parts.flatMap((p) => [p.spent, p.planned]));
  const draw = (width, about) => {
    const w = (v) => (v / most) * (width - 150);
    const height = parts.length * ROW + 8;
    return html`<svg class="band split" viewBox=${`0 0 ${width} ${height}`} role="img" aria-labelledby=${about}><desc>${sentence}</desc>
      ${parts.map((p, i) => html`<g transform=${`translate(10 ${i * ROW + 8})`}>
        <text class="axis strong" x="0" y="12">${p.label}</text>
        <rect class="bar" x="0" y="19" width=${Math.max(1, w(p.spent))} height="14" /><text class="axis" x=${w(p.spent) + 8} y="31">${p.spentText} spent</text>
        <rect class="bar planned" x="0" y="38" width=${Math.max(1, w(p.planned))} height="14" /><text class="axis" x=${w(p.planned) + 8} y="50">${p.plannedText} planned</text></g>`)}
    </svg>`;
  };
  return html`<${Figure} title=${title} sentence=${sentence} columns=${columns} rows=${rows} draw=${draw} />`;
}
