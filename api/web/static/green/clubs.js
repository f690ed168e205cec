// The student's own clubs.

import { who } from "../base/account.js";
import { Bag } from "../base/bag.js";
import { html, Page } from "../base/ui.js";

export function Clubs() {
  return html`<${Page} title="Your clubs" lead="Your plan then names your own clubs, and says where to land each.">
    <${Bag} student=${who.value.membership.member_id} whose="your" />
  </${Page}>`;
}
