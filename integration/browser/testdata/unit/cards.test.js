import { equal, load } from "./harness.js";

const { cardsOf, codeOf, idOf, kinds, newMatch, readCode, SEEDS, sizes, tasksOf } = await load("base/cards.js");
const { standText } = await load("base/matches.js");
const log = await load("green/log.js");
const clinic = await load("desk/match.js");

const T0 = Date.UTC(2026, 4, 6, 10, 0, 0);
const match = { kind: "pitch", balls: 9, own: true, seed: 1 };
const session = () => log.begin({
  said: { match_id: idOf(match) }, skills: { pitch: { id: "pitch", name: "Pitch", ladder: { tiers: [] }, held: 0 } },
  plan: { name: "Match", minutes: 11, blocks: [{ number: 1, kind: "random", minutes: 11, skill_id: "pitch", skill_name: "Pitch", radius_m: 2.35, drill: {}, deck: cardsOf(match), cards: 9 }] },
}, T0);

export const tests = {
  "a new match has a code that gives it back, however it is typed"() {
    for (const kind of kinds) for (const balls of sizes) {
      const m = newMatch(kind, balls, balls > 9);
      equal([m.seed < SEEDS, readCode(` ${codeOf(m).toLowerCase().replace("-", " ")} `)], [true, m], "read again");
      equal(cardsOf(m).length, balls, "cards");
      equal(new Set(cardsOf(m).slice(0, tasksOf(kind).length)).size, Math.min(balls, tasksOf(kind).length), "each once before one comes again");
    }
  },

  "what is no code says why"() {
    equal([readCode("B000-001").wrong, readCode("B000-001U").wrong, readCode("B000-001S").wrong],
      ["A code has 8 characters; this has 7.", "No code has a U. Read it from the other phone again.", "A character is wrong. Read it from the other phone again."], "wrong");
  },

  "a match logs each card once and no more, and names itself when it is sent"() {
    let r = session();
    for (let i = 0; i < 12; i++) r = log.strike(r, i % 2 ? "in" : "out", T0 + 1000 * (i + 1));
    equal(log.allPlayed(log.strikeOut(r, "left", T0 + 60_000)), true, "all are played");
    const [block] = log.strikeOut(r, "left", T0 + 60_000).content.blocks;
    equal(block.balls.map(({ lie, distance_m, club }) => ({ lie, distance_m, club })), cardsOf(match), "the cards");
    equal([r.content.match_id, block.radius_m, block.kind], ["58000000-2000-8000-8000-6d6174636873", 2.35, "random"], "what is sent");
    equal(log.allPlayed(log.undo(r, T0 + 61_000)), false, "one taken back is played again");
  },

  "a clinic's match is played in turn, taken back from the last ball, and saved as each one's own"() {
    const six = { ...match, balls: 6 };
    const players = [{ id: "ada", name: "Ada", radius_m: 2.35, balls: [] }, { name: "Otto", radius_m: 4, balls: [] }];
    let s = { match: six, skill: { id: "pitch", name: "Pitch" }, players, started: T0, saved: [] };
    const taps = (state, ...outcomes) => outcomes.reduce((t, o, i) => clinic.struck(t, o, T0 + 60_000 * (i + 1)), state);
    const balls = (state) => state.players.map((p) => p.balls.map((b) => b.outcome[0]).join(""));
    s = taps(s, "in", "out", "holed");
    equal([balls(s), clinic.turn(s)], [["ih", "o"], 1], "in turn");
    equal([balls(clinic.undone(s)), balls(clinic.undone(clinic.undone(s))), balls(clinic.undone({ ...s, players }))], [["i", "o"], ["i", ""], ["", ""]], "taken back");
    s = taps({ ...s, players }, ...Array.from({ length: 14 }, (_, i) => (i % 2 ? "out" : "in")));
    equal([clinic.over(s), balls(s), clinic.ranked(s)[0].name], [true, ["iiiiii", "oooooo"], "Ada"], "no more than the cards");
    const sent = clinic.sessionOf(s, s.players[0]);
    equal([sent.student_id, sent.match_id, sent.blocks[0].radius_m, sent.blocks[0].balls.map((b) => b.after_s), sent.blocks[0].seconds, sent.blocks[0].balls[2].distance_m],
      ["ada", idOf(six), 2.35, [60, 180, 300, 420, 540, 660], 360, cardsOf(six)[2].distance_m], "what is sent");
  },

  "how a match stands, for a player and for others"() {
    const player = (student_id, name, inside, balls = 6) => ({ student_id, name, inside, outcomes: Array(balls).fill("in") });
    const stands = (standing, ...players) => ({ standing, players, cards: Array(6) });
    const two = stands("won", player("a", "Ada", 4), player("b", "Bo", 3));
    equal([standText(two, "a"), standText(two), standText(stands("level", player("a", "Ada", 3), player("b", "Bo", 3)), "b")], ["You won, 4 to 3.", "Ada won, 4 to 3.", "Level, with 3 each."], "over");
    equal([standText(stands("alone", player("a", "Ada", 3)), "a"), standText(stands("going_on", player("a", "Ada", 3), player(undefined, undefined, 1, 2)), "a")],
      ["Nobody else's balls have arrived yet.", "Not over: Another player 2 of 6."], "not over");
  },
};
