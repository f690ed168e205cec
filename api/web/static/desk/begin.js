// Where a coach begins: a programme of one week for each skill, and skills of
// our own to take and change.

import * as api from "../base/api.js";
import { useLoad } from "../base/load.js";
import { go, to } from "../base/router.js";
import { near } from "../base/units.js";
import { tierText } from "../base/words.js";
import { Choice } from "../base/choices.js";
import { Button, Field, html, useRef, useSend, useState, Wrong } from "../base/ui.js";
import { newWeek } from "./fit.js";
import { Missing, useAll } from "./parts.js";
import { skillKindName } from "../base/skillkinds.js";

/** useStarting gives the starting points that the academy has not taken, going by names. */
function useStarting(skills) {
  const points = useLoad("/v1/starting-points");
  const all = points.body?.items ?? [];
  const taken = new Set((skills ?? []).map((s) => s.name));
  return { from: points, all, left: all.filter((p) => !taken.has(p.skill.name)) };
}

/** briefly says a ladder on one line: "3, 5, 8 in a row inside 7 ft". */
export function briefly({ tiers }) {
  const groups = [];
  for (const t of tiers) {
    if (groups.at(-1)?.[0].radius_m === t.radius_m) groups.at(-1).push(t);
    else groups.push([t]);
  }
  return groups.map((g) => `${g.map((t) => t.run).join(", ")} in a row inside ${near(g[0].radius_m)}`).join("; ");
}

/** NewProgramme begins a programme with a week for each skill that is ticked, in that order. */
export function NewProgramme() {
  const skills = useAll("/v1/skills?limit=200");
  const starting = useStarting(skills.items);
  const [name, setName] = useState("");
  const [parts, setParts] = useState("equal");
  const [picked, setPicked] = useState([]);
  const made = useRef(new Map()); // skills that were taken, should the rest fail
  const pick = (key, on) => setPicked((all) => (on ? [...all, key] : all.filter((x) => x !== key)));
  const send = useSend(async () => {
    const known = new Map(skills.items.map((s) => [s.id, s]));
    const content = { name, weeks: [] };
    for (const key of picked) {
      const skill = known.get(key) ?? (await take(starting.all.find((p) => p.key === key), made.current));
      known.set(skill.id, skill);
      const suggested = parts === "ours" ? starting.all.find((p) => p.skill.kind === skill.kind)?.plan.blocks : undefined;
      content.weeks.push(newWeek(content, skill.id, known, suggested));
    }
    if (picked.length === 0) content.weeks.push(newWeek(content, undefined, known));
    go(to("programme", (await api.post("/v1/programmes", content)).id));
  });
  const option = (key, label, about) => html`<label class="option" key=${key}><input type="checkbox" checked=${picked.includes(key)} onChange=${(e) => pick(key, e.currentTarget.checked)} />
    <span>${label}${picked.includes(key) && html` <strong class="small">week ${picked.indexOf(key) + 1}</strong>`}<span class="line small">${about}</span></span></label>`;
  return html`<section class="panel"><h2>Write a new programme</h2><form onSubmit=${send.run}>
    <${Field} class="form" label="Name" required maxlength="120" value=${name} error=${send.at("/name")} onInput=${(e) => setName(e.currentTarget.value)} />
    <${Missing} what="the skills" from=${skills} />
    ${skills.items?.length > 0 && html`<fieldset class="choice begin"><legend>A week for each of your skills that you tick</legend><div class="options">${skills.items.map((s) => option(s.id, s.name, briefly(s.ladder)))}</div></fieldset>`}
    ${skills.items && starting.left.length > 0 && html`<fieldset class="choice begin"><legend>${skills.items.length > 0 ? "Or for skills of ours" : "A week for each skill of ours that you tick"}</legend>
      <p class="hint">Examples of ours: the skill becomes yours, to change as you like.</p>
      <div class="options">${starting.left.map((p) => option(p.key, p.skill.name, briefly(p.skill.ladder)))}</div></fieldset>`}
    <${Choice} label="Split of the hour" value=${parts} options=${[["equal", "Four equal parts"], ["ours", "Our split"]]} onChange=${setParts} />
    <div role="alert"><${Wrong} problem=${send.problem} /></div><${Button} kind="main" type="submit" busy=${send.busy} disabled=${!skills.items}>Begin</${Button}>
  </form></section>`;
}

/** take makes a skill of a starting point, once. */
async function take(point, made = new Map()) {
  if (!made.has(point.key)) made.set(point.key, await api.post("/v1/skills", point.skill));
  return made.get(point.key);
}

/** StartingPoints are the skills of ours that an academy has not taken; open where it has none of its own. */
export function StartingPoints({ skills }) {
  const { from, left } = useStarting(skills);
  if (!from.body) return html`<${Missing} what="the starting points" from=${from} />`;
  if (left.length === 0) return null;
  const tiles = html`<p>Examples, not recommendations: take one and change it as you like.</p>
    <ul class="tiles">${left.map((p) => html`<${Point} key=${p.key} point=${p} />`)}</ul>`;
  if (skills.length === 0) return html`<section><h2>Or begin with one of ours</h2>${tiles}</section>`;
  return html`<details class="panel"><summary>Ready-made skills: ${left.length}</summary>${tiles}</details>`;
}

function Point({ point: p }) {
  const send = useSend(async () => go(to("skill", (await take(p)).id)));
  return html`<li class="panel"><h3>${p.skill.name}</h3><p class="small">${skillKindName(p.skill.kind)}</p><p class="text">${p.skill.text}</p>
    <ol class="plain">${p.skill.ladder.tiers.map((t) => html`<li>${tierText(t)}</li>`)}</ol>
    <${Button} busy=${send.busy} aria-label=${`Take ${p.skill.name}`} onClick=${send.run}>Take it</${Button}><${Wrong} problem=${send.problem} /></li>`;
}
