// What all students of the academy together teach about a skill: how hard it is
// at each circle, who would do how well there, and how much it fades with days
// away. All numbers are the service's.

import { useLoad } from "../base/load.js";
import { count, dayTime, near, percent } from "../base/units.js";
import { ballsText } from "../base/words.js";
import { html } from "../base/ui.js";
import { AsOf, Missing } from "./parts.js";

/** Insights is the section about a skill that is stored. */
export function Insights({ skillID }) {
  const answer = useLoad(`/v1/skills/${skillID}/insights`);
  return html`<section><h2>What your students' practice says</h2>
    <${Missing} what="what your students' practice says" from=${answer} /><${AsOf} from=${answer} />
    ${answer.body && html`<${Told} told=${answer.body} />`}</section>`;
}

function Told({ told }) {
  const { circles, fade } = told;
  if (!told.learned_at) return html`<p>Nothing yet. It is worked out every hour, once students have practised.</p>`;
  return html`<p class="small">As of ${dayTime(told.learned_at)}. The true figure is in the bracketed range 4 times in 5.</p>
    <h3>How hard</h3>
    ${circles.length === 0 ? html`<p>Nobody has practised it in the last three months.</p>` : html`<ul>${circles.map((c) => html`<li key=${c.radius_m}>${circleText(c)}</li>`)}</ul>`}
    <h3>After days away</h3>${fade.cannot_tell ? html`<p>${noFadeText(fade)}</p>` : html`<ul>${fade.after.map((a) => html`<li key=${a.days}>${fadeText(a)}</li>`)}</ul>
      <p class="small">Compared with going on as usual, for a student at ${percent(fade.middling_rate)}. From ${count(fade.breaks, "break")} of ten days or more by ${count(fade.students, "student")} in the last year.</p>`}`;
}

const hard = { harder: "harder than usual", easier: "easier than usual", usual: "about as hard as usual" };

const range = ({ low, high }) => `${Math.round(100 * low)} to ${Math.round(100 * high)}`;

/** circleText says how hard a skill is at a circle. */
export function circleText(c) {
  const where = `Inside ${near(c.radius_m)}`;
  const from = `from ${ballsText(c.balls)} of ${count(c.students, "student")}`;
  switch (c.cannot_tell) {
    case "unlinked": return `${where}: cannot tell yet; nobody has practised both this and another skill lately.`;
    case "few_students": return `${where}: cannot tell yet; only ${count(c.students, "student has", "students have")} practised it lately.`;
    case "few_balls": return `${where}: cannot tell yet; only ${ballsText(c.balls)} lately.`;
  }
  return `${where}: ${hard[c.compared]}; a typical student of yours gets ${percent(c.middling_rate)} (${range(c.middling_rate_interval_80)}), ${from}.`;
}

const weeks = { 14: "two weeks", 28: "four weeks" };

/** fadeText says what some days away cost: "After two weeks away: about 3 points lower (1 to 6)." */
export function fadeText({ days, lost, lost_interval_80: { low, high } }) {
  const points = (share) => Math.round(100 * share);
  const after = `After ${weeks[days] ?? count(days, "day")} away`;
  if (low <= 0 && high >= 0) {
    const side = (share, word) => `${count(Math.abs(points(share)), "point")} ${word}`;
    return `${after}: no clear difference (${side(low, "higher")} to ${side(high, "lower")}).`;
  }
  const [word, a, b] = lost > 0 ? ["lower", low, high] : ["higher", -high, -low];
  return `${after}: about ${count(Math.abs(points(lost)), "point")} ${word} (${points(a)} to ${points(b)}).`;
}

/** noFadeText says why nothing is told of days away. */
export function noFadeText(fade) {
  switch (fade.cannot_tell) {
    case "few_breaks": return `Cannot tell yet: ${fade.breaks ? `only ${count(fade.breaks, "long break")} so far` : "no long break so far"}.`;
    case "few_students": return `Cannot tell yet: only ${count(fade.students, "student has", "students have")} taken long breaks so far.`;
    default: return `Cannot tell yet: the ${count(fade.breaks, "long break")} so far differ too much.`;
  }
}
