// A report that a coach has shared by a link. The token is in the fragment, which
// browsers send to nobody; nothing of the report is kept on this device.

import * as api from "../base/api.js";
import { CourseFacts } from "../base/course.js";
import { count, day, near } from "../base/units.js";
import { tierText } from "../base/words.js";
import { Button, Failed, html, Loading, Page, render, SkipLink, useEffect, useState } from "../base/ui.js";
import { fragment } from "./fragment.js";

function Shared() {
  const [state, set] = useState({});
  const load = async () => {
    set({});
    try {
      set({ report: await api.post("/v1/shared-reports", { token: fragment() }, { open: true }) });
    } catch (problem) {
      if (!problem.known) console.error(problem);
      set({ problem });
    }
  };
  useEffect(() => {
    load();
    addEventListener("hashchange", load);
    return () => removeEventListener("hashchange", load);
  }, []);
  if (state.report) return html`<${Written} report=${state.report} />`;
  return html`<${Page} title="Progress report">${state.problem ? html`<${Failed} what="The report" problem=${state.problem} retry=${state.problem.status === 404 ? null : load} />` : html`<${Loading} what="the report" />`}</${Page}>`;
}

function Written({ report: r }) {
  const unit = r.units;
  const open = r.skills.filter((s) => s.held < s.tiers.length);
  return html`<${Page} title=${`${r.first_name}’s progress`} lead=${`${r.academy_name}, shared by ${r.shared_by}`}>
    <p class="screen-only"><${Button} onClick=${() => print()}>Print</${Button}></p>
    ${r.words && html`<blockquote class="text">${r.words}</blockquote>`}
    <section><h2>What was achieved</h2>
      ${r.passed.length === 0 ? html`<p>${r.sessions ? `${r.first_name} has practised ${count(r.sessions, "session")}. The first step is still to come.` : `${r.first_name} is about to begin.`}</p>`
        : html`<ul class="plain">${r.passed.map((m) => html`<li><strong>${tierText(m.tier, unit)}</strong>, ${m.skill_name}${m.on ? `, ${day(m.on)}` : ""}</li>`)}</ul>`}</section>
    <section><h2>What comes next</h2>
      ${open.length === 0 && r.skills.length > 0 && html`<p>Every step is passed. Warm-ups keep the skills alive.</p>`}
      ${open.length > 0 && html`<ul class="plain">${open.map((s) => html`<li><strong>${s.name}:</strong> ${tierText(s.tiers[s.held], unit)} (step ${s.held + 1} of ${s.tiers.length})</li>`)}</ul>`}
      ${r.work.map((w) => html`<${Work} work=${w} junior=${r.junior} />`)}</section>
    ${r.course && html`<section><h2>And on the course</h2><${CourseFacts} course=${r.course} /></section>`}
    ${r.skills.some((s) => s.change) && html`<section><h2>Before and after</h2>${r.skills.filter((s) => s.change).map((s) => html`<p key=${s.name}><strong>${s.name}.</strong> ${s.change.text}</p>`)}</section>`}
    ${r.skills.some((s) => s.rate) && html`<details><summary>The numbers behind it</summary><ul class="plain">${r.skills.filter((s) => s.rate).map((s) => html`<li><strong>${s.name}:</strong> about ${Math.round(100 * s.rate.mean)} of 100 balls finish inside ${near(s.rate.radius_m, unit)} now (${Math.round(100 * s.rate.interval_80.low)} to ${Math.round(100 * s.rate.interval_80.high)}, 4 times in 5), from ${count(s.rate.balls, "ball")}.</li>`)}</ul><p class="small">Estimates are advice, not a verdict on a person.</p></details>`}
    <p class="small">This link shows the report as it is now, until ${day(r.expires_at)}.${r.junior ? " It is about a junior: please do not pass it on." : ""}</p>
  </${Page}>`;
}

function Work({ work: w, junior }) {
  const { phase, week } = w.position;
  const about = (x) => [x.title, x.skill_name].filter(Boolean).join(", ");
  const sessions = (x) => count(x.sessions, "session");
  return html`<p><strong>${w.programme_name}</strong>${phase === "upcoming" ? (junior ? " is about to begin" : ` starts on ${day(w.position.from)}`) : `, week ${week} of ${w.weeks}${phase === "paused" ? ", paused" : ""}, ${count(w.done, "session")} done`}.
    ${w.this_week && ` This week: ${about(w.this_week)}, ${sessions(w.this_week)}.`}${w.next_week && ` ${w.this_week ? "Next week" : "Week 1"}: ${about(w.next_week)}, ${sessions(w.next_week)}.`}</p>`;
}

const root = document.getElementById("app");
root.replaceChildren();
render(html`<div class="app front"><${SkipLink} /><${Shared} /></div>`, root);
