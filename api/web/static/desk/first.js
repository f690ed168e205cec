// The first steps of an academy that has no students yet.

import { who } from "../base/account.js";
import { to } from "../base/router.js";
import { html } from "../base/ui.js";
import { useAll } from "./parts.js";

export function FirstSteps() {
  const skills = useAll("/v1/skills");
  const programmes = useAll("/v1/programmes");
  const invitations = useAll("/v1/invitations");
  const published = programmes.items?.some((p) => p.published > 0);
  const steps = [
    ["Describe a skill", "What is trained, and its ladder: how many in a row, inside what circle. Or take one of our examples.", to("skills"), skills.items?.length > 0],
    ["Write a programme", "Weeks, plans and blocks; publish it when it is ready.", to("programmes"), published],
    ["Invite your students", "Each gets a link or a code, and joins on a phone.", to("invitations"), invitations.items?.length > 0],
    ["Assign the programme", "From a start date; their phones then show what to do.", to("assign"), false],
  ];
  return html`<section class="empty"><h2>You have no students at ${who.value.membership.academy_name} yet</h2>
    <p>Four steps; you can invite students at any time:</p>
    <ol class="steps">${steps.map(([title, text, href, done]) => html`<li><a href=${href}>${title}</a>${done ? html` <strong>Done</strong>` : ""}<br /><span class="small">${text}</span></li>`)}</ol>
  </section>`;
}
