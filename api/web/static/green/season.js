// The student's own season.

import { who } from "../base/account.js";
import { Season as Set } from "../base/season.js";
import { html, Page } from "../base/ui.js";

export function Season() {
  return html`<${Page} title="Your season" lead="What you play for, and when. Your plan can follow it.">
    <${Set} student=${who.value.membership.member_id} whose="your" />
  </${Page}>`;
}
