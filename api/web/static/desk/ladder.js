// What a ladder takes: the service's preview of each tier.

import * as api from "../base/api.js";
import { count, number, percent } from "../base/units.js";
import { SEASON, tierText } from "../base/words.js";
import { Field, html, Notice, useEffect, useState, Wrong } from "../base/ui.js";
import { oddsText } from "./parts.js";

/** useLadder asks for the preview of a skill's tiers, when they rest; { tiers, problem }. */
export function useLadder({ kind, ladder: { tiers } }, balls) {
  const [answer, set] = useState({});
  const question = JSON.stringify({ tiers, balls, skill: kind });
  useEffect(() => {
    const abort = new AbortController();
    const timer = setTimeout(async () => {
      try {
        set({ question, ...(await api.post("/v1/calc/ladder", JSON.parse(question), { signal: abort.signal })), problem: null });
      } catch (e) {
        if (e.name !== "AbortError") set((before) => ({ ...before, problem: e }));
        if (!e.known && e.name !== "AbortError") console.error(e);
      }
    }, 250);
    return () => {
      clearTimeout(timer);
      abort.abort();
    };
  }, [question]);
  return answer;
}

/** LadderPreview shows what each tier of a skill takes at rates from 50 to 95 %. */
export function LadderPreview({ skill }) {
  const [balls, setBalls] = useState(30);
  const preview = useLadder(skill, balls);
  return html`<div class="ladder-preview">
    <${Field} class="short" label="Balls in a test" hint="That count in one session, in one block." type="number" min="1" max="500" value=${balls} onInput=${(e) => Number(e.currentTarget.value) >= 1 && setBalls(Math.trunc(Number(e.currentTarget.value)))} />
    ${preview.problem && html`<${Wrong} problem=${{ detail: preview.problem.detail ?? preview.problem.message }} />`}
    ${preview.tiers && html`<${Odds} tiers=${preview.tiers} balls=${balls} />
      ${preview.tiers.map((t, i) => t.warning && html`<${Notice} kind="warn" title=${`Tier ${i + 1}: ${tierText(t)}`}><p>${t.warning}</p></${Notice}>`)}`}
    ${!preview.tiers && !preview.problem && html`<p role="status">Working it out …</p>`}
  </div>`;
}

function Odds({ tiers, balls }) {
  const rates = tiers[0]?.rates ?? [];
  const cell = (r) => html`<td>${oddsText(r.per_session)}<span class="line small">${r.sessions === null ? "never" : r.sessions > SEASON ? `over ${SEASON}` : number(r.sessions, r.sessions < 10 ? 1 : 0)}</span></td>`;
  return html`<div class="scroll" tabindex="0" role="region" aria-label="What each tier takes"><table class="odds">
    <caption>Chance of each tier in one session of ${count(balls, "ball")} and, below it, how many sessions it takes on average, by how many balls of a hundred come to rest inside</caption>
    <thead><tr><th scope="col">Tier</th>${rates.map((r) => html`<th scope="col">${percent(r.rate)}</th>`)}<th scope="col">Even odds at</th></tr></thead>
    <tbody>${tiers.map((t) => html`<tr><th scope="row">${tierText(t)}</th>${t.rates.map(cell)}<td>${t.even_rate === null ? "no rate" : percent(t.even_rate)}</td></tr>`)}</tbody></table></div>`;
}
