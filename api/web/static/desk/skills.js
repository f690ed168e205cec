// Skills: what the academy trains, each with its ladder.

import { Ladder } from "../base/ladder.js";
import { to } from "../base/router.js";
import { count } from "../base/units.js";
import { Switch } from "../base/choices.js";
import { html, Page, useState } from "../base/ui.js";
import { StartingPoints } from "./begin.js";
import { AsOf, Missing, useAll } from "./parts.js";
import { ProgrammeNav } from "./programmes.js";
import { skillKindName } from "../base/skillkinds.js";

export function Skills() {
  const [archived, setArchived] = useState(false);
  const list = useAll(`/v1/skills?limit=200${archived ? "&archived=true" : ""}`);
  return html`<${Page} title="Skills and ladders" wide>
    <${ProgrammeNav} current="skills" />
    <p><a class="button main" href=${to("skill", "new")}>New skill</a></p>
    <${Missing} what="the skills" from=${list} /><${AsOf} from=${list} />
    ${list.items?.length === 0 && html`<section class="empty"><h2>No skills yet</h2><p>A skill is what is trained, such as a pitch to a landing spot. Its ladder is a few steps, each harder than the one before: so many balls in a row inside a circle.</p></section>`}
    <ul class="tiles">${list.items?.map((s) => html`<li key=${s.id} class="panel"><h2><a href=${to("skill", s.id)}>${s.name}</a></h2>
      <p class="small">${skillKindName(s.kind)}, ${count(s.ladder.tiers.length, "step")}${s.ladder.test_only ? ", in tests only" : s.ladder.technique_counts ? ", in technique, too" : ""}.${s.archived_at ? " Archived." : ""}</p>
      <${Ladder} tiers=${s.ladder.tiers} /></li>`)}</ul>
    ${list.items && html`<${StartingPoints} skills=${list.items} />`}
    <${Switch} label="Show archived ones as well" on=${archived} onChange=${setArchived} />
  </${Page}>`;
}
