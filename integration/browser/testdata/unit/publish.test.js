import { equal, load } from "./harness.js";

const { byWeek, differences, skillDifferences } = await load("desk/diff.js");
const { who } = await load("base/account.js");

const skill = (id, name, ...tiers) => ({ id, name, kind: "pitch", text: "", ladder: { tiers } });
const FIVE = 1.524;
const pitch = skill("p", "Pitch", { run: 4, radius_m: FIVE });
const chip = skill("c", "Chip", { run: 6, radius_m: FIVE });
const skills = new Map([pitch, chip].map((k) => [k.id, k]));

const block = (change = {}) => ({ kind: "test", share: 100, minutes: 40, drill: { text: "How many?", radius_m: FIVE, distances_m: [12 * 0.9144] }, ...change });
const draft = (...blocks) => ({ name: "Spring", weeks: [{ title: "One", skill_id: "p", plans: [{ name: "Evening", minutes: 40, times: 1, blocks }] }] });

export const tests = {
  "says in the reader's units and the editor's words what changed"() {
    const after = draft(block({ kind: "warmup", share: 60, minutes: 24, skill_id: "c", drill: { text: "How many?", radius_m: 0.9144, distances_m: [9.144, 13.716], carry_percent: 30 } }), block({ share: 40 }));
    after.name = "Summer";
    after.weeks[0].plans[0].times = 3;
    after.weeks.push({ title: "Two", skill_id: "c", plans: [] });
    equal(differences(draft(block()), after, skills), [
      { week: 0, place: "programme", what: "name", mine: "Spring", theirs: "Summer" },
      { week: 1, place: "week 1, plan 1", what: "times in the week", mine: "1", theirs: "3" },
      { week: 1, place: "week 1, plan 1, block 1", what: "kind", mine: "Test", theirs: "Warm-up" },
      { week: 1, place: "week 1, plan 1, block 1", what: "share", mine: "100 %", theirs: "60 %" },
      { week: 1, place: "week 1, plan 1, block 1", what: "target radius", mine: "5 ft", theirs: "3 ft" },
      { week: 1, place: "week 1, plan 1, block 1", what: "distances", mine: "12 yd", theirs: "10, 15 yd" },
      { week: 1, place: "week 1, plan 1, block 1", what: "share of the way in the air", mine: "0 %", theirs: "30 %" },
      { week: 1, place: "week 1, plan 1, block 1", what: "skill", mine: "", theirs: "Chip" },
      { week: 1, place: "week 1, plan 1, block 2", what: "block", mine: "", theirs: "Test" },
      { week: 2, place: "week 2", what: "week", mine: "", theirs: "Two" },
    ], "in feet");
    who.value = { member: { units: "metres" } };
    equal(differences(draft(block()), draft(block({ drill: { ...block().drill, radius_m: 1 } })), skills).map((d) => [d.mine, d.theirs]), [["1.524 m", "1 m"]], "in metres");
  },
  async "writes distances in one unit"() {
    const [{ fars }, { parseLengths, writeLengths }] = [await load("base/units.js"), await load("desk/lengths.js")];
    const mixed = [26 * 0.3048, 12 * 0.9144];
    equal([fars(mixed, "feet"), fars([12 * 0.9144], "feet"), fars([9.144, 13.716], "feet"), fars([6 * 0.9144, 30 * 0.9144], "feet"), fars([], "feet"), fars([4.5, 12], "metres")], ["26, 36 ft", "12 yd", "10, 15 yd", "6, 30 yd", "", "4.5, 12 m"], "to read");
    equal([writeLengths(mixed, "feet"), writeLengths([6 * 0.9144, 30 * 0.9144], "feet"), writeLengths([0.5, 30 * 0.9144], "feet"), writeLengths([], "feet"), writeLengths([3, 12], "metres")], ["26, 36 ft", "6, 30 yd", "0.5 m, 30 yd", "", "3, 12 m"], "to edit");
    equal(parseLengths(writeLengths(mixed, "feet"), "feet").map((m) => m.toFixed(4)), mixed.map((m) => m.toFixed(4)), "and back");
  },
  "groups by week, the whole programme first"() {
    const at = (week, what) => ({ week, place: "", what, mine: "", theirs: "" });
    equal(byWeek([at(2, "a"), at(0, "b"), at(1, "c"), at(2, "d")]).map(({ week, items }) => [week, items.map((d) => d.what).join("")]), [[0, "b"], [1, "c"], [2, "ad"]], "the groups");
    equal(byWeek([]), [], "nothing");
  },
  "tells once what became of a skill that both train"() {
    const harder = { ...pitch, name: "High pitch", kind: "lob", ladder: { tiers: [{ run: 4, radius_m: FIVE, holed: 1 }], test_only: true } };
    equal(skillDifferences([pitch, chip], [harder, chip, skill("n", "New", { run: 2, radius_m: 1 })]), [
      { week: 0, place: "High pitch", what: "name", mine: "Pitch", theirs: "High pitch" },
      { week: 0, place: "High pitch", what: "sort of shot", mine: "Pitch", theirs: "Lob" },
      { week: 0, place: "High pitch", what: "steps", mine: "4 in a row inside 5 ft", theirs: "4 in a row inside 5 ft, 1 of them holed; in tests only" },
    ], "the pitch");
  },
  async "says how many of the students would pass a step"() {
    const { studentsText } = await load("desk/ladder.js");
    const says = (step, students, want) => equal(studentsText({ passed: 0, known: 0, unknown: 0, expected: 0, ...step }, { students, sessions: 4 }), want, want);
    says({ known: 12, expected: 3.2 }, 12, "None of 12 has passed; about 3 should within 4 sessions.");
    says({ known: 6, expected: 2.6, passed: 2, unknown: 4 }, 12, "2 of 12 have passed; about 3 more should within 4 sessions; 4 have too few balls to tell.");
    says({ known: 6, expected: 0.4, passed: 1, unknown: 5 }, 12, "1 of 12 has passed; no more are likely to within 4 sessions; 5 have too few balls to tell.");
    says({ known: 12, expected: 0.4 }, 12, "None of 12 has passed; none is likely to within 4 sessions.");
    says({ unknown: 12 }, 12, "Too few balls to tell for any of your 12 students.");
    says({ passed: 11, unknown: 2 }, 13, "11 of 13 have passed; 2 have too few balls to tell.");
    says({ passed: 1 }, 1, "Your student has passed.");
    says({ known: 1, expected: 0.2 }, 1, "Your student has not passed yet; unlikely within 4 sessions.");
    says({ known: 1, expected: 0.8 }, 1, "Your student has not passed yet; likely within 4 sessions.");
    says({ unknown: 1 }, 1, "Your student has not passed yet; too few balls to tell.");
    says({ passed: 12 }, 12, "All 12 have passed.");
    says({}, 0, "");
  },
};
