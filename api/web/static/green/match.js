// A match with others on the same cards: each deals them on their own phone from a
// short code, with or without a network, and the results meet once both have sent.

import { who } from "../base/account.js";
import { cardsOf, circleOf, codeOf, idOf, kinds, newMatch, readCode, sizes } from "../base/cards.js";
import { Choice } from "../base/choices.js";
import { useLoad } from "../base/load.js";
import { MatchList, matchText, Result, standText } from "../base/matches.js";
import { clockOff, revised, sessions, store } from "../base/outbox.js";
import { go, to } from "../base/router.js";
import { set, settings } from "../base/settings.js";
import { skillKindName } from "../base/skillkinds.js";
import { near } from "../base/units.js";
import { ballsText } from "../base/words.js";
import { Button, Failed, Field, html, Loading, Notice, Page, useSend, useState, Wrong } from "../base/ui.js";
import { begin, over } from "./log.js";
import { goingOn } from "./now.js";
import { matchesPath, ownPractice, useNow } from "./plan.js";
import { Cautions, Running } from "./ready.js";

/** AN_HOUR is how many balls an hour have room for where each is a new place (common practice, no source). */
const AN_HOUR = 50;

const me = () => who.value.membership.member_id;

/** skillFor is the student's skill of a sort of shot, one of this week's first. */
function skillFor(now, kind) {
  const fit = (now?.skills ?? []).filter((s) => s.kind === kind);
  return fit.find((s) => !s.earlier) ?? fit[0];
}

/** playedHere is this phone's own session of a match. */
const playedHere = (id) => (sessions.value ?? []).find((r) => r.content?.match_id === id && !r.deleted);

/** Match is the way into matches, or the match of the code in the address. */
export function Match({ args: [code] }) {
  return code ? html`<${One} code=${code} />` : html`<${All} />`;
}

function All() {
  const now = useNow();
  const matches = useLoad(matchesPath());
  const [typed, type] = useState("");
  const [wrong, say] = useState("");
  const join = () => {
    const match = readCode(typed);
    if (match.wrong) say(match.wrong);
    else go(to("match", codeOf(match)));
  };
  const can = kinds.filter((kind) => skillFor(now.body, kind));
  return html`<${Page} title="Match" lead="Two or more on the same cards, each on their own phone. It works without a network.">
    ${!now.body && now.loading && html`<${Loading} what="your skills" />`}
    ${!now.body && now.problem && html`<${Failed} what="Your skills" problem=${now.problem} retry=${now.reload} />`}
    <section><h2>Join a match</h2>
      <form onSubmit=${(e) => (e.preventDefault(), join())}>
        <${Field} label="The other phone's code" value=${typed} error=${wrong} autocomplete="off" autocapitalize="characters" spellcheck=${false} maxlength="14" onInput=${(e) => (type(e.currentTarget.value), say(""))} />
        <button class="button" type="submit" disabled=${!typed}>Join</button>
      </form></section>
    ${now.body && (can.length > 0 ? html`<${Start} can=${can} />` : html`<p>Matches are of chips, pitches, bunker shots and long putts; your programme has none of them yet.</p>`)}
    ${matches.body?.items.length > 0 && html`<section><h2>Your matches</h2><${MatchList} list=${matches.body.items} me=${me()} link=${(c) => to("match", c)} /></section>`}
  </${Page}>`;
}

function Start({ can }) {
  const [kind, choose] = useState(can[0]);
  const [balls, deal] = useState(9);
  const [own, fair] = useState(true);
  return html`<section><h2>Start a match</h2>
    <${Choice} label="Shot" value=${kind} options=${can.map((k) => [k, skillKindName(k)])} onChange=${choose} />
    <${Choice} label="Cards" value=${balls} options=${sizes.map((n) => [n, String(n)])} onChange=${deal} />
    <${Choice} label="Circle" hint="In your own circle about half of your balls stop inside, so a beginner and a good player are as likely to win." value=${own}
      options=${[[true, "Each to their own"], [false, "One for all"]]} onChange=${fair} />
    <p><a class="button main" href=${to("match", codeOf(newMatch(kind, balls, own)))}>Make the match</a></p></section>`;
}

/** useCircle is the circle that this student plays a match to: { radius_m, own }. */
function useCircle(match, skill) {
  const { body, loading } = useLoad(match.own ? matchesPath() : null);
  const mine = match.own && body?.circles.find((c) => c.skill_id === skill?.id)?.circle_m;
  return { radius_m: mine || circleOf(match), own: Boolean(mine), loading: match.own && loading && !body };
}

function One({ code }) {
  const match = readCode(code);
  if (match.wrong) return html`<${Page} title="No such match"><p>${match.wrong} <a href=${to("match")}>Type it again.</a></p></${Page}>`;
  return html`<${Known} match=${match} />`;
}

function Known({ match }) {
  const now = useNow();
  const [asking, ask] = useState(false);
  const skill = skillFor(now.body, match.kind);
  const circle = useCircle(match, skill);
  const [code, id] = [codeOf(match), idOf(match)];
  const start = useSend(async () => {
    const { plan, ...todo } = await ownPractice(now.body, skill, Math.ceil((60 * match.balls) / AN_HOUR));
    const [block] = plan.blocks;
    const blocks = [{ ...block, kind: "random", deck: cardsOf(match), cards: match.balls, radius_m: circle.radius_m }];
    const record = begin({ ...todo, said: { match_id: id }, plan: { ...plan, name: `Match ${code}`, blocks } }, Date.now(), clockOff.peek());
    set({ cautioned: true });
    await store(revised(record, {}));
    go(to("practice", record.id));
  });
  const mine = playedHere(id);
  const going = goingOn();
  const title = html`<p class="match-code" aria-label=${`Code ${[...code].join(" ")}`}>${code}</p>`;
  return html`<${Page} title="Match" lead=${matchText({ ...match, circle_m: circleOf(match) })}>
    ${title}
    ${!mine && html`<p>Type this code on each of the other phones: they deal the same ${match.balls} cards. Play one ball to each card, in their order. Most balls in wins.</p>`}
    ${mine ? html`<${Mine} record=${mine} id=${id} />`
      : !now.body || circle.loading ? html`<${Loading} what="your circle" />`
      : !skill ? html`<${Notice} title=${`No ${skillKindName(match.kind).toLowerCase()} in your programme`}><p>Play a match of a shot that you practise. <a href=${to("match")}>Other matches</a></p></${Notice}>`
      : html`<p><strong>Your circle: ${near(circle.radius_m)}.</strong> ${match.own && !circle.own ? "Too little is known of you yet for a circle of your own." : match.own ? `About half of your balls of ${skill.name} stop inside it.` : ""}</p>
        ${!settings.value.cautioned && html`<${Cautions} />`}
        <div class="start"><${Button} kind="main" class="big" busy=${start.busy} onClick=${going ? () => ask(true) : start.run}>Deal the cards</${Button}><${Wrong} problem=${start.problem} /></div>
        ${asking && going && html`<${Running} record=${going} anew=${start.run} close=${() => ask(false)} />`}`}
  </${Page}>`;
}

/** Mine is a match that this phone has played: its own balls, and the others' once they arrive. */
function Mine({ record, id }) {
  if (record.live && !over(record)) return html`<p><a class="button main big" href=${to("practice", record.id)}>Go on</a></p>`;
  return html`<${Standing} record=${record} id=${id} /><p><a class="button" href=${to("after", record.id)}>Session summary</a> <a class="button" href=${to("match")}>Another match</a></p>`;
}

/** Standing is how the match of a session stands. */
export function Standing({ record, id = record.content.match_id }) {
  const balls = record.content.blocks.flatMap((b) => b.balls);
  const taken = !record.unsent && record.takenAt;
  const match = useLoad(taken ? `/v1/matches/${id}` : null);
  const mine = html`<p>You: ${balls.filter((b) => b.outcome !== "out").length} of ${ballsText(balls.length)} in.</p>`;
  if (!taken) return html`${mine}<p>Not sent yet. The result comes once your phone and the others have sent.</p>`;
  if (match.problem && !match.body) return html`${mine}<${Wrong} problem=${match.problem} />`;
  if (!match.body) return html`${mine}<${Loading} what="the match" />`;
  return html`${match.body.standing === "alone" ? html`${mine}<p>${standText(match.body, me())}</p>` : html`<${Result} match=${match.body} me=${me()} />`}
    ${["alone", "going_on"].includes(match.body.standing) && html`<p><${Button} onClick=${match.reload} busy=${match.loading}>Look again</${Button}></p>`}`;
}
