// The student's app: one page, drawn by where the address points. What the green
// needs is loaded at once; the rest when it is opened, which works without a
// network since the service worker keeps it.

import { start, who } from "../base/account.js";
import { signedIn } from "../base/api.js";
import { fetched } from "../base/load.js";
import * as outbox from "../base/outbox.js";
import { route, to } from "../base/router.js";
import { SignIn } from "../base/signin.js";
import { Banners, Sending } from "../base/status.js";
import { watch } from "../base/update.js";
import { effect, Failed, html, Loading, Page, render, SkipLink, useEffect, useState } from "../base/ui.js";
import { Now } from "./now.js";
import { Practice } from "./practice.js";
import { over } from "./log.js";
import { nowPath, progressPath, matchesPath, LESSONS, SESSIONS } from "./plan.js";
import { Ready } from "./ready.js";
import { styles } from "./styles.js";

/** later is a part of a module that is loaded when it is first shown. */
function later(what, load, name) {
  return (props) => {
    const [state, set] = useState({});
    const run = () => Promise.all([load(), styles()]).then(([m]) => set({ part: m[name] }), (problem) => set({ problem }));
    useEffect(() => void run(), []);
    if (state.problem) return html`<${Page} title=${what}><${Failed} what=${what} problem=${state.problem} retry=${run} /></${Page}>`;
    return state.part ? html`<${state.part} ...${props} />` : html`<${Loading} what=${what} />`;
  };
}

// Each takes the arguments of the address as args.
const places = {
  now: Now,
  ready: Ready,
  day: later("The plan", () => import("./days.js"), "Day"),
  practice: Practice,
  after: later("Session summary", () => import("./after.js"), "After"),
  progress: later("Progress", () => import("./progress.js"), "Progress"),
  history: later("History", () => import("./history.js"), "History"),
  session: later("Session", () => import("./edit.js"), "Session"),
  messages: later("Messages", () => import("./messages.js"), "Messages"),
  card: later("Practice card", () => import("./card.js"), "Card"),
  typein: later("Type in a card", () => import("./typein.js"), "TypeIn"),
  lessons: later("Lessons", () => import("./lessons.js"), "Lessons"),
  lesson: later("Lesson", () => import("./lessons.js"), "Lesson"),
  rounds: later("On the course", () => import("./rounds.js"), "Rounds"),
  round: later("Round", () => import("./rounds.js"), "Round"),
  first: later("First steps", () => import("./first.js"), "First"),
  tests: later("Tests", () => import("./tests.js"), "Tests"),
  match: later("Match", () => import("./match.js"), "Match"),
  season: later("Your season", () => import("./season.js"), "Season"),
  clubs: later("Your clubs", () => import("./clubs.js"), "Clubs"),
  settings: later("Settings", () => import("./settings.js"), "Settings"),
  "sign-in": later("Sign in again", () => import("./others.js"), "SignInAgain"),
};

const NotAStudent = later("This page", () => import("./others.js"), "NotAStudent");
const Nowhere = later("This page", () => import("./others.js"), "Nowhere");

const tabs = [["now", "Now"], ["progress", "Progress"], ["history", "History"], ["settings", "Settings"]];

function App() {
  if (!who.value) return html`<${Outside} />`;
  if (who.value.membership?.role !== "student") return html`<${NotAStudent} />`;
  const { name, args } = route.value;
  const Place = places[name || "now"] ?? Nowhere;
  // The practice screen is all that is seen while it lasts.
  const alone = name === "practice";
  // A fresh part for each address, and for each member.
  const key = [who.value.membership.member_id, name, ...args].join("/");
  return html`<div class=${alone ? "app alone" : "app"}>
    <${SkipLink} />
    ${!alone && html`<header class="top"><span class="brand">Fringework</span><${Sending} /></header>`}
    ${!alone && html`<${Banners} signInAt=${to("sign-in")} />`}
    <${Place} key=${key} args=${args} />
    ${!alone && html`<nav class="tabs" aria-label="Main"><ul>${tabs.map(([place, label]) => html`<li>
      <a href=${to(place)} aria-current=${(name || "now") === place ? "page" : undefined}>${label}</a></li>`)}</ul></nav>`}
  </div>`;
}

function Outside() {
  return html`<div class="app"><${SkipLink} />
    <header class="top"><a class="brand" href="/">Fringework</a></header>
    <${Page} title="Sign in" lead="Once signed in, everything works without a network, for days.">
      ${signedIn.value === "unknown" ? html`<${Loading} what="who is using this phone" />` : html`<${SignIn} />`}
      <p>You have an invitation? <a href="/join">Accept it here.</a></p>
    </${Page}></div>`;
}

/** stockUp fetches what the green needs without a network. */
async function stockUp() {
  if (who.peek()?.membership?.role !== "student") return;
  for (const path of [nowPath(), progressPath(), SESSIONS, LESSONS, matchesPath()]) await fetched(path).catch((e) => e.known || console.error(e));
}

outbox.start();
// Not while somebody practises: the signal is for the balls then.
outbox.onTaken(() => outbox.sessions.value.some((r) => r.live && !over(r)) || stockUp());
effect(() => void (signedIn.value === "yes" && stockUp()));
watch();
start();
navigator.storage?.persist?.();
const root = document.getElementById("app");
root.replaceChildren();
render(html`<${App} />`, root);
