// Matches on the same cards: how they stand, for a player and for a coach.

import { useLoad } from "./load.js";
import { dayTime, near } from "./units.js";
import { skillKindName } from "./skillkinds.js";
import { Failed, html } from "./ui.js";

const nameOf = (player, me) => (player.student_id && player.student_id === me ? "You" : player.name || "Another player");

/** standText says how a match stands: "You won, 6 to 5." me is the reader, if a player. */
export function standText({ standing, players, cards }, me) {
  const [first, second] = players;
  switch (standing) {
    case "alone":
      return "Nobody else's balls have arrived yet.";
    case "going_on":
      return `Not over: ${players.filter((p) => p.outcomes.length < cards.length).map((p) => `${nameOf(p, me)} ${p.outcomes.length} of ${cards.length}`).join(", ")}.`;
    case "level":
      return `Level, with ${first.inside} each.`;
    default:
      return players.length === 2 ? `${nameOf(first, me)} won, ${first.inside} to ${second.inside}.` : `${nameOf(first, me)} won, with ${first.inside} in.`;
  }
}

/** Result is a match as it stands, player by player. */
export function Result({ match, me }) {
  return html`<p><strong>${standText(match, me)}</strong></p>
    <table class="times"><caption class="unseen">Balls in, by player</caption>
      <thead><tr><th scope="col">Player</th><th scope="col">In</th><th scope="col">Balls</th></tr></thead>
      <tbody>${match.players.map((p) => html`<tr><th scope="row">${nameOf(p, me)}</th><td>${p.inside}</td><td>${p.outcomes.length} of ${match.cards.length}</td></tr>`)}</tbody>
    </table>`;
}

/** matchText says what a match is: "Pitch, 9 cards, each to their own circle". */
export const matchText = ({ kind, balls, own, circle_m: circle }) => `${skillKindName(kind)}, ${balls} cards, ${own ? "each to their own circle" : `all to ${near(circle)}`}`;

/** MatchList is a student's latest matches; link makes the address of one, by its code. */
export function MatchList({ list, me, link }) {
  return html`<ul class="plain">${list.map((m) => html`<li key=${m.id}>${link ? html`<a href=${link(m.code)}>${m.code}</a>` : html`<strong>${m.code}</strong>`}
    <span class="small"> ${dayTime(m.started_at)} · ${matchText({ ...m, balls: m.cards.length, own: m.own_circles })}</span><br />${standText(m, me)}
    ${!me && m.standing !== "alone" && html`<span class="small"> ${m.players.map((p) => `${nameOf(p)} ${p.inside} of ${p.outcomes.length}`).join(", ")}</span>`}</li>`)}</ul>`;
}

/** Matches is a student's matches, for a coach; nothing where there is none. */
export function Matches({ student }) {
  const matches = useLoad(`/v1/students/${student}/matches`);
  if (matches.problem && !matches.body) return html`<${Failed} what="The matches" problem=${matches.problem} retry=${matches.reload} />`;
  if (!matches.body?.items.length) return null;
  return html`<section class="screen-only"><h2>Matches</h2><${MatchList} list=${matches.body.items} /></section>`;
}
