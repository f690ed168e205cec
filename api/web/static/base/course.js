// Play on the course, as the phone, the desk and the report tell it. All numbers and
// sentences are the service's; only lengths are written here.

import { Table } from "./chart.js";
import { useLoad } from "./load.js";
import { far, near, percent } from "./units.js";
import { Failed, html, Loading } from "./ui.js";

const lies = { fairway: "Fairway or fringe", rough: "Rough", sand: "Sand", green: "Green" };

/** lieName is a lie as a label. */
export const lieName = (lie) => lies[lie] ?? lie;

/** OnCourse is a student on the course; rounds is where the rounds are. In brief, details are folded away. */
export function OnCourse({ studentID, rounds, quiet, brief }) {
  const course = useLoad(`/v1/students/${studentID}/course`);
  const { body } = course;
  if (quiet && body?.rounds === 0) return null;
  return html`<section class="on-course"><h2>And on the course</h2>
    ${!body && course.loading && html`<${Loading} what="the rounds" />`}
    ${!body && course.problem && html`<${Failed} what="The rounds" problem=${course.problem} retry=${course.reload} />`}
    ${body?.rounds > 0 && html`<${Told} course=${body} brief=${brief} />`}
    ${body?.rounds === 0 && html`<p>No round yet. Log the shots around the green of a round, and see whether practice shows there.</p>`}
    ${rounds && html`<p><a class="button" href=${rounds}>Rounds</a></p>`}
  </section>`;
}

function Told({ course, brief }) {
  const told = course.practice.filter((p) => !p.lack);
  const rest = html`<${Programmes} course=${course} /><${HowClose} course=${course} />
    <p class="small">Strokes gained are counted against ${course.baseline}. Each range holds the true value four times in five. If practice and play improve together, that does not prove that one caused the other.</p>`;
  return html`<${CourseFacts} course=${course} />
    ${told.map((p) => html`<p key=${p.skill_id}><strong>${p.skill_name}, practice inside ${near(p.radius_m)} and the course:</strong> ${p.text}</p>`)}
    <${TooEarly} practice=${course.practice.filter((p) => p.lack)} />
    ${brief ? html`<details><summary>More on the course</summary>${rest}</details>` : rest}`;
}

/** What a comparison of practice with the course takes, in rounds: as domain/course has it. */
const COMPARED = 8;

/** TooEarly says in one line of which skills nothing can be told yet, and what that takes. */
function TooEarly({ practice }) {
  const few = practice.filter((p) => p.lack === "few_rounds");
  const steady = practice.filter((p) => p.lack !== "few_rounds");
  return html`
    ${few.length > 0 && html`<p><strong>Does practice show on the course?</strong> Too early to say: that takes ${COMPARED} rounds for each skill. So far: ${few.map((p) => `${p.skill_name} ${p.rounds}`).join(", ")}.</p>`}
    ${steady.length > 0 && html`<p>${steady.map((p) => p.skill_name).join(", ")}: cannot tell, since the rate in practice hardly changed.</p>`}`;
}

function Programmes({ course }) {
  return course.programmes.map((p) => html`<p key=${p.assignment_id}><strong>Since ${p.programme_name} began:</strong> ${shareOf(p.since_up_and_down)} up and down, ${shareOf(p.before_up_and_down)} before. ${p.change.text}</p>`);
}

function HowClose({ course }) {
  return course.proximity.length > 0 && html`<details><summary>How close, by lie and distance</summary><${Table} caption="How close" columns=${["From", "Distance", "Shots", "Half stop within", "Most likely"]}
      rows=${course.proximity.map((p) => [lieName(p.lie), bandText(p), p.shots, near(p.median_m), p.median_interval_80 ? `${near(p.median_interval_80.low)} to ${near(p.median_interval_80.high)}` : "too few to say"])} /></details>`;
}

/** bandText is a range of distances: the last one is open. */
const bandText = ({ from_m: from, below_m: below }) => (from === 0 ? `under ${far(below)}` : below > 90 ? `${far(from)} and more` : `${far(from)} to ${far(below)}`);

const shareOf = (u) => (u.chances ? `${u.saved} of ${u.chances} (probably ${Math.round(100 * u.interval_80.low)} to ${Math.round(100 * u.interval_80.high)} %)` : "no hole known");

/** CourseFacts are the three lines that say most, with a picture of the first. */
export function CourseFacts({ course }) {
  const { up_and_down: up, recent, strokes_gained: gained } = course;
  return html`${up.chances > 0 && html`<${RateBar} rate=${up.saved / up.chances} interval=${up.interval_80} text=${up.text} />`}
    <p><strong>${up.text}</strong></p>
    ${recent.after.rounds > 0 && recent.before.rounds > 0 && html`<p><strong>Strokes gained in the latest rounds:</strong> ${recent.text}</p>`}
    <p><strong>Strokes gained:</strong> ${gained.text}</p>`;
}

/** CourseInShort is that for a report; nothing without a round. */
export function CourseInShort({ studentID }) {
  const { body } = useLoad(`/v1/students/${studentID}/course`);
  return body?.rounds > 0 ? html`<section class="whole"><h2>And on the course</h2><${CourseFacts} course=${body} /></section>` : null;
}

/** RateBar draws a rate on the whole from 0 to 100 %, with its range. */
function RateBar({ rate, interval, text }) {
  const x = (share) => 4 + 292 * share;
  return html`<svg class="band rate-bar" viewBox="0 0 300 34" role="img" aria-label=${text}>
    <line class="grid" x1=${x(0)} x2=${x(1)} y1="12" y2="12" />
    <rect class="area" x=${x(interval.low)} y="5" width=${x(interval.high) - x(interval.low)} height="14" />
    <circle class="dot" cx=${x(rate)} cy="12" r="5" />
    ${[0, 0.5, 1].map((s) => html`<text class="axis" x=${x(s)} y="32" text-anchor=${s === 0 ? "start" : s === 1 ? "end" : "middle"}>${percent(s)}</text>`)}
  </svg>`;
}

/** Chances draws a round's chances: a filled mark for each up and down, a dashed ring for each other. */
export function Chances({ round }) {
  const { chances, saved } = round;
  if (!chances) return null;
  return html`<span class="chances" role="img" aria-label=${`${saved} of ${chances} up and down`}>${"●".repeat(saved)}${"○".repeat(chances - saved)}</span>`;
}

/** roundText says a round in a line: up and downs, strokes gained, shots. */
export function roundText(round) {
  const n = round.strokes_gained;
  const gained = round.counted_shots ? `${n > 0.049 ? "+" : n < -0.049 ? "−" : ""}${Math.abs(n).toFixed(1)} strokes gained` : "";
  const shots = `${round.shots.length} ${round.shots.length === 1 ? "shot" : "shots"}`;
  return [round.course, shots, round.chances ? `${round.saved} of ${round.chances} up and down` : "", gained].filter(Boolean).join(" · ");
}

/** shotText says a shot: "7: rough, 20 yd, left 6 ft, 1 putt". */
export function shotText(s) {
  const hole = s.hole ? `${s.hole}: ` : "";
  const end = s.holed ? "holed" : s.left_lie === "green" ? `left ${near(s.left_m)}${s.putts ? `, ${s.putts} ${s.putts === 1 ? "putt" : "putts"}` : ""}` : `left ${near(s.left_m)}, in the ${lieName(s.left_lie).toLowerCase()}`;
  return `${hole}${lieName(s.lie).toLowerCase()}, ${far(s.distance_m)}, ${end}`;
}
