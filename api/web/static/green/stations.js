// Setting up stations on this green: how it runs today, where to land the ball, where
// each club stops, and what the student's own balls did.

import { isoDay, near } from "../base/units.js";
import { change, revised, sessions } from "../base/outbox.js";
import { Choice } from "../base/choices.js";
import { FASTEST, greenOf, greenText, half, PACE, paces, run, SLOWEST, slopes, speeds, spreadOf, stationsOf, usualSpot } from "../base/ground.js";
import { letter, Side } from "../base/side.js";
import { Button, Dialog, Field, html, useEffect, useState } from "../base/ui.js";
import { refreshed } from "../base/load.js";
import { ballsText, clubText } from "../base/words.js";
import * as log from "./log.js";
import { nowPath, useNow } from "./plan.js";
import { useStyles } from "./styles.js";

const KEY = "fringework.green";
const MEDIUM = { stimp_ft: 9, slope_deg: 0 };

/** greenToday is what was said of the green today, or null. */
export function greenToday(today = isoDay(Date.now())) {
  const kept = JSON.parse(localStorage.getItem(KEY) ?? "null");
  return kept?.day === today ? kept.green : null;
}

function keepGreen(green) {
  localStorage.setItem(KEY, JSON.stringify({ day: isoDay(Date.now()), green }));
  return green;
}

/** AskGreen asks before a session how the green runs, unless that was said today. */
export function AskGreen() {
  const [green, set] = useState(greenToday);
  const [open, show] = useState(!green);
  if (!useStyles()) return null;
  return html`<section class="ask-green"><h2>The green today</h2>
    ${open
      ? html`<${GreenForm} green=${green ?? MEDIUM} keep=${(g) => (set(keepGreen(g)), show(false))} />`
      : html`<p class="row">${greenText(green)} <${Button} kind="quiet" onClick=${() => show(true)}>Change</${Button}></p>`}
  </section>`;
}

/** GreenForm asks for speed and slope; keep is given the green. leave is a button beside it. */
function GreenForm({ green, keep, leave }) {
  const [feet, type] = useState(String(green.stimp_ft));
  const [slope, lean] = useState(green.slope_deg ?? 0);
  const [rolls, roll] = useState(null); // [up, down] as typed
  const measured = rolls && greenOf(...rolls.map(number2));
  const speed = number2(feet);
  const bad = !(speed >= SLOWEST && speed <= FASTEST);
  if (rolls) {
    return html`<div class="green-form">
      <p>Roll a ball off a stimpmeter up the slope, then back down the same line.</p>
      <div class="pair"><${Field} label="Up (ft)" inputmode="decimal" value=${rolls[0]} onInput=${(e) => roll([e.currentTarget.value, rolls[1]])} />
        <${Field} label="Down (ft)" inputmode="decimal" value=${rolls[1]} onInput=${(e) => roll([rolls[0], e.currentTarget.value])} /></div>
      <p role="status">${measured ? `That is ${measured.stimp_ft} ft on the level, with a slope of ${Math.abs(measured.slope_deg)}°.` : "The roll down is the longer one."}</p>
      <p class="row savebar"><${Button} kind="main" disabled=${!measured} onClick=${() => keep(measured)}>Use it: my shot goes up</${Button}>
        <${Button} disabled=${!measured} onClick=${() => keep({ ...measured, slope_deg: -measured.slope_deg })}>Use it: my shot goes down</${Button}>
        <${Button} kind="quiet" onClick=${() => roll(null)}>Back</${Button}></p>
    </div>`;
  }
  return html`<div class="green-form taps">
    <${Choice} label="Speed" value=${speed} options=${speeds} onChange=${(v) => type(String(v))} />
    <${Field} class="beside" label="or the greenkeeper's figure (ft)" inputmode="decimal" value=${feet} onInput=${(e) => type(e.currentTarget.value)} error=${bad ? `give ${SLOWEST} to ${FASTEST}` : ""} />
    <${Choice} label="Slope where it rolls" value=${slope} options=${slopes} onChange=${lean} />
    <p class="row savebar"><${Button} kind="main" disabled=${bad} onClick=${() => keep({ stimp_ft: speed, slope_deg: slope })}>Use this green</${Button}>
      <${Button} kind="quiet" onClick=${() => roll(["", ""])}>Measure it</${Button}>${leave}</p>
  </div>`;
}

const number2 = (text) => Number(String(text).replace(",", "."));

/** useSetUp is what the stations of a session's present block are set up with. */
function useSetUp(record) {
  const { planned } = log.present(record);
  const now = useNow().body;
  const { live, content } = record;
  const green = content.green ?? greenToday();
  const stations = stationsOf(now, planned.drill);
  const carry = live.spot ?? (stations.length && usualSpot(stations, planned.drill, green ?? MEDIUM));
  return { now, green, stations, carry, landings: content.landings ?? [] };
}

/** keep stores with the session what is said of the ground; of(record) says it of what stands. */
const keep = (record, of) => change(record.id, (r) => r && revised(log.onGround(r, of(r), Date.now()), {}));

/** Where is the way from practice to the set-up, with the spot as its label; children stand there where there is none. */
export function Where({ record, open, children }) {
  const { green, stations, carry } = useSetUp(record);
  useEffect(() => {
    if (green && !record.content.green) keep(record, () => ({ green }));
  }, [record.id, Boolean(green)]);
  if (!stations.length) return children;
  return html`<${Button} kind="quiet" class="where" onClick=${open}>${green ? `Land at ${paces(carry)} paces` : "Set up"}</${Button}>`;
}

/** SetUp shows the stations on today's green, and takes what the balls did. */
export function SetUp({ id, close }) {
  const record = sessions.value.find((r) => r.id === id);
  const { now, green, stations, carry, landings } = useSetUp(record);
  const [asking, ask] = useState(false);
  // What the service has learned from the balls comes once they are sent.
  useEffect(() => void (record.unsent || refreshed(nowPath()).catch((e) => e.known || console.error(e))), [record.unsent]);
  const styled = useStyles();
  if (!styled || !stations.length) return null;
  if (!green || asking) {
    return html`<${Dialog} title="The green today" onClose=${close}>
      <${GreenForm} green=${green ?? MEDIUM} keep=${async (g) => (await keep(record, () => ({ green: keepGreen(g) })), ask(false))}
        leave=${html`<${Button} kind="quiet" onClick=${green ? () => ask(false) : close}>Cancel</${Button}>`} /></${Dialog}>`;
  }
  const move = (by) => keep(record, ({ live }) => ({ spot: Math.max(PACE, (live.spot ?? carry) + by * PACE) }));
  const { drill } = log.present(record).planned;
  const { text } = drill;
  return html`<${Dialog} title="Set up the stations" onClose=${close}><div class="setup">
    <div><p class="row setup-green"><span>Green: ${greenText(green)}</span> <${Button} kind="quiet" onClick=${() => ask(true)}>Change</${Button}></p>
    <${Stepper} label="Land it at" value=${carry} step=${(by) => move(by)} />
    <${Side} stations=${stations} carry=${carry} green=${green} left=${now.hand === "left"} hole=${hole(drill)} /></div>
    <div><${LogBall} record=${record} stations=${stations} carry=${carry} green=${green} landings=${landings} />
    <ul class="stations">${stations.map((s, i) => html`<li><${Club} station=${s} i=${i} carry=${carry} green=${green} landings=${landings} half=${(spot) => keep(record, () => ({ spot }))} /></li>`)}</ul>
    ${text && html`<p>${text}</p>`}</div></div>
    <p class="savebar"><${Button} kind="main" onClick=${close}>Go on practising</${Button}></p>
  </${Dialog}>`;
}

/** Club is what one club does from the spot: lands, rolls, stops. */
function Club({ station, i, carry, green, landings, half: go }) {
  const rolls = run(station, carry, green);
  const spot = half(station, green);
  const mine = landings.filter((x) => x.club === station.name && x.total_m > 0);
  const share = mine.length && mine.reduce((sum, x) => sum + x.carry_m / x.total_m, 0) / mine.length;
  const { learned } = station;
  return html`<h3><span class=${`club-mark club-${i % 4}`}>${letter(i)}</span> ${clubText(station.name)}${/^\d/.test(station.name) ? "" : html` <span class="small">${station.loft_deg}°</span>`}</h3>
    <p>Lands ${paces(carry)}, ${rolls < 0 ? `comes back ${paces(-rolls)}` : `rolls ${paces(rolls)}`}: stops at <strong>${paces(carry + rolls)} paces</strong> (8 in 10: ${between(spreadOf(station, carry, green))})${learned ? `; from ${ballsText(learned.balls)} of yours` : ""}.</p>
    <p class="row">${spot
      ? html`<${Button} kind="quiet" onClick=${() => go(Math.round(spot / PACE) * PACE)}>Half carry, half roll: ${paces(Math.round(spot / PACE) * PACE)}</${Button}>`
      : html`<span>Half carry, half roll: not with this club here.</span>`}
      ${mine.length > 0 && html`<span>Yours: ${Math.round(100 * share)} % carry</span>`}</p>`;
}

/** between says two distances in paces, the nearer first. */
const between = ([a, b]) => (paces(a) === paces(b) ? paces(a) : `${paces(a)} to ${paces(b)}`);

/** hole is how far away the hole is, in metres, where the drill says one distance. */
const hole = ({ distances_m: all }) => (all?.length === 1 ? all[0] : undefined);

/** Stepper sets a distance in paces. */
function Stepper({ label, value, step }) {
  return html`<div class="stepper" role="group" aria-label=${label}>
    <span>${label}<span class="small"> paces</span></span>
    <${Button} onClick=${() => step(-1)} aria-label=${`${label}: a pace less`}>−</${Button}>
    <output>${paces(value)}</output>
    <${Button} onClick=${() => step(1)} aria-label=${`${label}: a pace more`}>+</${Button}>
  </div>`;
}

/** LogBall takes where a ball landed and stopped, in paces. */
function LogBall({ record, stations, carry, green, landings }) {
  const [club, pick] = useState(stations[0].name);
  const station = stations.find((s) => s.name === club) ?? stations[0];
  const [stepped, say] = useState({}); // what was stepped to since the spot was moved
  const said = stepped.carry === carry ? stepped : { carry };
  const landed = said.landed ?? carry;
  const stopped = said.stopped ?? Math.round((carry + run(station, carry, green)) / PACE) * PACE;
  const landing = { club: station.name, loft_deg: station.loft_deg, lie: station.lie, carry_m: metres(landed), total_m: metres(stopped), aim_m: metres(carry) };
  const step = (of) => change(record.id, (r) => r && revised(of(r, Date.now()), {}));
  const full = landings.length >= MOST || log.ballsIn(record) >= log.MOST_BALLS;
  const { planned, done } = log.present(record);
  const inside = done.balls.filter((b) => b.outcome !== "out").length;
  return html`<section class="log-ball taps"><h3>Log a ball</h3>
    <${Choice} label="Club" value=${station.name} options=${stations.map((s, i) => [s.name, `${letter(i)} ${clubText(s.name)}`])} onChange=${(name) => (pick(name), say({}))} />
    <${Stepper} label="Landed at" value=${landed} step=${(by) => say({ ...said, landed: Math.max(PACE, landed + by * PACE) })} />
    <${Stepper} label="Stopped at" value=${stopped} step=${(by) => say({ ...said, landed, stopped: Math.max(0, stopped + by * PACE) })} />
    <p class="row"><${Button} class="log-landing" disabled=${full} onClick=${() => step((r, now) => log.land(r, landing, now))}>Log this ball</${Button}>
      <span role="status">${ballsText(landings.length)} logged; this block: ${inside} of ${done.balls.length} in</span>
      <${Button} kind="quiet" disabled=${!log.undoes(record)?.landed} onClick=${() => step(log.undo)}>Undo</${Button}></p>
    <p class="small">Log a ball here or on the targets, not both. It is in when it lands inside ${near(planned.radius_m)} of the spot; where it stops shows how far yours roll.</p>
  </section>`;
}

/** The most landings that a session holds. */
const MOST = 200;

const metres = (m) => Math.round(m * 100) / 100;
