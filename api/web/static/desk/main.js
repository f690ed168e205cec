// The coach's desk: one page, drawn by where the address points. Each place is a
// module that is loaded when it is first shown.

import { start, who } from "../base/account.js";
import { ended, signedIn } from "../base/api.js";
import { whose } from "../base/db.js";
import { Elsewhere } from "../base/elsewhere.js";
import { route, to } from "../base/router.js";
import { SignIn } from "../base/signin.js";
import { Lately } from "../base/status.js";
import { newer, useNewer, watch } from "../base/update.js";
import { Button, Failed, html, Loading, Notice, Page, render, SkipLink, useEffect, useState } from "../base/ui.js";

/** later is a part of a module that is loaded when it is first shown. */
function later(what, load, name) {
  return (props) => {
    const [state, set] = useState({});
    const run = () => load().then((m) => set({ part: m[name] }), (problem) => set({ problem }));
    useEffect(() => void run(), []);
    if (state.problem) return html`<${Page} title=${what}><${Failed} what=${what} problem=${state.problem} retry=${run} /></${Page}>`;
    return state.part ? html`<${state.part} ...${props} />` : html`<main id="main" class="page wide"><${Loading} what=${what} /></main>`;
  };
}

// Each takes the arguments of the address as args.
const places = {
  today: later("Today", () => import("./today.js"), "Today"),
  live: later("On the green", () => import("./clinic.js"), "Clinic"),
  match: later("Match", () => import("./match.js"), "Match"),
  students: later("Students", () => import("./students.js"), "Students"),
  proposals: later("Next week", () => import("./proposals.js"), "NextWeek"),
  lessons: later("Lessons", () => import("./lessons.js"), "Lessons"),
  lesson: later("Lesson", () => import("./lesson.js"), "LessonPage"),
  student: later("Student", () => import("./student.js"), "StudentPage"),
  sessions: later("Sessions", () => import("./sessions.js"), "Sessions"),
  session: later("Session", () => import("./session.js"), "SessionPage"),
  rounds: later("Rounds", () => import("./rounds.js"), "Rounds"),
  report: later("Progress report", () => import("./report.js"), "Report"),
  programmes: later("Programmes", () => import("./programmes.js"), "Programmes"),
  programme: later("Programme", () => import("./editor.js"), "Editor"),
  cohort: later("Students of a programme", () => import("./cohort.js"), "Cohort"),
  versions: later("Versions", () => import("./versions.js"), "Versions"),
  assign: later("Assign", () => import("./assign.js"), "Assign"),
  bulk: later("Change programmes for several students", () => import("./bulk.js"), "Bulk"),
  cards: later("Practice cards", () => import("./cards.js"), "Cards"),
  messages: later("Messages", () => import("./messages.js"), "Messages"),
  import: later("Import", () => import("./document.js"), "Import"),
  skills: later("Skills", () => import("./skills.js"), "Skills"),
  skill: later("Skill", () => import("./skill.js"), "SkillPage"),
  people: later("People", () => import("./people.js"), "People"),
  member: later("Member", () => import("./member.js"), "MemberPage"),
  invitations: later("Invitations", () => import("./invitations.js"), "Invitations"),
  groups: later("Groups", () => import("./groups.js"), "Groups"),
  academy: later("Academy", () => import("./academy.js"), "AcademyPage"),
  data: later("Data", () => import("./data.js"), "Data"),
  keys: later("Keys", () => import("./keys.js"), "Keys"),
  webhooks: later("Webhooks", () => import("./webhooks.js"), "Webhooks"),
  apps: later("Apps", () => import("./apps.js"), "Apps"),
  log: later("Log", () => import("./log.js"), "Log"),
  settings: later("Settings", () => import("./settings.js"), "Settings"),
  "sign-in": SignInAgain,
};

const family = {
  "": later("Junior", () => import("./family.js"), "Family"),
  report: places.report,
  messages: places.messages,
  settings: places.settings,
  "sign-in": SignInAgain,
};

const tabs = [["today", "Today"], ["students", "Students"], ["proposals", "Next week"], ["programmes", "Programmes"], ["people", "People"]];

// Places that the service shows to owners alone.
const owners = ["keys", "apps", "webhooks", "log"];

// Places that are reached from a tab count as part of it.
const tabOf = {
  live: "today", match: "today", lessons: "today", lesson: "today", student: "students", sessions: "students", session: "students", rounds: "students", report: "students",
  programme: "programmes", cohort: "programmes", versions: "programmes", assign: "programmes", bulk: "students", messages: "students", cards: "students", import: "programmes", skills: "programmes", skill: "programmes",
  member: "people", invitations: "people", groups: "people", academy: "people", data: "people", keys: "people", apps: "people", webhooks: "people", log: "people",
};

function App() {
  if (!who.value) return html`<${Outside} />`;
  const { account, membership } = who.value;
  if (!membership) return html`<${NoAcademy} />`;
  if (membership.role === "student") return html`<${ToTheGreen} />`;
  const { name, args } = route.value;
  const here = name || "today";
  const guards = membership.role === "guardian";
  const Place = guards ? family[name] ?? family[""] : owners.includes(here) && membership.role !== "owner" ? OwnersOnly : places[here] ?? Nowhere;
  const key = [membership.member_id, here, ...args].join("/");
  return html`<div class="app desk" data-place=${here}>
    <${SkipLink} />
    <header class="top"><a class="brand" href=${to(guards ? "" : "today")}>Fringework</a>
      ${!guards && html`<nav class="tabs" aria-label="Main"><ul>${tabs.map(([place, label]) => html`<li><a href=${to(place)} aria-current=${(tabOf[here] ?? here) === place ? "page" : undefined}>${label}</a></li>`)}</ul></nav>`}
      <a class="top-who" href=${to("settings")} aria-current=${here === "settings" ? "page" : undefined}><span class="unseen">Settings of </span>${account.name}</a></header>
    <${Banners} /><${Lately} key=${signedIn.value} />
    <${Place} key=${key} args=${args} />
  </div>`;
}

function Banners() {
  return html`<div class="banners wide">
    ${signedIn.value === "no" && html`<${Notice} kind="warn" title="You are signed out"><p>${ended.value} What you wrote is kept on this device. <a href=${to("sign-in")}>Sign in again</a> to go on.</p></${Notice}>`}
    <${Elsewhere} key=${whose.value} />
    ${newer.value && html`<${Notice} title="A newer version of these pages is ready"><p><${Button} onClick=${useNewer}>Use it now</${Button}></p></${Notice}>`}
  </div>`;
}

function Bare({ title, children }) {
  return html`<div class="app desk"><${SkipLink} /><header class="top"><a class="brand" href="/">Fringework</a></header><${Page} title=${title}>${children}</${Page}></div>`;
}

function Outside() {
  return html`<${Bare} title="Sign in">${signedIn.value === "unknown" ? html`<${Loading} what="who is signed in" />` : html`<${SignIn} />
    <p>Have an invitation? <a href="/join">Accept it here.</a> Teaching, and no academy yet? <a href="/">Make one on the front page.</a></p>`}</${Bare}>`;
}

function SignInAgain() {
  return html`<${Page} title="Sign in again" lead="What this device keeps stays as it is."><${SignIn} email=${who.value.account.email} onDone=${() => location.replace(to("today"))} /></${Page}>`;
}

function ToTheGreen() {
  return html`<${Bare} title="For coaches"><p>You are signed in as ${who.value.account.name}, a student.</p><p><a class="button main" href="/green">Go to the green</a></p></${Bare}>`;
}

function NoAcademy() {
  return html`<${Bare} title="No academy"><p>You are signed in as ${who.value.account.name}, and belong to no academy.</p>
    <p><a class="button main" href="/join">Accept an invitation</a></p></${Bare}>`;
}

function OwnersOnly() {
  return html`<${Page} title="For owners"><p>Only an owner of the academy can open this page. If you need something from it, ask one of them.</p><p><a class="button main" href=${to("people")}>Back to People</a></p></${Page}>`;
}

function Nowhere() {
  return html`<${Page} title="Nothing here"><p>There is no such page. <a href=${to("today")}>Go to Today.</a></p></${Page}>`;
}

watch();
start();
const root = document.getElementById("app");
root.replaceChildren();
render(html`<${App} />`, root);
