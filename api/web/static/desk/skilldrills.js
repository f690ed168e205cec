// What new blocks of a skill take from it, by kind of block.

import * as api from "../base/api.js";
import { blockKinds, kindName } from "../base/words.js";
import { Button, html, useEffect, useState } from "../base/ui.js";
import { atOf } from "./edit.js";
import { DrillFields, drillText } from "./editblock.js";

/** useUsual gives, by kind of block, the drill that is usual for a sort of shot; {} until it is known. */
function useUsual(skill) {
  const [usual, set] = useState({});
  useEffect(() => {
    let on = true;
    api.post("/v1/calc/usual-drills", { skill }).then(({ drills }) => {
      if (on) set(Object.fromEntries(drills.map(({ kind, ...drill }) => [kind, drill])));
    }, (e) => !e.known && console.error(e)); // the fields say less without it, and no more is lost
    return () => (on = false);
  }, [skill]);
  return usual;
}

/** SkillDrills edits the drills of a skill: edit gets a function that changes it. */
export function SkillDrills({ skill, edit, problems }) {
  const usual = useUsual(skill.kind);
  const own = skill.drills ?? [];
  return html`<section><h2>Drills</h2><p>New blocks start with these. Leave a field empty for the usual; the circle is the first step's. Existing programmes do not change.</p>
    ${blockKinds.map((kind) => {
      const i = own.findIndex((d) => d.kind === kind);
      return html`<${One} key=${kind} kind=${kind} own=${own[i]} usual=${usual[kind] ?? {}} radius=${skill.ladder.tiers[0]?.radius_m} at=${atOf(problems, `/drills/${i}`)} edit=${edit} />`;
    })}</section>`;
}

function One({ kind, own, usual, radius, at, edit }) {
  const { kind: _, ...given } = own ?? {};
  const set = (name, value) => edit((x) => {
    x.drills ??= [];
    let drill = x.drills.find((d) => d.kind === kind);
    if (!drill) x.drills.push((drill = { kind }));
    if (value === "" || value === 0 || value?.length === 0) delete drill[name];
    else drill[name] = value;
    x.drills = x.drills.filter((d) => Object.keys(d).length > 1);
  });
  const wrong = own && at("").error;
  return html`<details class="panel drill"><summary><strong>${kindName(kind)}:</strong> ${drillText({ ...usual, ...given, radius_m: radius })}${own ? html` <strong>Your own</strong>` : ""}${wrong ? html` <strong class="wrong">Wrong</strong>` : ""}</summary>
    ${wrong && html`<p class="wrong">${wrong}</p>`}
    <${DrillFields} drill=${given} usual=${usual} set=${set} at=${own ? at : () => ({})} />
    ${own && html`<p><${Button} kind="quiet" onClick=${() => edit((x) => (x.drills = x.drills.filter((d) => d.kind !== kind)))}>All as usual</${Button}></p>`}</details>`;
}
