// A student's own clubs, and what was learned of where they land and run: the student
// and whoever teaches them set the clubs alike.

import * as api from "./api.js";
import { Table } from "./chart.js";
import { Choice } from "./choices.js";
import { paces } from "./ground.js";
import { refreshed, useLoad } from "./load.js";
import { number } from "./units.js";
import { clubText } from "./words.js";
import { Button, Failed, Field, html, useSend, useState, Wrong } from "./ui.js";

const MOST = 14; // clubs in a bag

const pathOf = (student) => `/v1/students/${student}/bag`;

/** Bag shows a student's clubs; whose is "your" or a name with its s. */
export function Bag({ student, whose }) {
  const bag = useLoad(pathOf(student));
  const [open, show] = useState(false);
  if (!bag.body) return bag.problem ? html`<${Failed} what="The clubs" problem=${bag.problem} retry=${bag.reload} />` : null;
  const { body } = bag;
  if (open) return html`<${BagForm} student=${student} bag=${body} close=${() => show(false)} />`;
  const learned = body.spots.filter((s) => s.learned);
  return html`<div>
    ${body.clubs?.length
      ? html`<p>${body.clubs.map((c) => `${c.name} ${c.loft_deg}°`).join(", ")}. ${body.hand === "left" ? "Left-handed" : "Right-handed"}.</p>`
      : html`<p>${body.hand === "left" ? "Left-handed. " : ""}Not set: a plan's low, middle and high wedge are taken as 48°, 54° and 60°.</p>`}
    ${learned.length > 0 && html`<${Spots} learned=${learned} you=${whose === "your"} />`}
    <p><${Button} kind=${body.clubs?.length || whose !== "your" ? "plain" : "main"} onClick=${() => show(true)}>${body.clubs?.length ? "Change" : "Set"} ${whose} clubs</${Button}></p>
  </div>`;
}

/** Spots are where each club was landed last, and where its balls are expected to stop. */
function Spots({ learned, you }) {
  const greens = learned.map((s) => s.learned.green.stimp_ft);
  const speed = [...new Set([Math.min(...greens), Math.max(...greens)].map((ft) => number(ft, 1)))].join(" to ");
  return html`<${Table} caption=${`From ${you ? "your" : "their"} balls, in paces, on a green of ${speed} ft`} columns=${["Club", "Land", "Roll", "Than usual", "Balls"]}
    rows=${learned.map(({ name, lie, learned: l }) => [`${clubText(name)}${lie === "fairway" ? "" : `, ${lie}`}`, paces(l.carry_m), paces(l.run_m), ratio(l.run_factor), l.balls])} />`;
}

/** ratio says how the student's balls roll beside a usual shot. */
function ratio(factor) {
  const more = Math.round(100 * Math.abs(factor - 1));
  return more < 5 ? "the same" : `${more} % ${factor > 1 ? "longer" : "shorter"}`;
}

/** named is a problem whose errors name the clubs that they are about: "6-iron: 99° is no loft; give 24 to 70". */
function named(problem, clubs) {
  const of = (pointer) => clubs[/^\/clubs\/(\d+)/.exec(pointer ?? "")?.[1]]?.name;
  const errors = problem?.errors?.map((e) => (of(e.pointer) ? { detail: `${of(e.pointer)}: ${e.detail}` } : e));
  return errors ? { ...problem, errors, detail: problem.detail } : problem;
}

function BagForm({ student, bag, close }) {
  const [hand, turn] = useState(bag.hand);
  const [clubs, set] = useState(() => (bag.clubs ?? bag.spots.filter((s) => s.lie === "fairway")).map((c) => ({ name: c.name, loft: String(c.loft_deg) })));
  const save = useSend(async () => {
    await api.put(pathOf(student), { hand, clubs: clubs.map((c) => ({ name: c.name.trim(), loft_deg: Number(c.loft.replace(",", ".")) || 0 })) });
    await refreshed(pathOf(student));
    close();
  });
  const edit = (i, change) => set(clubs.map((c, j) => (j === i ? { ...c, ...change } : c)));
  return html`<form class="taps" onSubmit=${save.run}>
    <${Choice} label="Plays" value=${hand} options=${[["right", "Right-handed"], ["left", "Left-handed"]]} onChange=${turn} />
    <ul class="clubs-edit">${clubs.map((c, i) => html`<li key=${i}>
      <${Field} label="Club" maxlength="60" value=${c.name} onInput=${(e) => edit(i, { name: e.currentTarget.value })} error=${save.at(`/clubs/${i}/name`)} />
      <${Field} label="Loft, °" inputmode="decimal" value=${c.loft} onInput=${(e) => edit(i, { loft: e.currentTarget.value })} error=${save.at(`/clubs/${i}/loft_deg`)} />
      <${Button} kind="quiet" aria-label=${`Remove ${c.name || "this club"}`} onClick=${() => set(clubs.filter((_, j) => j !== i))}>×</${Button}></li>`)}</ul>
    <p class="row"><${Button} disabled=${clubs.length >= MOST} onClick=${() => set([...clubs, { name: "", loft: "" }])}>Add a club</${Button}></p>
    <p class="hint">The loft is on the sole of the club or in the maker's list. Low, middle and high wedge are the least, the middle and the most lofted of your wedges. If a plan asks for a loft, it names your nearest club.</p>
    <div class="row savebar"><${Wrong} problem=${named(save.problem, clubs)} />
      <${Button} kind="main" type="submit" busy=${save.busy}>Save the clubs</${Button}><${Button} onClick=${close}>Cancel</${Button}></div>
  </form>`;
}
