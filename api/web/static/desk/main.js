// The coach's desk. The shell: who is signed in, where one is, and the places.
// To add a page, write a module that exports a part and name it in places; see
// README.md in api/web.

import { signOut, start, who } from "../base/account.js";
import { signedIn } from "../base/api.js";
import { route, to } from "../base/router.js";
import { SignIn } from "../base/signin.js";
import { Banners } from "../base/status.js";
import { roleName } from "../base/words.js";
import { watch } from "../base/update.js";
import { Button, html, Loading, Page, render, SkipLink, useSend, Wrong } from "../base/ui.js";

const places = { today: Today, "sign-in": SignInAgain };
const tabs = [["today", "Today"]];

function App() {
  if (!who.value) return html`<${Outside} />`;
  if (who.value.membership?.role === "student") return html`<${ToTheGreen} />`;
  const { name, args } = route.value;
  const Place = places[name || "today"] ?? Nowhere;
  const key = [who.value.membership?.member_id, name, ...args].join("/");
  return html`<div class="app desk">
    <${SkipLink} />
    <header class="top"><span class="brand">Fringework</span>
      <nav class="tabs" aria-label="Main"><ul>${tabs.map(([place, label]) => html`<li><a href=${to(place)} aria-current=${(name || "today") === place ? "page" : undefined}>${label}</a></li>`)}</ul></nav>
      <span class="top-who">${who.value.account.name}</span></header>
    <${Banners} signInAt=${to("sign-in")} />
    <${Place} key=${key} args=${args} />
  </div>`;
}

function Today() {
  const { account, membership } = who.value;
  const out = useSend(async () => {
    await signOut();
    location.assign("/");
  });
  return html`<${Page} title="Today" wide>
    <p>You are signed in as ${account.name}${membership ? `, ${roleName(membership.role).toLowerCase()} in ${membership.academy_name}` : ", and in no academy"}.</p>
    <${Button} busy=${out.busy} onClick=${out.run}>Sign out</${Button}><${Wrong} problem=${out.problem} />
  </${Page}>`;
}

function Outside() {
  return html`<div class="app desk"><${SkipLink} /><header class="top"><a class="brand" href="/">Fringework</a></header>
    <${Page} title="Sign in">${signedIn.value === "unknown" ? html`<${Loading} what="who is signed in" />` : html`<${SignIn} />`}</${Page}></div>`;
}

function SignInAgain() {
  return html`<${Page} title="Sign in again"><${SignIn} email=${who.value.account.email} onDone=${() => location.replace(to("today"))} /></${Page}>`;
}

function ToTheGreen() {
  return html`<div class="app desk"><${SkipLink} /><header class="top"><a class="brand" href="/">Fringework</a></header>
    <${Page} title="For those who teach"><p>You are signed in as ${who.value.account.name}, a student.</p><p><a class="button main" href="/green">Go to the green</a></p></${Page}></div>`;
}

function Nowhere() {
  return html`<${Page} title="Nothing here"><p>There is no such page. <a href=${to("today")}>Go to Today.</a></p></${Page}>`;
}

watch();
start();
const root = document.getElementById("app");
root.replaceChildren();
render(html`<${App} />`, root);
