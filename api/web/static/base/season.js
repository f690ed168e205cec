// A student's season: the goal, the competitions and the off-season. The student and
// whoever teaches them set it alike.

import * as api from "./api.js";
import { refreshed, useLoad } from "./load.js";
import { count, day, isoDay } from "./units.js";
import { Button, Failed, Field, html, useSend, useState, Wrong } from "./ui.js";

/** How many competitions a season has at most. */
const MOST = 30;

const DAY = 86_400_000;

export const seasonPath = (student) => `/v1/students/${student}/season`;

const daysUntil = (date, today) => Math.round((Date.parse(date) - Date.parse(today)) / DAY);

/** lastOf is a competition's last day. */
const lastOf = (c) => new Date(Date.parse(c.date) + ((c.days ?? 1) - 1) * DAY).toISOString().slice(0, 10);

/** competitionText says a competition: "Spring cup, 30 May 2026, in 12 days". */
export function competitionText(c, today = isoDay(Date.now())) {
  const n = daysUntil(c.date, today);
  const when = n > 1 ? `in ${count(n, "day")}` : n === 1 ? "tomorrow" : lastOf(c) >= today ? "now" : "over";
  return `${c.name}, ${day(c.date)}${c.days > 1 ? ` to ${day(lastOf(c))}` : ""}, ${when}`;
}

/** offText says when the off-season is, or that it is over. */
function offText({ from, until }, today) {
  return `Off-season ${until < today ? "was " : ""}from ${day(from)} to ${day(until)}.`;
}

/** nextOf is the first competition that is not over. */
const nextOf = (season, today) => season.competitions?.find((c) => lastOf(c) >= today);

/** Coming is the season in a line, for a page about today; href is where it is set. */
export function Coming({ student, href }) {
  const { body } = useLoad(seasonPath(student));
  if (!body) return null;
  const today = isoDay(Date.now());
  const next = nextOf(body, today);
  const off = body.off_season?.from <= today && today <= body.off_season?.until;
  const text = off ? `Off-season until ${day(body.off_season.until)}` : next ? competitionText(next, today) : body.goal ? `Your goal: ${body.goal}` : "";
  return html`<p class="season-coming"><a class="button" href=${href}>${text || "Set a goal and dates"}</a></p>`;
}

/** Season shows a student's season; whose is "your" or a name with its s. */
export function Season({ student, whose }) {
  const season = useLoad(seasonPath(student));
  const [open, show] = useState(false);
  const { body } = season;
  if (!body) return season.problem ? html`<${Failed} what="The season" problem=${season.problem} retry=${season.reload} />` : null;
  if (open) return html`<${SeasonForm} student=${student} season=${body} whose=${whose} close=${() => show(false)} />`;
  const today = isoDay(Date.now());
  const ahead = (body.competitions ?? []).filter((c) => lastOf(c) >= today);
  const over = (body.competitions ?? []).filter((c) => lastOf(c) < today);
  return html`<div>
    ${body.goal && html`<p class="text">“${body.goal}”</p>`}
    ${ahead.length > 0 ? html`<ul class="plain">${ahead.map((c) => html`<li key=${c.id}>${competitionText(c, today)}</li>`)}</ul>` : html`<p>${body.goal ? "No competition ahead." : "No goal or competition yet."}</p>`}
    ${body.off_season && html`<p>${offText(body.off_season, today)}</p>`}
    ${over.length > 0 && html`<details><summary>Over: ${over.length}</summary><ul class="plain">${over.map((c) => html`<li key=${c.id}>${c.name}, ${day(c.date)}</li>`)}</ul></details>`}
    <p><${Button} onClick=${() => show(true)}>Change ${whose} season</${Button}></p>
  </div>`;
}

function SeasonForm({ student, season, whose, close }) {
  const [goal, aim] = useState(season.goal ?? "");
  const [list, set] = useState(() => (season.competitions ?? []).map((c) => ({ ...c, days: String(c.days ?? 1) })));
  const [off, rest] = useState(season.off_season ?? { from: "", until: "" });
  const save = useSend(async () => {
    const competitions = list.map(({ id, name, date, days }) => ({ ...(id ? { id } : {}), name: name.trim(), date, days: Number(days) || 1 }));
    await api.put(seasonPath(student), { goal: goal.trim(), competitions, ...(off.from || off.until ? { off_season: off } : {}) });
    await refreshed(seasonPath(student));
    close();
  });
  const edit = (i, change) => set(list.map((c, j) => (j === i ? { ...c, ...change } : c)));
  const input = (i, name) => ({ value: list[i][name], onInput: (e) => edit(i, { [name]: e.currentTarget.value }), error: save.at(`/competitions/${i}/${name}`) });
  return html`<form class="season-form" onSubmit=${save.run}>
    <${Field} as="textarea" rows="2" label=${whose === "your" ? "Your goal, in your own words" : "Goal, in the student's own words"} maxlength="300" value=${goal} error=${save.at("/goal")} onInput=${(e) => aim(e.currentTarget.value)} />
    <fieldset class="season-list"><legend>Competitions</legend>
      <ul>${list.map((c, i) => html`<li key=${i}>
        <${Field} label="Name" maxlength="80" required ...${input(i, "name")} />
        <${Field} label="First day" type="date" required ...${input(i, "date")} />
        <${Field} label="Days" type="number" min="1" max="14" required ...${input(i, "days")} />
        <${Button} kind="quiet" aria-label=${`Remove ${c.name || "this competition"}`} onClick=${() => set(list.filter((_, j) => j !== i))}>×</${Button}></li>`)}</ul>
      <p class="row"><${Button} disabled=${list.length >= MOST} onClick=${() => set([...list, { name: "", date: "", days: "1" }])}>Add a competition</${Button}></p>
      <p class="hint">For the three weeks before each, ${whose === "your" ? "your coach is offered a plan with less technique and more balls that count" : "Next week offers you less technique and more balls that count"}.</p>
    </fieldset>
    <fieldset class="season-off"><legend>Off-season</legend>
      <div class="pair"><${Field} label="First day" type="date" required=${off.until !== ""} value=${off.from} error=${save.at("/off_season/from")} onInput=${(e) => rest({ ...off, from: e.currentTarget.value })} />
        <${Field} label="Last day" type="date" required=${off.from !== ""} value=${off.until} error=${save.at("/off_season/until")} onInput=${(e) => rest({ ...off, until: e.currentTarget.value })} /></div>
      <p class="hint">No practice is expected then. Leave both empty if there is none. The programme's weeks go on unless ${whose === "your" ? "your coach pauses" : "you pause"} it.</p>
    </fieldset>
    <div class="row savebar"><${Wrong} problem=${save.problem} />
      <${Button} kind="main" type="submit" busy=${save.busy}>Save the season</${Button}><${Button} onClick=${close}>Cancel</${Button}></div>
  </form>`;
}
