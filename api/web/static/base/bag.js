// A student's own clubs, and what was learned of where they land and run: the student
// and whoever teaches them set the clubs alike.

import * as api from "./api.js";
import { Choice } from "./choices.js";
import { fetched, useLoad } from "./load.js";
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
    ${learned.length > 0 && html`<ul class="plain">${learned.map((s) => html`<li><strong>${s.name}</strong>${s.lie === "fairway" ? "" : `, ${s.lie}`}: ${s.learned.text} ${ratio(s.learned)}</li>`)}</ul>`}
    <p><${Button} onClick=${() => show(true)}>Change ${whose} clubs</${Button}></p>
  </div>`;
}

/** ratio says how the student's balls run beside a plain shot. */
function ratio({ run_factor: factor, green }) {
  const more = Math.round(100 * Math.abs(factor - 1));
  const runs = more < 5 ? "as far as a plain shot" : `${more} % ${factor > 1 ? "farther" : "less far"} than a plain shot`;
  return `The green read ${Math.round(green.stimp_ft * 10) / 10} ft; balls run ${runs}.`;
}

function BagForm({ student, bag, close }) {
  const [hand, turn] = useState(bag.hand);
  const [clubs, set] = useState(() => (bag.clubs ?? bag.spots.filter((s) => s.lie === "fairway")).map((c) => ({ name: c.name, loft: String(c.loft_deg) })));
  const save = useSend(async () => {
    await api.put(pathOf(student), { hand, clubs: clubs.map((c) => ({ name: c.name.trim(), loft_deg: Number(c.loft.replace(",", ".")) || 0 })) });
    await fetched(pathOf(student));
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
    <p class="hint">The loft is on the sole of the club or in the maker's list. If a plan asks for a loft, or for a low, middle or high wedge, it names your nearest club.</p>
    <div class="row savebar"><${Wrong} problem=${save.problem} />
      <${Button} kind="main" type="submit" busy=${save.busy}>Save the clubs</${Button}><${Button} onClick=${close}>Cancel</${Button}></div>
  </form>`;
}
