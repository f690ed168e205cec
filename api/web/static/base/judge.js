// What balls say about a tier: the little judging that a page does itself, to
// show the run so far without a network. The service judges again what it is
// sent. Both are held to the same case file (domain/streak/testdata/cases.json).
//
// A ball is { outcome, leave_m?, radius_m? }; one without a radius was judged at
// its block's, which stands beside it. A tier is { run, radius_m, holed? }.

/** tenths is a length in whole tenths of a millimetre, in which lengths are compared. */
export const tenths = (metres) => Math.round((metres ?? 0) * 10_000);

/**
 * judge says what a ball counts as for a tier: "out", "in", "holed", or
 * "unmeasured" when it was judged at another radius, that judgement says nothing
 * about the tier's, and no leave was taken.
 */
export function judge(tier, ball, radius) {
  const [want, at] = [tenths(tier.radius_m), tenths(radius)];
  if (ball.outcome === "holed") return "holed";
  if (ball.outcome === "in" && want >= at) return "in";
  if (ball.outcome === "out" && want <= at) return "out";
  if (ball.leave_m == null) return "unmeasured";
  return tenths(ball.leave_m) <= want ? "in" : "out";
}

/** nearFrom is the length from which a run counts as near a tier. */
export const nearFrom = (tier) => Math.max(1, Math.min(Math.floor((3 * tier.run + 3) / 4), tier.run - 1));

const meets = (tier, run) => run.length >= tier.run && run.holed >= (tier.holed ?? 0);

/**
 * read reads the balls of one block against a tier, up to now: { best, current,
 * passedAt (the 1-based ball, or null), inside, judged, unmeasured, near,
 * verdicts }. The current run may still attain the tier, so it is not near yet;
 * ended closes it.
 */
export function read(balls, tier, radius) {
  const r = {
    tier, best: { length: 0, holed: 0 }, current: { length: 0, holed: 0 }, passedAt: null,
    inside: 0, judged: 0, unmeasured: 0, near: { runs: 0, length: 0, times: 0, holed: 0 }, verdicts: [], met: false,
  };
  for (const ball of balls) add(r, ball, radius);
  return r;
}

function add(r, ball, radius) {
  const verdict = judge(r.tier, ball, ball.radius_m ?? radius);
  r.verdicts.push(verdict);
  if (verdict === "unmeasured") r.unmeasured++;
  else r.judged++;
  if (verdict !== "in" && verdict !== "holed") {
    r.near = withNear(r);
    r.current = { length: 0, holed: 0 };
    r.met = false;
    return;
  }
  r.inside++;
  r.current = { length: r.current.length + 1, holed: r.current.holed + (verdict === "holed" ? 1 : 0) };
  const { best, current } = r;
  if (current.length > best.length || (current.length === best.length && current.holed > best.holed)) r.best = current;
  if (!r.met && meets(r.tier, current)) {
    r.met = true;
    r.passedAt ??= r.verdicts.length;
  }
}

/** withNear is near with the current run as if it ended here. */
function withNear({ tier, current, met, near }) {
  if (met || current.length < nearFrom(tier)) return near;
  const sum = { ...near, runs: near.runs + 1 };
  if (current.length > near.length) return { ...sum, length: current.length, times: 1, holed: current.holed };
  if (current.length === near.length) return { ...sum, times: near.times + 1, holed: Math.max(near.holed, current.holed) };
  return sum;
}

/** ended is what stands if the block ends here. */
export const ended = (reading) => ({ ...reading, near: withNear(reading) });

/** counts reports whether runs in a kind of block count for a ladder. */
export const counts = ({ test_only: only, technique_counts: technique }, kind) => kind === "test" || (!only && (kind === "warmup" || (kind === "technique" && Boolean(technique))));

/** tested reports whether runs in a block of a session count: none off the green, in a version of a plan, or in a test of fixed length. */
export const tested = (ladder, { kind, purpose }, { surface = "green", variant }) => surface === "green" && !variant && !purpose && counts(ladder, kind);

const SHORTEST = tenths(0.1);
const LONGEST = tenths(30);
const FARTHEST = tenths(1000);

/**
 * wrong gives the member of a ball that must be corrected, as a pointer, or
 * null: a leave must not contradict the judgement.
 */
export function wrong(ball, radius) {
  const badRadius = tenths(radius) < SHORTEST || tenths(radius) > LONGEST;
  const measured = ball.leave_m != null;
  const leave = tenths(ball.leave_m);
  if (ball.outcome === "holed") {
    if (radius && badRadius) return "/radius_m";
    return measured && leave !== 0 ? "/leave_m" : null;
  }
  if (badRadius) return "/radius_m";
  if (!measured) return null;
  if (leave < 0 || leave > FARTHEST) return "/leave_m";
  if (ball.outcome === "in" && leave > tenths(radius)) return "/leave_m";
  if (ball.outcome === "out" && leave < tenths(radius)) return "/leave_m";
  return null;
}
