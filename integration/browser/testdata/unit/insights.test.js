import { equal, load } from "./harness.js";

const says = (got, want) => equal(got, want, "the sentence");

const known = { radius_m: 0.9144, students: 14, balls: 1260, compared: "harder", middling_rate: 0.461, middling_rate_interval_80: { low: 0.4, high: 0.52 } };
const fade = (days, lost, low, high) => ({ days, lost, lost_interval_80: { low, high } });

export const tests = {
  async "says how hard a skill is"() {
    const { circleText } = await load("desk/insights.js");
    says(circleText(known), "Inside 3 ft: harder than usual; a typical student of yours gets 46 % (40 to 52), from 1260 balls of 14 students.");
    says(circleText({ ...known, compared: "usual" }).split(";")[0], "Inside 3 ft: about as hard as usual");
    const unknown = (cannot_tell) => circleText({ radius_m: 1.524, students: 1, balls: 40, cannot_tell });
    says(unknown("few_students"), "Inside 5 ft: cannot tell yet; only 1 student has practised it lately.");
    says(unknown("few_balls"), "Inside 5 ft: cannot tell yet; only 40 balls lately.");
    says(unknown("unlinked"), "Inside 5 ft: cannot tell yet; nobody has practised both this and another skill lately.");
  },
  async "says what days away cost"() {
    const { fadeText } = await load("desk/insights.js");
    says(fadeText(fade(14, 0.031, 0.012, 0.058)), "After two weeks away: about 3 points lower (1 to 6).");
    says(fadeText(fade(28, 0.014, -0.011, 0.037)), "After four weeks away: no clear difference (1 point higher to 4 points lower).");
    says(fadeText(fade(14, -0.04, -0.06, -0.02)), "After two weeks away: about 4 points higher (2 to 6).");
  },
  async "says why it cannot tell"() {
    const { noFadeText } = await load("desk/insights.js");
    says(noFadeText({ cannot_tell: "few_breaks", breaks: 4 }), "Cannot tell yet: only 4 long breaks so far.");
    says(noFadeText({ cannot_tell: "few_breaks", breaks: 0 }), "Cannot tell yet: no long break so far.");
    says(noFadeText({ cannot_tell: "few_students", students: 3 }), "Cannot tell yet: only 3 students have taken long breaks so far.");
    says(noFadeText({ cannot_tell: "too_wide", breaks: 9 }), "Cannot tell yet: the 9 long breaks so far differ too much.");
  },
};
