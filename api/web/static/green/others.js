// What few see: signing in again, and who or what does not belong here.

import { who } from "../base/account.js";
import { to } from "../base/router.js";
import { SignIn } from "../base/signin.js";
import { html, Page, SkipLink } from "../base/ui.js";

export function SignInAgain() {
  const done = () => location.replace(to("now"));
  return html`<${Page} title="Sign in again" lead="What this phone keeps stays as it is, and is sent once you are signed in.">
    <${SignIn} email=${who.value.account.email} onDone=${done} />
  </${Page}>`;
}

export function NotAStudent() {
  return html`<div class="app"><${SkipLink} /><header class="top"><a class="brand" href="/">Fringework</a></header>
    <${Page} title="For students">
      <p>You are signed in as ${who.value.account.name}, who is no student in ${who.value.membership?.academy_name ?? "any academy"}.</p>
      <p><a class="button main" href="/desk">Go to the desk</a></p>
    </${Page}></div>`;
}

export function Nowhere() {
  return html`<${Page} title="Nothing here"><p>There is no such page. <a href=${to("now")}>Go to Now.</a></p></${Page}>`;
}
