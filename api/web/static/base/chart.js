// Charts by hand, as SVG: a rate over time with its band. Each has a heading, a
// sentence that says the same, and a table to switch to; marks differ by shape,
// not by colour alone, and all of it prints.

import { html, useId, useLayoutEffect, useRef, useState } from "./ui.js";

const HEIGHT = 260;
const LEFT = 58;
const RIGHT = 12;
const TOP = 14;
const BOTTOM = 34;

/**
 * BandChart draws shares from 0 to 1 over time. points are { x (an instant in
 * milliseconds), label, mean, low, high, mark }, oldest first; a mark is text
 * for a milestone at that point. columns and row make the table: row(point)
 * gives one cell for each column. height is that of the drawing, in CSS pixels.
 */
export function BandChart({ title, sentence, points, columns, row, height = HEIGHT }) {
  const [table, show] = useState(false);
  const id = useId();
  return html`<figure class="chart">
    <figcaption><h3 id=${id}>${title}</h3><p>${sentence}</p></figcaption>
    ${table ? html`<${Table} caption=${title} columns=${columns} rows=${points.map(row)} />` : html`<${Band} about=${id} sentence=${sentence} points=${points} height=${height} />`}
    <button type="button" class="button quiet" aria-pressed=${table ? "true" : "false"} onClick=${() => show(!table)}>${table ? "Show as chart" : "Show as table"}</button>
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

function Band(props) {
  const [ref, width] = useWidth();
  return html`<div ref=${ref}><${BandOf} ...${props} width=${width} /></div>`;
}

function BandOf({ about, sentence, points, width, height }) {
  const xs = points.map((p) => p.x);
  const [from, to] = [Math.min(...xs), Math.max(...xs)];
  const x = (v) => (to === from ? (LEFT + width - RIGHT) / 2 : LEFT + ((v - from) / (to - from)) * (width - LEFT - RIGHT));
  const y = (v) => TOP + (1 - v) * (height - TOP - BOTTOM);
  const path = (list, of) => list.map((p, i) => `${i ? "L" : "M"}${x(p.x).toFixed(1)} ${y(of(p)).toFixed(1)}`).join("");
  const area = `${path(points, (p) => p.high)}${path([...points].reverse(), (p) => p.low).replace("M", "L")}Z`;
  return html`<svg class="band" viewBox=${`0 0 ${width} ${height}`} role="img" aria-labelledby=${about}>
    <desc>${sentence}</desc>
    ${[0, 0.25, 0.5, 0.75, 1].map((v) => html`<g>
      <line class="grid" x1=${LEFT} x2=${width - RIGHT} y1=${y(v)} y2=${y(v)} />
      <text class="axis" x=${LEFT - 6} y=${y(v) + 4} text-anchor="end">${v * 100} %</text>
    </g>`)}
    <path class="area" d=${area} />
    <path class="line" d=${path(points, (p) => p.mean)} />
    ${points.map((p) => (p.mark ? html`<path class="mark" d=${star(x(p.x), y(p.mean))}><title>${p.mark}</title></path>` : html`<circle class="dot" cx=${x(p.x)} cy=${y(p.mean)} r="3" />`))}
    <text class="axis" x=${LEFT} y=${height - 8}>${points[0].label}</text>
    ${points.length > 1 && html`<text class="axis" x=${width - RIGHT} y=${height - 8} text-anchor="end">${points.at(-1).label}</text>`}
  </svg>`;
}

/** star is a mark that no dot can be taken for. */
function star(cx, cy) {
  const corners = Array.from({ length: 10 }, (_, i) => {
    const [r, a] = [i % 2 ? 4.5 : 10, (Math.PI * i) / 5];
    return `${i ? "L" : "M"}${(cx + r * Math.sin(a)).toFixed(1)} ${(cy - r * Math.cos(a)).toFixed(1)}`;
  });
  return `${corners.join("")}Z`;
}

/** Table is a plain table that scrolls by itself when it is too wide. */
export function Table({ caption, columns, rows }) {
  return html`<div class="scroll" tabindex="0" role="region" aria-label=${caption}><table>
    <caption>${caption}</caption>
    <thead><tr>${columns.map((c) => html`<th scope="col">${c}</th>`)}</tr></thead>
    <tbody>${rows.map((cells) => html`<tr>${cells.map((c, i) => (i ? html`<td>${c}</td>` : html`<th scope="row">${c}</th>`))}</tr>`)}</tbody>
  </table></div>`;
}
