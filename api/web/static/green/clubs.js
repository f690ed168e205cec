// The student's own clubs.

import { who } from "../base/account.js";
import { Bag } from "../base/bag.js";
import { html, Page } from "../base/ui.js";

export function Clubs() {
  return html`<${Page} title="Your clubs" lead="The plan names your clubs and shows where to land each one.">
    <${Bag} student=${who.value.membership.member_id} whose="your" />
  </${Page}>`;
}
