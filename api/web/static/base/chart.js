// Charts by hand, as SVG: a rate over time with its band. Each has a heading, a
// sentence that says the same, and a table to switch to; marks differ by shape,
// not by colour alone, and all of it prints.

import { html, useId, useLayoutEffect, useRef, useState } from "./ui.js";

const HEIGHT = 230;
/** Where the columns of sessions begin and end, in CSS pixels from the sides: charts side by side share it. */
export const LEFT = 58;
export const RIGHT = 12;
const TOP = 14;
const BOTTOM = 34;

/**
 * BandChart draws shares from 0 to 1, session by session, each in a column of its own.
 * points are { label, mean, low, high, mark }, oldest first; a mark is text for a
 * milestone at that point. columns and row make the table: row(point) gives one cell
 * for each column. height is that of the drawing, in CSS pixels. The scale is cut to
 * where the band lies; the chart says where it starts when that is not 0. A brief one
 * leaves the sentence to what stands beside it; without columns so is the table.
 * lines are { before, text }: an upright line before the point of that number, counted
 * from 0, with what happened then. A line claims no cause.
 */
export function BandChart({ title, sentence, points, columns, row, height = HEIGHT, brief = false, lines = [] }) {
  const [table, show] = useState(false);
  const id = useId();
  const [low, high] = scaleOf(points);
  const cutText = low > 0 ? ` The scale starts at ${Math.round(100 * low)} %.` : "";
  return html`<figure class="chart">
    <figcaption class=${brief ? "brief" : undefined}><h3 id=${id}>${title}</h3>${brief ? cutText && html`<p class="small">${cutText}</p>` : html`<p>${sentence}${cutText}</p>`}</figcaption>
    ${table ? html`<${Table} caption=${title} columns=${columns} rows=${points.map(row)} />` : html`<${Band} about=${id} sentence=${sentence} points=${points} height=${height} lines=${lines} />`}
    ${columns && html`<button type="button" class="button quiet" aria-pressed=${table ? "true" : "false"} onClick=${() => show(!table)}>${table ? "Show as chart" : "Show as table"}</button>`}
  </figure>`;
}

/**
 * useWidth gives [ref, width]: how wide, in CSS pixels, the element with the ref
 * is, so that the text in a chart keeps its size on a phone.
 */
export function useWidth() {
  const ref = useRef(null);
  const [width, set] = useState(640);
  useLayoutEffect(() => {
    const measure = () => set(Math.max(240, Math.round(ref.current?.clientWidth || 640)));
    measure();
    const observer = new ResizeObserver(measure);
    observer.observe(ref.current);
    return () => observer.disconnect();
  }, []);
  return [ref, width];
}

/** The least that a scale spans, so that what is level looks level. */
const SPAN = 0.3;

/**
 * cut gives [low, high] of a scale for shares from 0 to 1 that lie between the given
 * ones: wide enough to show change, at least span, its ends whole multiples of by.
 */
export function cut(low, high, { span = SPAN, by = 0.1 } = {}) {
  const round = (v) => Number(v.toFixed(4));
  let [from, to] = [Math.floor(round(low / by)) * by, Math.ceil(round(high / by)) * by];
  for (let down = true; round(to - from) < span && (from > 0 || to < 1); down = !down) {
    if (down && from > 0) from -= by;
    if (!down && to < 1) to += by;
  }
  return [Math.max(0, round(from)), Math.min(1, round(to))];
}

const scaleOf = (points) => cut(Math.min(...points.map((p) => p.low)), Math.max(...points.map((p) => p.high)));

/** ticksOf gives the lines of a scale: every 10 or, on a long one, 20 per cent. */
function ticksOf(low, high) {
  const by = high - low > 0.6 ? 20 : 10;
  const first = Math.ceil(Math.round(100 * low) / by) * by;
  return Array.from({ length: Math.floor((Math.round(100 * high) - first) / by) + 1 }, (_, i) => (first + i * by) / 100);
}

function Band(props) {
  const [ref, width] = useWidth();
  return html`<div ref=${ref}><${BandOf} ...${props} width=${width} /></div>`;
}

function BandOf({ about, sentence, points, width, height, lines }) {
  const [low, high] = scaleOf(points);
  const slot = (width - LEFT - RIGHT) / points.length;
  const x = (i) => LEFT + slot * (i + 0.5);
  const y = (v) => TOP + ((high - v) / (high - low)) * (height - TOP - BOTTOM);
  const at = (i, v) => `${x(i).toFixed(1)} ${y(v).toFixed(1)}`;
  const path = (of) => points.map((p, i) => `${i ? "L" : "M"}${at(i, of(p))}`).join("");
  const back = points.map((p, i) => `L${at(i, p.low)}`).reverse().join("");
  return html`<svg class="band" viewBox=${`0 0 ${width} ${height}`} role="img" aria-labelledby=${about}>
    <desc>${sentence}</desc>
    ${ticksOf(low, high).map((v) => html`<g>
      <line class="grid" x1=${LEFT} x2=${width - RIGHT} y1=${y(v)} y2=${y(v)} />
      <text class="axis" x=${LEFT - 6} y=${y(v) + 4} text-anchor="end">${Math.round(v * 100)} %</text>
    </g>`)}
    ${low > 0 && html`<path class="cut-mark" d=${`M${LEFT - 5} ${y(low) + 8}l10 -5m-10 9l10 -5`} />`}
    ${lines.map(({ before, text }) => html`<path class="then" d=${`M${(LEFT + slot * before).toFixed(1)} ${TOP}V${height - BOTTOM}`}><title>${text}</title></path>`)}
    <path class="area" d=${`${path((p) => p.high)}${back}Z`} />
    <path class="line" d=${path((p) => p.mean)} />
    ${points.map((p, i) => (p.mark ? html`<path class="mark" d=${flag(x(i), y(p.mean))}><title>${p.mark}</title></path>` : html`<circle class="dot" cx=${x(i)} cy=${y(p.mean)} r="3" />`))}
    <text class="axis" x=${LEFT} y=${height - 8}>${points[0].label}</text>
    ${points.length > 1 && html`<text class="axis" x=${width - RIGHT} y=${height - 8} text-anchor="end">${points.at(-1).label}</text>`}
  </svg>`;
}

/** flag is a mark that no dot can be taken for: its pole stands on the point. */
export const flag = (x, y) => `M${x.toFixed(1)} ${y.toFixed(1)}v-18l12 5l-12 5`;

/** Table is a plain table that scrolls by itself when it is too wide. */
export function Table({ caption, columns, rows }) {
  return html`<div class="scroll" tabindex="0" role="region" aria-label=${caption}><table>
    <caption>${caption}</caption>
    <thead><tr>${columns.map((c) => html`<th scope="col">${c}</th>`)}</tr></thead>
    <tbody>${rows.map((cells) => html`<tr>${cells.map((c, i) => (i ? html`<td>${c}</td>` : html`<th scope="row">${c}</th>`))}</tr>`)}</tbody>
  </table></div>`;
}
