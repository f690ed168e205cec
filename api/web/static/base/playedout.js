// Places played out, as the phone and the desk tell them. All sentences are the service's.

import { useLoad } from "./load.js";
import { count, day, number } from "./units.js";
import { kindName } from "./words.js";
import { Failed, html } from "./ui.js";
import { Table } from "./chart.js";

/** PlayedOut is what a student's places tell; nothing while there are none. link gives the address of a session. */
export function PlayedOut({ studentID, link }) {
  const played = useLoad(`/v1/students/${studentID}/played-out`);
  if (!played.body && played.problem) return html`<section><h2>Played out</h2><${Failed} what="The places played out" problem=${played.problem} retry=${played.reload} /></section>`;
  if (!played.body?.skills.length) return null;
  return html`<section class="played-out"><h2>Played out</h2>
    ${played.body.skills.map((s) => html`<article key=${s.skill_id}><h3>${s.skill_name}</h3><p>${s.text}</p><p>${s.lost_text}</p>
      <details><summary>Session by session<span class="unseen">, ${s.skill_name}</span></summary>
        <${Table} caption=${`${s.skill_name}, played out`} columns=${["Session", "Places", "Strokes", "Up and down"]} rows=${s.sessions.map((x) => [html`<a href=${link(x.session_id)}>${day(x.started_at)}</a>`, x.places, x.strokes, x.saved])} /></details></article>`)}
    <p class="small">Strokes are compared with ${played.body.baseline}. Where a distance was not measured, the ball is taken to lie as far away as such balls do on average. Each range holds the true value four times in five.</p>
  </section>`;
}

/** Pace says how many balls a student strikes an hour, by kind of block; nothing until it is known. */
export function Pace({ pace }) {
  const known = (pace ?? []).filter((p) => p.sessions > 0);
  if (!known.length) return null;
  return html`<p>${`Pace in an hour: ${known.map((p) => `${kindName(p.kind)} ${count(Math.round(p.balls_an_hour), p.kind === "playout" ? "place" : "ball")} (usual: ${number(p.usual_low)} to ${number(p.usual_high)})`).join("; ")}.`}</p>`;
}
