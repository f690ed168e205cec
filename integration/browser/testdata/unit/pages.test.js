import { equal, load } from "./harness.js";

const { placed } = await load("green/parts.js");
const { rowsOf, rowText } = await load("green/edit.js");
const { changed } = await load("green/after.js");
const { who } = await load("base/account.js");
const { awayZone } = await load("base/units.js");

const balls = (text) => [...text].map((c) => ({ outcome: { o: "out", i: "in", h: "holed" }[c] }));

export const tests = {
  "a phone is away only where its clock says something else than home"() {
    const here = Intl.DateTimeFormat().resolvedOptions().timeZone;
    const home = (time_zone) => (who.value = { member: { time_zone } });
    home(here);
    equal(awayZone(), undefined, "at home");
    home("Pacific/Kiritimati"); // UTC+14
    equal(awayZone(), here, "far from home");
    who.value = null;
  },

  "balls are cut behind what ended a row"() {
    for (const [text, want] of [
      ["", []],
      ["o", ["1 out"]],
      ["iiioohi", ["3 in, 2 out", "2 in, 1 of them holed"]],
      ["oiho", ["1 out", "2 in, 1 of them holed, 1 out"]],
    ]) {
      const rows = rowsOf(balls(text));
      equal(rows.map((r) => rowText(r.balls)), want, text);
      equal(rows.map((r) => r.first), rows.map((_, i) => rows.slice(0, i).reduce((n, r) => n + r.balls.length, 0)), `${text}, where they begin`);
    }
  },

  "the names below a bar never meet"() {
    for (const minutes of [[12, 12, 12, 12, 12], [27, 25, 4, 4, 40], [5, 5, 5, 5, 5, 5, 5, 5], [90, 1, 1, 1], [1, 1, 1, 90], [45]]) {
      const names = placed(minutes.map((m) => ({ kind: "technique", minutes: m })));
      const shown = names.filter((n) => n.left !== null);
      shown.forEach((n, i) => {
        const end = n.left + 2.4 * n.text.length;
        if (n.left < 0 || end > 100.001 || end > (shown[i + 1]?.left ?? 100.001)) throw new Error(`${minutes}: ${n.text} from ${n.left} to ${end}`);
      });
    }
    const texts = (blocks) => placed(blocks.map(([kind, minutes]) => ({ kind, minutes }))).map((n) => n.left !== null && n.text);
    equal(texts([["random", 10], ["warmup", 15], ["technique", 5], ["test", 20]]), ["Random 10", "Warm-up 15", "Technique 5", "Test 20"], "all with their minutes");
    equal(texts([["technique", 20], ["technique", 20], ["technique", 20], ["technique", 20]]), ["Technique", "Technique", "Technique", "Technique"], "without their minutes, so that all have room");
    equal(texts([["warmup", 24], ["technique", 21], ["stations", 10], ["random", 5], ["test", 40]]), ["Warm-up", "Technique", "Stations", false, "Test"], "the shortest has no room");
  },

  "a rate has changed only where its range says so"() {
    const rate = (mean, low, high, radius_m = 1.524) => ({ mean, radius_m, interval_80: { low, high } });
    const now = rate(0.34, 0.3, 0.38);
    equal(changed(rate(0.33, 0.29, 0.37), now), ", no clear change", "in its own range");
    equal(changed(rate(0.28, 0.2, 0.36), now), ", no clear change", "in the range before");
    equal(changed(rate(0.2, 0.16, 0.25), now), ", up from 20 %", "up");
    equal(changed(rate(0.5, 0.45, 0.55), now), ", down from 50 %", "down");
    equal(changed(rate(0.2, 0.16, 0.25, 1), now), "", "at another circle");
    equal(changed(null, now), "", "without one before");
  },
};
