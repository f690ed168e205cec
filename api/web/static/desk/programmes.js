// Programmes: the list.

import { to } from "../base/router.js";
import { day } from "../base/units.js";
import { Switch } from "../base/choices.js";
import { html, Page, useState } from "../base/ui.js";
import { NewProgramme } from "./begin.js";
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
      <p class="row tools"><a class="button" href=${to("programme", p.id)} aria-label=${`Edit ${p.name}`}>Edit</a>${p.published > 0 && html`<a class="button" href=${to("versions", p.id)} aria-label=${`Versions of ${p.name}`}>Versions</a><a class="button" href=${to("cohort", p.id)} aria-label=${`Students of ${p.name}`}>Students</a><a class="button" href=${`${to("assign")}?programme=${p.id}`} aria-label=${`Assign ${p.name}`}>Assign</a>`}</p></li>`)}</ul>`}
    <${Switch} label="Show archived ones as well" on=${archived} onChange=${setArchived} />
    <${NewProgramme} />
  </${Page}>`;
}
