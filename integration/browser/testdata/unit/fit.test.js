import { equal, load } from "./harness.js";

const kinds = ["warmup", "technique", "stations", "random", "test"];

/** skill is one as the service gives it: each kind of block has a drill of its own. */
const skill = (id, radius, club) => ({
  id, name: id[0].toUpperCase() + id.slice(1), ladder: { tiers: [{ run: 3, radius_m: radius }, { run: 5, radius_m: radius / 2 }] },
  fitted: kinds.map((kind) => ({ kind, drill: { text: `${kind} of ${id}`, radius_m: radius, distances_m: [radius * 8], clubs: [club], ...(club !== "putter" && { carry_percent: 40 }) } })),
});

const skills = new Map([skill("pitch", 2, "56"), skill("bunker", 4, "58"), skill("putt", 1, "putter")].map((s) => [s.id, s]));
const drill = (id, kind) => skills.get(id).fitted.find((f) => f.kind === kind).drill;
const block = (id, kind, more) => ({ kind, share: 25, drill: { ...drill(id, kind), ...more } });
const content = (...weeks) => ({ name: "Weeks", weeks });
const week = (id, ...blocks) => ({ skill_id: id, title: "One", plans: [{ minutes: 60, blocks }] });
const drills = (w) => w.plans.flatMap((p) => p.blocks.map((b) => b.drill));

export const tests = {
  async "a drill is what the skill gives, and nothing without a skill"() {
    const { fitOf } = await load("desk/fit.js");
    equal(fitOf(skills.get("putt"), "test"), drill("putt", "test"), "the test of a putt");
    equal([fitOf(undefined, "test"), fitOf({ id: "old" }, "test")], [{}, {}], "without a skill, and from a service that does not say");
    fitOf(skills.get("putt"), "test").clubs.push("56");
    equal(drill("putt", "test").clubs, ["putter"], "the skill's own clubs after a drill changed");
  },

  async "another skill for a week fits what was not written by hand, and says so"() {
    const { changeWeekSkill } = await load("desk/fit.js");
    const c = content(week("pitch", block("pitch", "technique"), block("pitch", "random", { text: "My own words.", lies: ["divot"] }), block("pitch", "test")));
    equal(changeWeekSkill(c, 0, "bunker", skills), "Fitted 3 drills to Bunker; your own text and lies in block 2 stay.", "the sentence");
    equal(drills(c.weeks[0]), [drill("bunker", "technique"), { ...drill("bunker", "random"), text: "My own words.", lies: ["divot"] }, drill("bunker", "test")], "the drills");
    equal(changeWeekSkill(c, 0, "putt", skills), "Fitted 3 drills to Putt; your own text and lies in block 2 stay.", "the sentence, the second time");
    equal(drills(c.weeks[0])[2], drill("putt", "test"), "the test, without the share in the air that a putt lacks");
    const back = content(week("pitch", block("pitch", "test", { text: "Mine." })));
    equal(changeWeekSkill(back, 0, "bunker", skills), "Fitted 1 drill to Bunker; your own text in block 1 stays.", "one field of one block");
  },

  async "a block with nothing in it is filled by the first skill"() {
    const { changeWeekSkill } = await load("desk/fit.js");
    const c = content(week(undefined, { kind: "test", share: 50, drill: {} }, { kind: "random", share: 50, drill: { text: "Mine." } }));
    equal(changeWeekSkill(c, 0, "pitch", skills), "Fitted 2 drills to Pitch; your own text in block 2 stays.", "the sentence");
    equal(drills(c.weeks[0]), [drill("pitch", "test"), { ...drill("pitch", "random"), text: "Mine." }], "the drills");
    equal(changeWeekSkill(c, 0, "", skills), "", "what is said of no skill");
    equal(drills(c.weeks[0]), [{}, { text: "Mine." }], "the drills without a skill");
  },

  async "a field that was emptied by hand stays empty"() {
    const { changeWeekSkill } = await load("desk/fit.js");
    const c = content(week("pitch", block("pitch", "test", { clubs: undefined })));
    changeWeekSkill(c, 0, "bunker", skills);
    equal([drills(c.weeks[0])[0].clubs, drills(c.weeks[0])[0].distances_m], [undefined, drill("bunker", "test").distances_m], "clubs and distances");
  },

  async "a test is not left with a radius that the ladder lacks"() {
    const { refit } = await load("desk/fit.js");
    const to = (kind, radius) => refit({ ...drill("pitch", kind), radius_m: radius }, { skill: skills.get("pitch"), kind }, { skill: skills.get("bunker"), kind });
    equal([to("test", 3).drill.radius_m, to("warmup", 3).drill.radius_m], [4, 4], "a radius of no step");
    equal([to("test", 2.5).kept, to("random", 3).kept], [[], ["radius_m"]], "what stays");
    // 4 and 2 m are the bunker's steps; 2 m would be the pitch's own, so ask from the putt.
    const second = refit({ ...drill("putt", "test"), radius_m: 2 }, { skill: skills.get("putt"), kind: "test" }, { skill: skills.get("bunker"), kind: "test" });
    equal([second.drill.radius_m, second.kept], [2, ["radius_m"]], "the radius of a later step");
  },

  async "another kind does not keep the old kind's text"() {
    const { changeBlock } = await load("desk/fit.js");
    const c = content(week("pitch", block("pitch", "technique"), block("pitch", "technique", { text: "Mine." })));
    equal(changeBlock(c, [0, 0, 0], { kind: "stations" }, skills), "Block 1: Stations, fitted to Pitch.", "the sentence");
    equal(c.weeks[0].plans[0].blocks[0], { ...block("pitch", "stations") }, "the block");
    equal(changeBlock(c, [0, 0, 1], { kind: "test" }, skills), "Block 2: Test, fitted to Pitch; your own text stays.", "the sentence with words of one's own");
    equal(c.weeks[0].plans[0].blocks[1].drill.text, "Mine.", "words of one's own");
  },

  async "a warm-up takes the earlier skill, and gives it back"() {
    const { changeBlock, newBlock } = await load("desk/fit.js");
    const c = content(week("pitch"), week("bunker"), week("bunker", block("bunker", "technique")));
    const at = [2, 0, 0];
    equal(changeBlock(c, at, { kind: "warmup" }, skills), "Block 1: Warm-up, fitted to Pitch.", "the sentence");
    equal(c.weeks[2].plans[0].blocks[0], { kind: "warmup", share: 25, skill_id: "pitch", drill: drill("pitch", "warmup") }, "the warm-up");
    equal(changeBlock(c, at, { kind: "test" }, skills), "Block 1: Test, fitted to Bunker.", "the sentence back");
    equal(c.weeks[2].plans[0].blocks[0], block("bunker", "test"), "the test");
    equal(changeBlock(c, at, { skill_id: "putt" }, skills), "Block 1: Test, fitted to Putt.", "another skill for the block");
    changeBlock(c, at, { skill_id: "" }, skills);
    equal(c.weeks[2].plans[0].blocks[0], block("bunker", "test"), "the week's skill again");
    equal(newBlock(c, 1, "warmup", 10, skills), { kind: "warmup", share: 10, skill_id: "pitch", drill: drill("pitch", "warmup") }, "a new warm-up in week 2");
    equal(newBlock(c, 0, "warmup", 10, skills), { kind: "warmup", share: 10, drill: drill("pitch", "warmup") }, "a new warm-up in week 1");
  },

  async "the warm-up of the week after follows the skill that it keeps alive"() {
    const { changeWeekSkill } = await load("desk/fit.js");
    const warm = { kind: "warmup", share: 10, skill_id: "pitch", drill: drill("pitch", "warmup") };
    const c = content(week("pitch", block("pitch", "test")), week("bunker", structuredClone(warm), block("bunker", "test")));
    equal(changeWeekSkill(c, 0, "putt", skills), "Fitted 1 drill to Putt; the warm-up of week 2 follows.", "the sentence");
    equal(c.weeks[1].plans[0].blocks[0], { ...warm, skill_id: "putt", drill: drill("putt", "warmup") }, "the warm-up of week 2");
    const twice = content(week("pitch"), week("pitch"), week("bunker", structuredClone(warm)));
    changeWeekSkill(twice, 1, "putt", skills);
    equal(twice.weeks[2].plans[0].blocks[0], warm, "a warm-up whose skill an earlier week still trains");
  },

  async "equal parts make the hour in one press"() {
    const { equalParts, newWeek } = await load("desk/fit.js");
    const c = content(newWeek({ weeks: [] }, "pitch", skills));
    const all = (w) => c.weeks[w].plans[0].blocks.map((b) => [b.kind, b.share, b.skill_id]);
    equal(all(0), [["technique", 25, undefined], ["stations", 25, undefined], ["random", 25, undefined], ["test", 25, undefined]], "the first week");
    c.weeks.push(newWeek(c, "bunker", skills));
    equal(all(1), [["warmup", 12, "pitch"], ["technique", 22, undefined], ["stations", 22, undefined], ["random", 22, undefined], ["test", 22, undefined]], "the second week");
    equal(drills(c.weeks[1]), [drill("pitch", "warmup"), ...["technique", "stations", "random", "test"].map((kind) => drill("bunker", kind))], "its drills");

    const own = content(week("pitch", block("pitch", "test", { text: "Mine." }), block("pitch", "test"), block("pitch", "warmup")));
    equal(equalParts(own, [0, 0], skills), "Four equal parts; your own text in block 4 stays; 2 blocks taken out.", "the sentence over a plan that was written");
    equal(drills(own.weeks[0])[3], { ...drill("pitch", "test"), text: "Mine." }, "the test that was written");
    const later = content(week("pitch"), week("bunker"));
    equal(equalParts(later, [1, 0], skills), "Four equal parts after a warm-up with Pitch.", "the sentence in a later week");
    equal(drills(newWeek({ weeks: [] }, undefined, skills)), [{}, {}, {}, {}], "the drills of a week without a skill");
    equal(newWeek({ weeks: [] }, "putt", skills, [{ kind: "random", share: 70 }, { kind: "test", share: 30 }]).plans[0].blocks,
      [{ kind: "random", share: 70, drill: drill("putt", "random") }, { kind: "test", share: 30, drill: drill("putt", "test") }], "parts that are given");
  },

  async "a copy for another skill is fitted as a whole"() {
    const { copyFor } = await load("desk/fit.js");
    const warm = { kind: "warmup", share: 10, skill_id: "putt", drill: drill("putt", "warmup") };
    const other = { kind: "random", share: 20, skill_id: "putt", drill: { text: "Putts, too." } };
    const c = content(week("pitch", warm, block("pitch", "random", { text: "Mine." }), other, block("pitch", "test")), week("putt"));
    equal(copyFor(c, 0, "bunker", skills), "Week 2 is for Bunker: 3 drills fitted; its title and text are left to you.", "the sentence");
    equal(c.weeks.map((w) => w.skill_id), ["pitch", "bunker", "putt"], "the weeks");
    const copy = c.weeks[1];
    equal([copy.title, copy.plans[0].blocks[0].skill_id], [undefined, "pitch"], "its title, and the skill of its warm-up");
    equal(drills(copy), [drill("pitch", "warmup"), drill("bunker", "random"), { text: "Putts, too." }, drill("bunker", "test")], "its drills");
    equal(drills(c.weeks[0])[1].text, "Mine.", "the week that was copied");
  },

  async "several plans are told apart"() {
    const { changeWeekSkill } = await load("desk/fit.js");
    const w = week("pitch", block("pitch", "test", { radius_m: 1, clubs: ["60"] }));
    w.plans.push({ minutes: 30, blocks: [block("pitch", "random", { text: "Mine." })] });
    equal(changeWeekSkill(content(w), 0, "putt", skills), "Fitted 2 drills to Putt; your own clubs in block 1 of plan 1 and text in block 1 of plan 2 stay.", "the sentence");
  },
};
