import { equal, load } from "./harness.js";

const { placed } = await load("green/parts.js");
const { rowsOf, rowText } = await load("green/edit.js");
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
      for (const row of new Set(names.map((n) => n.row))) {
        const here = names.filter((n) => n.row === row);
        here.forEach((n, i) => {
          const end = n.left + 2.2 * n.text.length;
          if (n.left < 0 || end > 100.001 || end > (here[i + 1]?.left ?? 100.001)) throw new Error(`${minutes}: ${n.text} from ${n.left} to ${end} in row ${row}`);
        });
      }
    }
  },
};
