// A card from paper, typed in: counts instead of balls. The service keeps them
// apart, since no run or milestone can be read from counts.

import { revised, store } from "../base/outbox.js";
import { go, to } from "../base/router.js";
import { fromLocal } from "../base/local.js";
import { zone } from "../base/settings.js";
import { awayZone, isoDay, time } from "../base/units.js";
import { kindName } from "../base/words.js";
import { uuid7 } from "../base/uuid7.js";
import { Button, Field, html, Loading, Page, useEffect, useId, useRef, useSend, useState, Wrong } from "../base/ui.js";
import { findPlan, useNow, planName, toPractise } from "./plan.js";
import { ZoneField } from "./zone.js";

const members = [["minutes", "Minutes"], ["balls", "Balls"], ["inside", "In or holed"], ["holed", "Holed"], ["best_run", "Most in a row"]];

/** TypeIn is the form for a plan; args are assignment, week and plan. */
export function TypeIn({ args }) {
  const now = useNow();
  const found = findPlan(now.body, ...args);
  if (!now.body && now.loading) return html`<${Loading} what="the plan" />`;
  if (!found) return html`<${Page} title="No such plan"><p>This plan is not in the present week. <a href=${to("now")}>Go to Now.</a></p></${Page}>`;
  return html`<${Form} now=${now.body} found=${found} />`;
}

function Form({ now, found }) {
  const { plan } = found;
  const [at, setAt] = useState(awayZone() ?? zone.peek());
  const [when, setWhen] = useState({ date: isoDay(Date.now(), at), clock: time(Date.now() - plan.minutes * 60_000, at) });
  const [rows, setRows] = useState(plan.blocks.map((b) => ({ minutes: String(b.minutes), balls: "", inside: "", holed: "", best_run: "" })));
  const [note, setNote] = useState("");
  const [tried, tryIt] = useState(false);
  const wrongs = wrongsIn(rows);
  const wrongWhen = { date: when.date ? "" : "give a day", clock: when.clock ? "" : "give a time of day" };
  const bad = wrongs.some((w) => Object.keys(w).length > 0) || wrongWhen.date || wrongWhen.clock;
  const form = useRef(null);
  const save = useSend(async () => {
    tryIt(true);
    if (bad) throw Object.assign(new Error("Not stored yet: look at the marked field."), { known: true });
    const { plan: taken } = await toPractise(now, found);
    const record = typed(taken, { ...when, at }, rows, note);
    await store(revised(record, {}));
    go(to("session", record.id), { replace: true });
  });
  // Whoever is told that something is wrong is taken to it.
  useEffect(() => form.current.querySelector("[aria-invalid]")?.focus(), [save.problem]);
  const set = (i, name, value) => setRows(rows.map((r, j) => (j === i ? { ...r, [name]: value } : r)));
  return html`<${Page} title="Type in a card" lead=${`${planName(plan)}. Leave what you did not do empty.`}>
    <form class="form" ref=${form} onSubmit=${save.run} novalidate>
      <div class="pair">
        <${Field} label="Practised on" type="date" required value=${when.date} error=${tried ? wrongWhen.date : ""} onInput=${(e) => setWhen({ ...when, date: e.currentTarget.value })} />
        <${Field} label="from" type="time" required value=${when.clock} error=${tried ? wrongWhen.clock : ""} onInput=${(e) => setWhen({ ...when, clock: e.currentTarget.value })} />
        ${awayZone() && html`<${ZoneField} value=${at} onChange=${setAt} />`}
      </div>
      ${plan.blocks.map((b, i) => html`<fieldset class="counts"><legend>${kindName(b.kind)}: ${b.skill_name}</legend>
        <${Counts} row=${rows[i]} wrongs=${tried ? wrongs[i] : {}} set=${(name, value) => set(i, name, value)} />
      </fieldset>`)}
      <${Field} as="textarea" label="Note" rows="2" maxlength="4000" value=${note} onInput=${(e) => setNote(e.currentTarget.value)} />
      <div class="savebar"><${Wrong} problem=${save.problem} />
        <${Button} kind="main" type="submit" busy=${save.busy}>Store the card</${Button}></div>
    </form>
  </${Page}>`;
}

/** Counts are a block's counts side by side, and below them what is wrong. */
function Counts({ row, wrongs, set }) {
  const id = useId();
  return html`<div class="counts-row">${members.map(([name, label]) => html`<label class="field"><span>${label}</span>
      <input inputmode="numeric" value=${row[name]} aria-invalid=${wrongs[name] ? "true" : undefined} aria-describedby=${wrongs[name] ? `${id}-${name}` : undefined}
        onInput=${(e) => set(name, e.currentTarget.value)} /></label>`)}</div>
    ${members.map(([name, label]) => wrongs[name] && html`<p class="wrong" id=${`${id}-${name}`}>${label}: ${wrongs[name]}</p>`)}`;
}

const done = (row) => row.balls.trim() !== "" && Number(row.balls) > 0;
const numberOf = (text) => (text.trim() === "" ? 0 : Number(text));

/** wrongsIn tells what is wrong in each block's counts, by field. */
function wrongsIn(rows) {
  const wrongs = rows.map(wrongIn);
  if (!rows.some(done)) wrongs[0].balls ??= "give the balls of at least one block";
  return wrongs;
}

/** wrongIn holds a block's counts to each other, as the service will. */
function wrongIn(row) {
  const wrongs = {};
  for (const [name] of members) {
    if (!Number.isInteger(numberOf(row[name])) || numberOf(row[name]) < 0) wrongs[name] = "give a whole number";
  }
  if (Object.keys(wrongs).length > 0) return wrongs;
  const [balls, inside, holed, best] = ["balls", "inside", "holed", "best_run"].map((name) => numberOf(row[name]));
  if (balls > 2000) wrongs.balls = "give at most 2000";
  if (inside > balls) wrongs.inside = `give at most the ${balls} balls`;
  if (holed > inside) wrongs.holed = `give at most the ${inside} inside`;
  if (best > inside) wrongs.best_run = `give at most the ${inside} inside`;
  if (numberOf(row.minutes) > 240) wrongs.minutes = "give at most 240";
  return wrongs;
}

function typed(plan, when, rows, note) {
  const started = fromLocal(when.date, when.clock, when.at);
  const blocks = plan.blocks.flatMap((b, i) => done(rows[i]) ? [{
    plan_block: b.number, kind: b.kind, skill_id: b.skill_id, radius_m: b.radius_m, seconds: numberOf(rows[i].minutes) * 60,
    attested: { balls: numberOf(rows[i].balls), inside: numberOf(rows[i].inside), holed: numberOf(rows[i].holed), best_run: numberOf(rows[i].best_run) },
  }] : []);
  const seconds = blocks.reduce((sum, b) => sum + b.seconds, 0);
  const content = {
    assignment_id: plan.assignment_id, version: plan.version, week: plan.week, plan: plan.plan, blocks,
    started_at: new Date(started).toISOString(), ended_at: new Date(started + seconds * 1000).toISOString(),
  };
  if (when.at !== zone.peek()) content.time_zone = when.at;
  if (note) content.note = note;
  return { id: uuid7(), revision: 0, unsent: 0, content, plan };
}
