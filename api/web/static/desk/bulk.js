// The programmes of many students at once: assign, move, pause, resume, end.

import * as api from "../base/api.js";
import { route, to } from "../base/router.js";
import { count, day } from "../base/units.js";
import { Choice } from "../base/choices.js";
import { Button, Field, html, Page, useEffect, useRef, useSend, useState, Wrong } from "../base/ui.js";
import { Picker } from "./assign.js";
import { Missing, nextMonday, today, useAll } from "./parts.js";

const actions = [["assign", "Assign"], ["move", "Move to another version"], ["pause", "Pause"], ["resume", "Resume"], ["end", "End"]];

const verbs = { assign: "Assign to", move: "Move", pause: "Pause", resume: "Resume", end: "End for" };

export function Bulk() {
  const programmes = useAll("/v1/programmes?limit=200");
  const students = useAll("/v1/members?role=student&limit=200");
  const groups = useAll("/v1/groups?limit=200");
  return html`<${Page} title="Change programmes for several students" wide>
    <${Missing} what="the programmes" from=${programmes} /><${Missing} what="the students" from=${students} /><${Missing} what="the groups" from=${groups} />
    ${programmes.items && students.items && groups.items && html`<${Form} programmes=${programmes.items.filter((p) => p.published > 0)} students=${students.items} groups=${groups.items} />`}
  </${Page}>`;
}

/** startingWith are the students that an address names: a group's, or one by one. */
export function startingWith(query, groups) {
  const group = groups.find((g) => g.id === query.get("group"));
  return new Set([...(group?.student_ids ?? []), ...query.getAll("student")]);
}

function Form({ programmes, students, groups }) {
  const { query } = route.value;
  const [picked, setPicked] = useState(() => startingWith(query, groups));
  const [form, set] = useState({ action: query.get("action") ?? "assign", programme_id: query.get("programme") ?? programmes[0]?.id ?? "", start_date: nextMonday(), from: today() });
  const [results, setResults] = useState(null);
  const { action } = form;
  const programme = programmes.find((p) => p.id === form.programme_id);
  const needs = action === "assign" || action === "move";
  const send = useSend(async () => {
    setResults(null);
    const body = { action, student_ids: [...picked], programme_id: form.programme_id || undefined };
    if (needs) body.version = Number(form.version || programme?.published) || undefined;
    if (action === "assign") body.start_date = form.start_date;
    if (action === "pause") Object.assign(body, { from: form.from || undefined, until: form.until || undefined, reason: form.reason || undefined });
    setResults({ action, all: (await api.post("/v1/assignments/bulk", body)).results });
  });
  const pick = (id, on) => setPicked((s) => new Set(on ? [...s, id] : [...s].filter((x) => x !== id)));
  const choose = (change) => (setResults(null), set({ ...form, ...change }));
  const input = (name) => ({ value: form[name] ?? "", error: send.at(`/${name}`), onInput: (e) => choose({ [name]: e.currentTarget.value }) });
  return html`${results && html`<${Results} results=${results} />`}
    <form onSubmit=${send.run}>
    <${Choice} label="What to do" value=${action} options=${actions} onChange=${(a) => choose({ action: a, version: "", programme_id: a === "assign" || a === "move" ? form.programme_id || (programmes[0]?.id ?? "") : "" })} />
    <div class="trio wide-first">
      <${Field} as="select" label="Which programme" error=${send.at("/programme_id")} value=${form.programme_id} onChange=${(e) => choose({ programme_id: e.currentTarget.value, version: "" })}>${!needs && html`<option value="">All their programmes</option>`}${programmes.map((p) => html`<option value=${p.id}>${p.name}</option>`)}</${Field}>
      ${needs && programme && html`<${Field} as="select" label="Version" error=${send.at("/version")} value=${form.version || programme.published} onChange=${(e) => choose({ version: e.currentTarget.value })}>${Array.from({ length: programme.published }, (_, i) => html`<option value=${programme.published - i}>${programme.published - i}${i === 0 ? " (latest)" : ""}</option>`)}</${Field}>`}
      ${action === "assign" && html`<${Field} label="First day of week 1" type="date" required ...${input("start_date")} />`}
      ${action === "pause" && html`<${Field} label="First day of the pause" type="date" required ...${input("from")} /><${Field} label="First day after it, if known" type="date" ...${input("until")} /><${Field} label="Why" maxlength="400" ...${input("reason")} />`}
    </div>
    ${groups.length > 0 && html`<${Field} as="select" class="form" label="Add the students of a group" value="" onChange=${(e) => groups.find((g) => g.id === e.currentTarget.value)?.student_ids.forEach((id) => pick(id, true))}><option value="">Choose a group</option>${groups.map((g) => html`<option value=${g.id}>${g.name}, ${count(g.student_ids.length, "student")}</option>`)}</${Field}>`}
    <${Picker} label="Students" students=${students} picked=${picked} pick=${pick} />
    <div role="alert"><${Wrong} problem=${send.problem} /></div>
    <${Button} kind="main" type="submit" busy=${send.busy} disabled=${picked.size === 0 || (needs && !programme)}>${picked.size ? `${verbs[action]} ${count(picked.size, "student")}` : actions.find(([a]) => a === action)[1]}</${Button}>
  </form>`;
}

function Results({ results: { action, all } }) {
  const heading = useRef(null);
  useEffect(() => heading.current?.focus(), []);
  const done = all.filter((r) => !r.problem);
  const refused = all.filter((r) => r.problem);
  return html`<section class="panel" role="status"><h2 ref=${heading} tabindex="-1">Done for ${done.length} of ${count(all.length, "student")}</h2>
    ${refused.length > 0 && html`<h3>Not changed</h3><ul class="plain">${refused.map((r) => html`<li key=${r.student_id}><strong>${r.name ?? "A student"}</strong>: ${r.problem.detail}${r.problem.errors?.map((e) => ` ${e.detail}.`).join("") ?? ""}</li>`)}</ul>`}
    ${done.length > 0 && html`<details open=${done.length <= 12}><summary>Changed: ${done.length}</summary><ul class="plain">${done.map((r) => html`<li key=${r.student_id}><a href=${to("student", r.student_id)}>${r.name}</a>: ${r.assignments.map((a) => doneText(action, a)).join("; ")}</li>`)}</ul></details>`}
  </section>`;
}

function doneText(action, a) {
  const pause = a.pauses.at(-1);
  switch (action) {
    case "assign": return `version ${a.version} from ${day(a.start_date)}`;
    case "move": return `version ${a.version} now${movedText(a.moved_weeks)}`;
    case "pause": return `paused from ${day(pause.from)}${pause.until ? ` until ${day(pause.until)}` : ""}`;
    case "resume": return "goes on";
    default: return "ended";
  }
}

/** movedText warns of weeks that changed places between two versions. */
export function movedText(weeks) {
  if (!weeks?.length) return "";
  const texts = weeks.map((w) => (w.counts_for ? `week ${w.week} of version ${w.version} counts as week ${w.counts_for}` : `week ${w.week} of version ${w.version} is no longer in it`));
  return `. Weeks have changed places: ${texts.join(", ")}`;
}
