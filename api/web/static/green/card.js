// A practice card on paper: the plan with boxes to tick by pencil.

import { to } from "../base/router.js";
import { who } from "../base/account.js";
import { Button, html, Loading, Page } from "../base/ui.js";
import { findPlan, useNow, planName } from "./plan.js";
import { CardSheet } from "./sheet.js";
import { greenToday } from "./stations.js";

/** Card shows a plan to be printed; args are assignment, week and plan. */
export function Card({ args }) {
  const now = useNow();
  const found = findPlan(now.body, ...args);
  if (!now.body && now.loading) return html`<${Loading} what="the plan" />`;
  if (!found) return html`<${Page} title="No such plan"><p>This plan is not in the present week. <a href=${to("now")}>Go to Now.</a></p></${Page}>`;
  const { plan, week, work } = found;
  return html`<${Page} title=${planName(plan)} wide>
    <p class="screen-only row"><${Button} kind="main" onClick=${() => print()}>Print</${Button}> <a class="button" href=${to("typein", ...args)}>Type it in afterwards</a></p>
    <${CardSheet} name=${who.value.account.name} work=${work} week=${week} plan=${plan} skills=${now.body.skills} now=${now.body} green=${greenToday() ?? undefined} />
  </${Page}>`;
}
