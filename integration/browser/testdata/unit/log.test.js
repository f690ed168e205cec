import { equal, load } from "./harness.js";

const log = await load("green/log.js");
const { goneOn } = await load("green/plan.js");

const T0 = Date.UTC(2026, 4, 6, 10, 0, 0);
const minute = 60_000;

const ladder = { tiers: [{ run: 2, radius_m: 1.524 }, { run: 3, radius_m: 1.524, holed: 1 }] };
const skills = { chip: { name: "Chip and run", ladder, held: 0 }, pitch: { name: "Pitch", ladder, held: 1 } };
const block = (number, kind, skill_id, drill = {}) => ({ number, kind, minutes: 10, skill_id, skill_name: skill_id, radius_m: 1.524, drill });

/** plan is a plan of an assignment: a warm-up, stations, a random block and a test. */
const plan = () => ({
  assignment_id: "a1", week: 2, plan: 1, version: 3, name: "Long session", minutes: 40, programme_name: "Six weeks",
  blocks: [
    block(1, "warmup", "chip", { lies: ["fairway"], distances_m: [11], clubs: ["56"] }),
    block(2, "stations", "pitch", { clubs: ["52", "56", "60"] }),
    { ...block(3, "random", "pitch"), deck: [{ lie: "bare lie", distance_m: 9 }, { lie: "fairway", distance_m: 14 }] },
    block(4, "test", "pitch"),
  ],
});

const begun = (clock = 0) => log.begin({ plan: plan(), skills }, T0, clock);
const balls = (record, at) => record.live.blocks[at].balls.map((b) => b.outcome[0]).join("");
const struck = (record, outcomes, now = T0 + minute) => outcomes.reduce((r, o, i) => log.strike(r, o, now + i * 1000), record);

export const tests = {
  "a session keeps the time zone that it began in"() {
    const r = log.strike(log.begin({ plan: plan(), skills, time_zone: "Asia/Tokyo" }, T0), "in", T0 + 1000);
    equal(r.content.time_zone, "Asia/Tokyo", "after a ball");
    equal("time_zone" in begun().content, false, "at home");
  },

  "a session begins with its first block and nothing to send yet"() {
    const r = begun();
    equal([r.revision, r.unsent, r.live.phase, r.live.at], [0, 0, "running", 0], "revision, unsent, phase, block");
    equal(r.content, { started_at: "2026-05-06T10:00:00.000Z", assignment_id: "a1", week: 2, plan: 1, version: 3, blocks: [] }, "the content");
    // RFC 9562 §5.7: 48 bits of milliseconds, then the version.
    equal(parseInt(r.id.replace("-", "").slice(0, 12), 16), T0, "the time in the identity");
    equal(r.id[14], "7", "the version in the identity");
  },

  "no step changes the record that it was given"() {
    const before = struck(begun(), ["in"]);
    const text = JSON.stringify(before);
    for (const step of [
      (r) => log.strike(r, "out", T0 + 2 * minute), (r) => log.leave(r, 0.5, T0 + 2 * minute), (r) => log.next(r, T0 + 2 * minute), (r) => log.pause(r, T0 + 2 * minute),
      (r) => log.end(r, T0 + 2 * minute), (r) => log.undo(r, T0 + 2 * minute), (r) => log.noted(r, "Windy.", T0 + 2 * minute), (r) => log.pick(r, "52"),
    ]) step(before);
    equal(JSON.stringify(before), text, "the record");
  },

  "balls are told in the order in which they were struck"() {
    let r = struck(begun(), ["in", "out", "holed"], T0 + 1500);
    equal(r.content.blocks[0].balls.map((b) => [b.outcome, b.after_s]), [["in", 1.5], ["out", 2.5], ["holed", 3.5]], "outcomes and seconds");
    equal(r.content.blocks[0].balls[0], { outcome: "in", after_s: 1.5, lie: "fairway", distance_m: 11, club: "56" }, "a whole ball");
    // The phone's clock is set back by an hour in the middle.
    r = log.strike(r, "in", T0 - 60 * minute);
    equal(r.content.blocks[0].balls[3].after_s, 3.5, "the seconds of a ball after the clock was set back");
    // And into the next block: the order holds for the whole session.
    r = log.strike(log.next(r, T0 - 59 * minute), "in", T0 - 59 * minute);
    equal(r.content.blocks[1].balls[0].after_s, 3.5, "the seconds of the first ball of the next block");
  },

  "a ball out may say which way it missed, and any whether it was thin or fat"() {
    let r = log.strikeOut(begun(), "short", T0 + minute);
    r = log.contact(log.leave(r, 2, T0 + minute), "fat", T0 + minute);
    equal(r.content.blocks[0].balls[0], { outcome: "out", miss: "short", after_s: 60, lie: "fairway", distance_m: 11, club: "56", leave_m: 2, contact: "fat" }, "a whole ball");
    r = log.undo(r, T0 + minute);
    equal([r.live.blocks[0].balls[0].contact, r.live.blocks[0].balls[0].leave_m], [undefined, 2], "contact and leave after one step back");
    equal(log.undo(r, T0 + minute).live.blocks[0].balls[0].leave_m, undefined, "the leave after two");
  },

  "an edge straight after a ball that is out is that ball's way, and the two are one step to undo"() {
    const out = struck(begun(), ["in", "out"]); // the last at 61 s
    const r = log.strikeOut(out, "left", T0 + minute + 4000);
    equal([balls(r, 0), r.live.blocks[0].balls[1].miss, r.content.blocks[0].balls[1].miss], ["io", "left", "left"], "the balls and the way");
    equal(balls(log.undo(r, T0 + 2 * minute), 0), "i", "after undoing");
    equal(balls(log.strikeOut(r, "left", T0 + minute + 4000), 0), "ioo", "a second edge");
    equal(balls(log.strikeOut(out, "left", T0 + minute + 5100), 0), "ioo", "an edge later");
    equal(balls(log.strikeOut(struck(begun(), ["in"]), "left", T0 + minute), 0), "io", "an edge after a ball that is in");
    const ten = log.strikeTen(begun(), 3, T0 + minute);
    equal(balls(log.strikeOut(ten, "left", T0 + minute), 0), "iiioooooooo", "an edge after ten at once");
  },

  "a ball that was seen to land counts by where it landed, and is taken back whole"() {
    const at = (carry_m) => ({ club: "60", loft_deg: 60, lie: "fairway", carry_m, total_m: 9, aim_m: 5.4 });
    let r = log.next(begun(), T0 + 1000); // stations, judged at 1.524 m
    for (const carry of [5.4, 6.924, 3.87, 7]) r = log.land(r, at(carry), T0 + minute);
    equal(r.content.blocks.at(-1).balls.map((b) => [b.outcome, b.miss, b.club]), [["in", undefined, "60"], ["in", undefined, "60"], ["out", "short", "60"], ["out", "long", "60"]], "the balls");
    equal(r.content.landings.map((x) => x.carry_m), [5.4, 6.924, 3.87, 7], "the landings");
    r = log.undo(r, T0 + 2 * minute);
    equal([balls(r, 1), r.content.landings.length], ["iio", 3], "after undoing");
    r = log.undo(log.strike(r, "in", T0 + 3 * minute), T0 + 3 * minute);
    equal([balls(r, 1), r.content.landings.length], ["iio", 3], "after undoing a ball that was tapped");
  },

  "ten balls at once are ten balls, and one step to undo"() {
    const r = log.strikeTen(struck(begun(), ["in"]), 3, T0 + 2 * minute);
    equal(balls(r, 0), "iiiiooooooo", "the balls");
    equal(r.content.blocks[0].balls[10], { outcome: "out", after_s: 120, lie: "fairway", distance_m: 11, club: "56" }, "a whole ball");
    equal(balls(log.undo(r, T0 + 2 * minute), 0), "i", "the balls after undoing");
  },

  "a ball at the very start has a time of its own"() {
    equal(log.strike(begun(), "in", T0).content.blocks[0].balls[0].after_s, 0.001, "the seconds");
  },

  "time is what was between, without pauses"() {
    let r = log.pause(begun(), T0 + 2 * minute);
    equal(log.secondsIn(r.live.blocks[0], T0 + 30 * minute), 120, "seconds while paused");
    r = log.resume(r, T0 + 30 * minute);
    equal(log.secondsIn(r.live.blocks[0], T0 + 31 * minute), 180, "seconds after going on");
    equal(log.resume(r, T0 + 32 * minute), r, "going on twice");
    const p = log.pause(r, T0 + 33 * minute);
    equal(log.pause(p, T0 + 34 * minute), p, "pausing twice");
    r = log.next(p, T0 + 40 * minute);
    equal([r.live.phase, log.secondsIn(r.live.blocks[0], T0 + 50 * minute), log.secondsIn(r.live.blocks[1], T0 + 41 * minute)], ["running", 300, 60], "the next block, straight from the pause");
  },

  "a clock that is set back gives no negative time"() {
    let r = log.pause(begun(), T0 - minute);
    equal(log.secondsIn(r.live.blocks[0], T0 - minute), 0, "seconds of a block that ended before it began");
    r = log.resume(r, T0 - minute);
    equal(log.secondsIn(r.live.blocks[0], T0 - 2 * minute), 0, "seconds of one that runs backwards");
    equal(log.end(begun(), T0 - minute).content.ended_at, "2026-05-06T10:00:00.000Z", "the end of a session that ended before it began");
  },

  "a block is told with at most the seconds that the service takes"() {
    equal(log.end(struck(begun(), ["in"]), T0 + 9 * 60 * minute).content.blocks[0].seconds, 14_400, "seconds of a phone left on for nine hours");
  },

  "time away is left out"() {
    const r = log.leaveOut(begun(), T0 + 2 * minute, T0 + 62 * minute);
    equal(log.secondsIn(r.live.blocks[0], T0 + 63 * minute), 180, "seconds of which an hour was away");
  },

  "what was not done is not sent"() {
    let r = log.next(begun(), T0 + minute);
    r = log.next(r, T0 + minute); // at once
    r = log.next(log.strike(r, "in", T0 + minute + 100), T0 + minute + 100, true); // skipped, but with a ball
    r = log.next(r, T0 + 2 * minute, true); // the last one, skipped
    equal(r.content.blocks.map((b) => [b.plan_block, b.kind, b.balls.length]), [[1, "warmup", 0], [3, "random", 1]], "blocks that are sent");
    equal([r.live.phase, log.over(r), r.content.ended_at], ["over", true, "2026-05-06T10:02:00.000Z"], "going on from the last block ends it");
  },

  "own practice names no plan"() {
    const own = { ...plan(), assignment_id: undefined };
    const r = log.strike(log.begin({ plan: own, skills }, T0), "in", T0 + 1000);
    equal(Object.keys(r.content).sort(), ["blocks", "started_at"], "what is sent");
    equal(Object.keys(r.content.blocks[0]).sort(), ["balls", "kind", "radius_m", "seconds", "skill_id"], "what is sent of a block");
  },

  "times are sent by the service's clock"() {
    const r = log.end(log.strike(begun(-3 * 60 * minute), "in", T0 + 1000), T0 + minute);
    equal([r.content.started_at, r.content.ended_at, r.content.blocks[0].balls[0].after_s], ["2026-05-06T07:00:00.000Z", "2026-05-06T07:01:00.000Z", 1], "start, end and the first ball of a phone three hours fast");
  },

  "a note outlasts every step"() {
    let r = log.noted(begun(), "Windy.", T0 + 1000);
    r = log.end(log.undo(struck(r, ["in", "out"]), T0 + 2 * minute), T0 + 3 * minute);
    equal(r.content.note, "Windy.", "the note");
  },

  "what is said of the green goes with the session, and the spot stays on the phone"() {
    const green = { stimp_ft: 9, slope_deg: -1 }, landings = [{ club: "52", carry_m: 5 }];
    let r = log.onGround(begun(), { green }, T0 + 1000);
    r = log.onGround(r, { spot: 5.4 }, T0 + 1000);
    r = log.onGround(r, { landings }, T0 + 2000);
    r = log.next(struck(r, ["in"], T0 + 3000), T0 + minute);
    equal([r.content.green, r.content.landings, r.content.spot, r.live.spot], [green, landings, undefined, 5.4], "the green, the landings and the spot");
  },

  "undo takes back a ball, a leave, and going on"() {
    let r = struck(begun(), ["in", "out"]);
    r = log.leave(r, 2, T0 + 2 * minute);
    r = log.leave(r, 3, T0 + 2 * minute);
    r = log.undo(r, T0 + 2 * minute);
    equal(r.live.blocks[0].balls[1].leave_m, 2, "the leave before the last");
    r = log.undo(r, T0 + 2 * minute);
    equal("leave_m" in r.live.blocks[0].balls[1], false, "a leave, after all were taken back");
    r = log.next(r, T0 + 3 * minute, true);
    equal([r.live.at, r.live.blocks[0].skipped], [1, true], "the block, and that the one before was skipped");
    r = log.undo(log.undo(log.strike(r, "in", T0 + 4 * minute), T0 + 5 * minute), T0 + 5 * minute);
    equal([r.live.at, r.live.blocks[0].skipped, balls(r, 0), balls(r, 1)], [0, false, "io", ""], "block, skipped and balls");
    equal(log.secondsIn(r.live.blocks[0], T0 + 6 * minute), 360, "seconds: all of it is the first block's again");
    equal(log.secondsIn(r.live.blocks[1], T0 + 6 * minute), 0, "seconds of the second block");
    r = log.undo(log.undo(r, T0 + 6 * minute), T0 + 6 * minute);
    equal([balls(r, 0), log.undoes(r)], ["", undefined], "balls, and what is left to undo");
    equal(log.undo(r, T0 + 7 * minute), r, "undoing nothing");
  },

  "undoing everything ends where it began, whatever was done"() {
    let seed = 7;
    const chance = (n) => (seed = (seed * 48271) % 2147483647) % n; // Park & Miller, 1988
    for (let round = 0; round < 50; round++) {
      let r = begun();
      let now = T0;
      for (let i = 0; i < 40; i++) {
        now += chance(20_000);
        const what = chance(10);
        if (what < 6) r = log.strike(r, ["out", "in", "holed"][chance(3)], now);
        else if (what < 8) r = log.leave(r, chance(30) / 10, now);
        else if (r.live.at < 3) r = log.next(r, now, chance(2) === 0);
      }
      const all = log.secondsIn({ spans: r.live.blocks.flatMap((b) => b.spans) }, now);
      for (let n = 0; log.undoes(r); n++) r = log.undo(r, now);
      equal([r.live.at, log.ballsIn(r), r.live.blocks.map((b) => b.skipped)], [0, 0, [false, false, false, false]], `round ${round}: block, balls, skipped`);
      equal(Math.round(log.secondsIn(r.live.blocks[0], now)), Math.round(all), `round ${round}: the time is the first block's`);
    }
  },

  "a leave without a ball changes nothing"() {
    const r = begun();
    equal(log.leave(r, 1, T0 + 1000), r, "the record");
  },

  "a random block deals its deck in turn"() {
    let r = log.next(log.next(begun(), T0 + 1000), T0 + 2000);
    const dealt = [];
    for (let i = 0; i < 5; i++) {
      dealt.push(log.task(r).lie);
      r = log.strike(r, "in", T0 + 3000 + i);
    }
    equal(dealt, ["bare lie", "fairway", "bare lie", "fairway", "bare lie"], "the lies");
    equal(r.content.blocks.at(-1).balls.map((b) => b.distance_m), [9, 14, 9, 14, 9], "the distances that are sent");
    equal(log.task(log.undo(r, T0 + 4000)).lie, "bare lie", "the ball that was taken back is dealt again");
  },

  "a place is played out in two taps, or holed in one, and a deck goes on"() {
    const places = { ...plan(), blocks: [{ ...block(1, "playout", "chip"), deck: [{ lie: "rough", distance_m: 9 }, { lie: "fairway", distance_m: 14, walk_m: 7 }] }] };
    let r = log.strike(log.begin({ plan: places, skills }, T0), "in", T0 + 1000);
    equal(log.task(r).lie, "rough", "the place that is not holed yet");
    equal(log.strike(r, "out", T0 + 2000), r, "another first stroke, before the ball is holed");
    equal(log.strikeOut(r, "long", T0 + 9000), r, "and one with its way");
    equal(log.strokes(r, 3, T0 + 3000).content.blocks[0].balls, [{ outcome: "in", strokes: 3, after_s: 1, lie: "rough", distance_m: 9 }], "what is sent");
    r = log.strokes(r, 3, T0 + 3000);
    equal(log.task(r).walk_m, 7, "the walk to the next place");
    equal(log.strokes(r, 2, T0 + 3000), r, "strokes of no open place");
    equal(log.undo(r, T0 + 4000).content.blocks[0].balls[0].strokes, undefined, "strokes taken back");
    r = log.strike(r, "holed", T0 + 5000);
    equal([r.content.blocks[0].balls[1].strokes, log.openPlace(r)], [1, undefined], "a holed one");
    for (let i = 0; i < 20; i++) r = log.strokes(log.strike(r, "out", T0 + 6000 + i), 5, T0 + 6000 + i);
    equal(r.content.blocks[0].balls.length, log.PLACES, "places at most");
    equal(log.ladderState(r), null, "balls in a row");
  },

  "off the green, and in a test of fixed length, no balls in a row count"() {
    const said = { surface: "mat", variant: "closed_green", match_id: "m1" };
    const mat = log.strike(log.begin({ plan: plan(), skills, said }, T0), "in", T0 + 1000);
    equal([log.ladderState(mat), mat.content.surface, mat.content.variant, mat.content.match_id], [null, "mat", "closed_green", "m1"], "on a mat");
    const retest = { ...plan(), blocks: [{ ...block(1, "test", "chip"), purpose: "retest", quiet: true }] };
    const r = log.strike(log.begin({ plan: retest, skills }, T0), "in", T0 + 1000);
    equal([log.ladderState(r), r.content.blocks[0].purpose, r.content.blocks[0].quiet], [null, "retest", true], "in a retest");
  },

  "a deck goes on from what this phone played since the service dealt it"() {
    const deck = ["a", "b", "c", "d"].map((lie) => ({ lie }));
    const record = (takenAt, balls, more) => ({ takenAt, content: { blocks: [{ plan_block: 3, balls: Array.from({ length: balls }, () => ({})) }, { plan_block: 1, balls: [{}] }] }, ...more });
    const lies = (...records) => goneOn({ deck, number: 3 }, records, 100).deck.map((t) => t.lie).join("");
    equal(lies(), "abcd", "nothing played");
    equal(lies(record(100, 3)), "abcd", "the service knows of it");
    equal(lies(record(101, 3)), "dabc", "it was sent later");
    equal(lies(record(undefined, 1), record(undefined, 1), record(undefined, 9, { deleted: true })), "cdab", "not sent yet, or deleted");
    equal(lies(record(undefined, 6)), "cdab", "more than there are");
    equal(goneOn({ number: 1 }, [record(undefined, 1)], 100), {}, "no deck");
  },

  "stations take the clubs in turn, and a picked one out of turn"() {
    let r = log.next(begun(), T0 + 1000);
    r = log.strike(log.strike(r, "in", T0 + 2000), "in", T0 + 3000);
    r = log.strike(log.pick(r, "52"), "out", T0 + 4000);
    r = log.strike(r, "out", T0 + 5000);
    equal(r.live.blocks[1].balls.map((b) => b.club), ["52", "56", "52", "56"], "the clubs");
  },

  "elsewhere the last ball's club is kept"() {
    const p = plan();
    p.blocks[0].drill.clubs = ["52", "56"];
    let r = log.begin({ plan: p, skills }, T0);
    r = log.strike(log.pick(log.strike(r, "in", T0 + 1000), "56"), "in", T0 + 2000);
    r = log.strike(r, "in", T0 + 3000);
    equal(r.live.blocks[0].balls.map((b) => b.club), ["52", "56", "56"], "the clubs");
  },

  "a tier is made by a run within one block"() {
    let r = struck(begun(), ["in", "out", "in"]);
    r = log.next(log.next(log.next(r, T0 + 2 * minute), T0 + 2 * minute), T0 + 2 * minute);
    r = struck(r, ["in"], T0 + 3 * minute);
    equal(log.madeIn(r, "chip"), [], "tiers of a run of one, and of one in another block");
    const done = struck(begun(), ["out", "in", "holed", "in"]);
    equal(log.madeIn(done, "chip").map((m) => [m.index, m.block, m.ball]), [[0, 0, 3], [1, 0, 4]], "tier, block and ball");
    const s = log.ladderState(done);
    equal([s.finished, s.index, s.reading.current], [true, 1, { length: 3, holed: 1 }], "the state once all are made");
  },

  "tiers that the student holds are not made again"() {
    let r = log.next(log.next(log.next(begun(), T0 + 1000), T0 + 2000), T0 + 3000);
    r = struck(r, ["in", "in"]);
    equal(log.madeIn(r, "pitch"), [], "tiers made");
    equal([log.ladderState(r).index, log.ladderState(r).finished], [1, false], "the tier in view");
  },

  "blocks whose runs do not count have no ladder state"() {
    let r = log.next(begun(), T0 + 1000);
    equal(log.ladderState(r), null, "at the stations");
    r = log.next(r, T0 + 2000);
    equal(log.ladderState(r), null, "at random");
  },

  "odds are read from the table as it stands"() {
    const tier = { run: 3, radius_m: 1.524, holed: 1 };
    const odds = { tier, table: [[[0, 0.1, 0.2], [0, 0.3, 0.4]], [[0, 0.5, 0.6], [0, 0.7, 0.8]]] };
    const at = (length, holed, n) => log.oddsFrom(odds, tier, { length, holed }, n);
    equal(at(0, 0, 1), { chance: 0.1, balls: 1 }, "from nothing");
    equal(at(1, 1, 2), { chance: 0.8, balls: 2 }, "in a run with one holed");
    equal(at(1, 5, 2), { chance: 0.8, balls: 2 }, "with more holed than the tier wants");
    equal(at(9, 0, 9), { chance: 0.6, balls: 2 }, "in a run and with balls beyond the table");
    equal(log.oddsFrom(odds, { ...tier, run: 4 }, { length: 0, holed: 0 }, 1), null, "of another tier");
    equal(log.oddsFrom(null, tier, { length: 0, holed: 0 }, 1), null, "without a table");
  },

  "balls left follow the block's own pace once it shows"() {
    const planned = plan().blocks[0];
    // Ten minutes.
    equal(log.ballsLeft(planned, { spans: [[T0, null]], balls: [] }, T0), 17, "at the start, at 105 an hour");
    equal(log.ballsLeft({ ...planned, balls_an_hour: 61 }, { spans: [[T0, null]], balls: [] }, T0), 10, "at the student's pace");
    const six = { spans: [[T0, null]], balls: Array(6).fill({}) };
    equal(log.ballsLeft(planned, six, T0 + 2 * minute), 16, "eight minutes left, 16 balls in 120 s and 343");
    equal(log.ballsLeft(planned, six, T0 + 12 * minute), 0, "over time");
  },

  "the last thing done is found"() {
    let r = struck(begun(), ["in"], T0 + 5 * minute);
    equal(log.lastDone(r), T0 + 5 * minute, "a ball");
    r = log.next(r, T0 + 7 * minute);
    equal(log.lastDone(r), T0 + 7 * minute, "going on");
    equal(log.lastDone(log.pause(r, T0 + 9 * minute)), T0 + 9 * minute, "a pause");
  },

  "leaves are offered inside for what is in and outside for what is out"() {
    const foot = 0.3048;
    const feet = (outcome, radius) => log.rulerFor(outcome, radius * foot, foot).map((m) => Math.round((m / foot) * 100) / 100);
    equal(feet("in", 5), [1, 2, 3, 4, 5], "in, 5 ft");
    equal(feet("in", 1), [1], "in, 1 ft");
    equal(feet("in", 8), [1, 2, 3, 5, 8], "in, 8 ft");
    equal(feet("in", 12), [2, 3, 5, 8, 12], "in, 12 ft");
    equal(feet("in", 15), [2, 4, 6, 10, 15], "in, 15 ft");
    equal(feet("out", 5), [6, 8, 10, 12, 15], "out, 5 ft");
    equal(feet("out", 12), [15, 20, 30, 40, 60], "out, 12 ft");
    const metres = (radius) => log.rulerFor("in", radius, 1).map((m) => Math.round(m * 100) / 100);
    equal(metres(1.5), [0.2, 0.3, 0.5, 1, 1.5], "in, 1.5 m");
    equal(metres(0.9), [0.2, 0.3, 0.5], "in, 0.9 m");
    equal(feet("out", 100), [], "out, as far as it goes");
  },
};
