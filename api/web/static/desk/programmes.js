// Programmes: the list, and how a new one begins.

import * as api from "../base/api.js";
import { go, to } from "../base/router.js";
import { units } from "../base/settings.js";
import { day } from "../base/units.js";
import { Choice, Switch } from "../base/choices.js";
import { Button, Field, html, Page, useSend, useState, Wrong } from "../base/ui.js";
import { AsOf, Missing, Subnav, useAll } from "./parts.js";

/** ProgrammeNav is the places within this tab. */
export const ProgrammeNav = ({ current }) => html`<${Subnav} label="Programmes" current=${to(current)} places=${[[to("programmes"), "Programmes"], [to("skills"), "Skills and ladders"], [to("assign"), "Assign"], [to("import"), "Import"]]} />`;

export function Programmes() {
  const [archived, setArchived] = useState(false);
  const list = useAll(`/v1/programmes?limit=200${archived ? "&archived=true" : ""}`);
  return html`<${Page} title="Programmes" wide>
    <${ProgrammeNav} current="programmes" />
    <${Missing} what="the programmes" from=${list} /><${AsOf} from=${list} />
    ${list.items?.length === 0 && html`<section class="empty"><h2>No programmes yet</h2><p>A programme is written once and given to many: weeks, each with a skill and session plans. Begin one below, or <a href=${to("import")}>import one</a>.</p></section>`}
    ${list.items?.length > 0 && html`<ul class="tiles">${list.items.map((p) => html`<li key=${p.id} class="panel"><h2><a href=${to("programme", p.id)}>${p.name}</a></h2>
      ${p.text && html`<p class="text">${p.text}</p>`}
      <p class="small">${p.published ? `Version ${p.published} published` : "Not published yet"}; draft of ${day(p.updated_at)}.${p.archived_at ? " Archived." : ""}</p>
      <p class="row"><a class="button" href=${to("programme", p.id)} aria-label=${`Edit ${p.name}`}>Edit</a>${p.published > 0 && html`<a class="button" href=${to("versions", p.id)} aria-label=${`Versions of ${p.name}`}>Versions</a><a class="button" href=${to("cohort", p.id)} aria-label=${`Students of ${p.name}`}>Students</a><a class="button" href=${`${to("assign")}?programme=${p.id}`} aria-label=${`Assign ${p.name}`}>Assign</a>`}</p></li>`)}</ul>`}
    <${Switch} label="Show archived ones as well" on=${archived} onChange=${setArchived} />
    <${NewProgramme} />
  </${Page}>`;
}

/**
 * usualBlocks is a session as many coaches plan it: a proposal to begin with
 * (common practice), which lacks nothing but the skill.
 */
function usualBlocks() {
  const [radius, ...distances] = units.value === "metres" ? [1.5, 9, 18] : [1.524, 9.144, 18.288];
  const block = (kind, share, text, more) => ({ kind, share, drill: { text, radius_m: radius, ...more } });
  const spot = { distances_m: [distances[0]], lies: ["fairway"] };
  return [
    block("warmup", 15, "An earlier skill from its own spot. Count the run.", spot),
    block("technique", 25, "Same spot, same club, one landing spot. Go through the same routine for every ball.", spot),
    block("random", 30, "A new lie and distance for every ball: one ball, one chance.", { distances_m: distances, lies: ["fairway", "light rough"] }),
    block("test", 30, "Back to the first spot. How many in a row?", spot),
  ];
}

const starts = {
  usual: () => [{ plans: [{ name: "Session", minutes: 60, times: 2, blocks: usualBlocks() }] }],
  empty: () => [],
};

function NewProgramme() {
  const [name, setName] = useState("");
  const [from, setFrom] = useState("usual");
  const send = useSend(async () => {
    const made = await api.post("/v1/programmes", { name, weeks: starts[from]() });
    go(to("programme", made.id));
  });
  return html`<section class="panel"><h2>Write a new programme</h2><form class="form" onSubmit=${send.run}>
    <${Field} label="Name" required maxlength="120" value=${name} error=${send.at("/name")} onInput=${(e) => setName(e.currentTarget.value)} />
    <${Choice} label="Begin with" value=${from} options=${[["usual", "A week with one usual session"], ["empty", "Nothing"]]} onChange=${setFrom} />
    <${Wrong} problem=${send.problem} /><${Button} kind="main" type="submit" busy=${send.busy}>Begin</${Button}>
  </form></section>`;
}
