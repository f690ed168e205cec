// What a ladder takes: the service's preview of each step, and who of the
// academy's students would pass it.

import * as api from "../base/api.js";
import { count, number, percent } from "../base/units.js";
import { SEASON, tierText } from "../base/words.js";
import { Field, html, Notice, useEffect, useState, Wrong } from "../base/ui.js";
import { Figure } from "./charts.js";
import { oddsText } from "./parts.js";

/** useAsked posts a question to a path once it rests; { answer, problem }. Without a path nothing is asked. */
function useAsked(path, question) {
  const [said, set] = useState({});
  const text = JSON.stringify(question);
  useEffect(() => {
    if (!path) return undefined;
    const abort = new AbortController();
    const timer = setTimeout(async () => {
      try {
        set({ answer: await api.post(path, JSON.parse(text), { signal: abort.signal }) });
      } catch (e) {
        if (e.name !== "AbortError") set((before) => ({ ...before, problem: e }));
        if (!e.known && e.name !== "AbortError") console.error(e);
      }
    }, 250);
    return () => {
      clearTimeout(timer);
      abort.abort();
    };
  }, [path, text]);
  return said;
}

/** LadderPreview shows what each step of a skill takes, and who would pass it; id is that of a skill that is kept. */
export function LadderPreview({ skill, id }) {
  const [balls, setBalls] = useState(30);
  const { tiers } = skill.ladder;
  const preview = useAsked("/v1/calc/ladder", { tiers, balls, skill: skill.kind });
  const students = useAsked(id && `/v1/skills/${id}/ladder/preview`, { tiers, balls });
  const steps = preview.answer?.tiers;
  return html`<div class="ladder-preview">
    <${Field} class="short" label="Balls in a test" hint="In one block of one session." type="number" min="1" max="500" value=${balls} onInput=${(e) => Number(e.currentTarget.value) >= 1 && setBalls(Math.min(500, Math.trunc(Number(e.currentTarget.value))))} />
    <p>Each bar: the chance, in per cent, to pass in one session of ${count(balls, "ball")}. Below it: how many of 100 balls finish inside.</p>
    ${preview.problem && html`<${Wrong} problem=${{ detail: preview.problem.detail ?? preview.problem.message }} />`}
    ${steps?.map((t, i) => html`<${Step} key=${i} step=${t} number=${i + 1} balls=${balls} students=${students.answer} />`)}
    ${!steps && !preview.problem && html`<p role="status">Working it out …</p>`}
  </div>`;
}

function Step({ step, number: n, balls, students }) {
  const theirs = students?.tiers[n - 1];
  const same = theirs && theirs.tier.run === step.run && theirs.tier.radius_m === step.radius_m;
  const sentence = step.even_rate === null ? "No rate gives even odds." : `Even odds at ${percent(step.even_rate)} inside.`;
  return html`<section class="step-preview">
    <${Figure} title=${`Step ${n}: ${tierText(step)}`} sentence=${sentence} columns=${["Balls inside", "Chance in one session", "Sessions on average"]}
      rows=${step.rates.map((r) => [percent(r.rate), oddsText(r.per_session), sessionsText(r.sessions)])} draw=${(width, about) => html`<${Chances} width=${width} about=${about} sentence=${`Chance in one session of ${count(balls, "ball")} at each rate inside. ${sentence}`} rates=${step.rates} />`} />
    ${same && html`<p class="step-students">${studentsText(theirs, students)}</p>`}
    ${step.warning && html`<${Notice} kind="warn"><p>${step.warning}</p></${Notice}>`}
  </section>`;
}

const sessionsText = (n) => (n === null ? "never" : n > SEASON ? `over ${SEASON}` : number(n, n < 10 ? 1 : 0));

/** studentsText says how many of the students have passed a step, and how many more would. */
export function studentsText({ passed, known, unknown, expected }, { students, sessions }) {
  if (students === 0) return "";
  const within = `within ${count(sessions, "session")}`;
  if (students === 1) return `Your student has ${passed ? "passed" : `not passed yet${unknown ? "; too few balls to tell" : `; ${expected < 0.5 ? "unlikely" : "likely"} ${within}`}`}.`;
  if (passed === students) return `All ${students} have passed.`;
  const would = Math.round(expected);
  if (unknown === students) return `Too few balls to tell for any of your ${students} students.`;
  const parts = [`${passed || "None"} of ${students} ${passed < 2 ? "has" : "have"} passed`];
  if (known > 0) parts.push(would === 0 ? `${passed ? "no more are" : "none is"} likely to ${within}` : `about ${would}${passed ? " more" : ""} should ${within}`);
  if (unknown > 0) parts.push(`${unknown} ${unknown === 1 ? "has" : "have"} too few balls to tell`);
  return `${parts.join("; ")}.`;
}

const HEIGHT = 150;
const TOP = 22;
const BOTTOM = 26;

/** Chances draws the chance in one session at each rate, as bars of per cent. */
function Chances({ width, about, sentence, rates }) {
  const slot = width / rates.length;
  const y = (p) => TOP + (1 - p) * (HEIGHT - TOP - BOTTOM);
  const short = (p) => (p > 0 && p < 0.005 ? "<1" : p < 1 && p > 0.995 ? ">99" : String(Math.round(100 * p)));
  return html`<svg class="band bars chances" viewBox=${`0 0 ${width} ${HEIGHT}`} role="img" aria-labelledby=${about}><desc>${sentence}</desc>
    <line class="grid" x1="0" x2=${width} y1=${y(0.5)} y2=${y(0.5)} />
    ${rates.map((r, i) => html`<g><rect class="bar" x=${slot * (i + 0.2)} width=${slot * 0.6} y=${y(r.per_session)} height=${Math.max(1, y(0) - y(r.per_session))}><title>${percent(r.rate)} inside: ${oddsText(r.per_session)}</title></rect>
      <text class="axis strong" x=${slot * (i + 0.5)} y=${y(r.per_session) - 5} text-anchor="middle">${short(r.per_session)}</text>
      <text class="axis" x=${slot * (i + 0.5)} y=${HEIGHT - 8} text-anchor="middle">${Math.round(100 * r.rate)}</text></g>`)}
  </svg>`;
}
