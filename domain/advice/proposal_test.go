package advice

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// nextMonday is the first day of the week that is proposed for.
var nextMonday = domain.Date{Year: 2026, Month: time.June, Day: 8}

// stands is a student who put a share of 40 balls inside in each of 12 sessions, and
// holds some steps of a ladder.
func stands(inside int, held int, l streak.Ladder) progress.State {
	s := progress.State{Skill: "chip", Ladder: l, Held: held, LastAt: nextMonday.AddDays(-2).Start(time.UTC)}
	focus, _ := s.Focus()
	e := estimate.Evidence{Radius: focus.Radius}
	for i := range 12 {
		e.Sessions = append(e.Sessions, estimate.Observation{Day: float64(2 * i), Balls: 40, Inside: inside})
	}
	if next, open := s.Next(); open {
		e.Tier, e.BallsPerTest = &next, 40
	}
	s.Recent = progress.RecentOf(e.Sessions)
	s.Totals = progress.Tally{Sessions: 12, Balls: 12 * 40, Seconds: 12 * 1800}
	s.Assessment = estimate.Assess(e)
	for i, t := range l.Tiers {
		r := progress.TierRecord{Tier: t}
		if i < held {
			r.Best = streak.Run{Length: t.Run, Holed: t.Holed}
		}
		s.Tiers = append(s.Tiers, r)
	}
	return s
}

// inRow is a ladder of runs in one circle, for which technique counts, so that a week
// has two blocks that do.
func inRow(circle domain.Length, runs ...int) (l streak.Ladder) {
	l.Technique = true
	for _, run := range runs {
		l.Tiers = append(l.Tiers, streak.Tier{Run: run, Radius: circle})
	}
	return l
}

// fourParts is a week of three hours in four equal parts: warm-up, technique, random
// practice and test.
func fourParts() WeekAhead {
	var blocks []curriculum.Block
	for _, k := range []curriculum.BlockKind{curriculum.Warmup, curriculum.Technique, curriculum.Random, curriculum.Test} {
		blocks = append(blocks, curriculum.Block{Kind: k, Share: 25})
	}
	blocks[0].Skill = "putt"
	return WeekAhead{Monday: nextMonday, Week: curriculum.Week{Skill: "chip", Plans: []curriculum.Plan{{Minutes: 60, Times: 3, Blocks: blocks}}}}
}

// practising is a student who was out the day before, and a coach who wants 70 %.
func practising(w WeekAhead, skills ...progress.State) Ahead {
	return Ahead{
		Practice: Practice{
			Habit: progress.Habit{Starts: []time.Time{nextMonday.AddDays(-2).Start(time.UTC)}}, Today: nextMonday.AddDays(-1), Zone: time.UTC,
			Expected: true, Since: nextMonday.AddDays(-28), PerWeek: 3,
		},
		Weeks: []WeekAhead{w}, Skills: skills, Challenge: DefaultChallenge,
	}
}

// proposed gives the proposals of one move.
func proposed(all []Proposal, moves ...Move) (some []Proposal) {
	for _, p := range all {
		if slices.Contains(moves, p.Move) {
			some = append(some, p)
		}
	}
	return some
}

const circle5 = 5 * domain.Foot

// TestHoldEaseRaiseAdvance: worked with the exact odds: at 60 % inside, in two blocks
// of 20 balls, 6 in a row is passed in half of all sessions, 10 in a row in one of 16,
// and so on.
func TestHoldEaseRaiseAdvance(t *testing.T) {
	for _, c := range []struct {
		why    string
		state  progress.State
		move   Move
		tier   streak.Tier
		reason string
	}{
		{"about right", stands(24, 1, inRow(circle5, 3, 6, 10)), Hold, streak.Tier{}, ". 6 in a row inside 5 ft is passed in about 1 session in 2: about right."},
		{"out of reach, all shorter runs done but two", stands(24, 1, inRow(circle5, 5, 10)), Ease, streak.Tier{Run: 6, Radius: circle5}, ": too hard for now. 6 in a row inside 5 ft is passed in about 1 session in 2."},
		{"out of reach, nothing done", stands(24, 0, inRow(circle5, 12)), Ease, streak.Tier{Run: 5, Radius: circle5}, ": out of reach for now. 5 in a row inside 5 ft is passed in about 8 sessions in 10."},
		{"nothing lies between", stands(24, 1, inRow(circle5, 9, 10)), Hold, streak.Tier{}, ": hard, but no easier step is left."},
		{"without the holed balls", stands(32, 1, streak.Ladder{Tiers: []streak.Tier{{Run: 4, Radius: circle5}, {Run: 6, Radius: circle5, Holed: 6}}}), Ease, streak.Tier{Run: 6, Radius: circle5}, ": out of reach for now. 6 in a row inside 5 ft is passed in nearly every session."},
		{"two at once", stands(36, 1, inRow(circle5, 2, 4, 8, 30)), Advance, streak.Tier{}, ". 8 in a row inside 5 ft is passed in nearly every session, and passing it passes the steps before it too."},
		{"the last is too easy", stands(38, 1, inRow(circle5, 3, 4)), Raise, streak.Tier{Run: 4, Radius: 2*domain.Foot + domain.Foot/2}, ": too easy. 4 in a row inside 2.5 ft is passed in about 8 sessions in 10."},
		{"finished and too easy", stands(34, 2, inRow(circle5, 3, 4)), Raise, streak.Tier{Run: 4, Radius: 3 * domain.Foot}, ": too easy. 4 in a row inside 3 ft is passed in about 7 sessions in 10."},
		{"the next is too easy, the last too hard", stands(36, 0, inRow(circle5, 3, 30)), Hold, streak.Tier{}, ". 3 in a row inside 5 ft is passed in nearly every session."},
		{"finished by luck", stands(24, 2, inRow(circle5, 3, 8)), Hold, streak.Tier{}, ". It is the last step: pass it again on another day."},
	} {
		all := Propose(practising(fourParts(), c.state))
		p := all[0]
		if p.Move != c.move || p.Adjustment.Tier != c.tier || p.Skill != "chip" || p.Of != OfSessions {
			t.Errorf("%s: got %s, %+v, want %s, %+v", c.why, p.Move, p.Adjustment, c.move, c.tier)
		}
		if got := p.Reason(Reader{}); !strings.HasSuffix(got, c.reason) || !strings.HasPrefix(got, "Inside 5 ft: ") {
			t.Errorf("%s: got %q, want … %q", c.why, got, c.reason)
		}
		if step := p.Adjustment.Kind == curriculum.ExtraStep; step != (c.tier.Run > 0) || step && (p.Adjustment.Skill != "chip" || p.Until != domain.Date{}) {
			t.Errorf("%s: got %+v until %v", c.why, p.Adjustment, p.Until)
		}
	}
}

// lifted is the chance of a step in blocks of so many balls, with its odds as much
// better than at the rate as it stands as Today's forecast has those of the next step.
func lifted(s progress.State, t streak.Tier, blocks ...int) float64 {
	next, _ := s.Next()
	r, odds := s.Assessment.SessionRate(), func(p float64) float64 { return p / (1 - p) }
	better := odds(r.Chance(t, 1, blocks...)) * odds(s.Assessment.Forecast.NextSession) / odds(r.Chance(next, 1, 20, 20))
	return better / (1 + better)
}

// TestChancesOfProposals: now is the chance of the next step as Today tells it, then
// that of the step proposed, both with what is not known integrated.
func TestChancesOfProposals(t *testing.T) {
	s := stands(24, 1, inRow(circle5, 5, 10))
	p := Propose(practising(fourParts(), s))[0]
	if want := s.Assessment.Forecast.NextSession; math.Abs(p.Now-want) > 1e-12 {
		t.Errorf("now: got %v, want %v", p.Now, want)
	}
	if want := lifted(s, streak.Tier{Run: 6}, 20, 20); math.Abs(p.Then-want) > 1e-12 {
		t.Errorf("then: got %v, want %v", p.Then, want)
	}
	if got := p.Label(Reader{}, "Chip"); got != "First 6 in a row inside 5 ft, then 10 in a row inside 5 ft" {
		t.Errorf("got %q", got)
	}
	if got := p.ToStudent(Reader{Metric: true}); got != "First, a step in between: 6 in a row inside 1.52 m. Once you have passed it, go on to 10 in a row inside 1.52 m." {
		t.Errorf("got %q", got)
	}
	s = stands(24, 1, inRow(circle5, 3, 6, 10))
	p = Propose(practising(fourParts(), s))[0]
	if p.Now != p.Then || p.Adjustment.Kind != "" || p.ToStudent(Reader{}) != "" {
		t.Errorf("to hold changes nothing: got %+v, %q", p, p.ToStudent(Reader{}))
	}
	if got := p.Label(Reader{}, "Chip"); got != "Stay with 6 in a row inside 5 ft" {
		t.Errorf("got %q", got)
	}
	p = Propose(practising(fourParts(), stands(36, 1, inRow(circle5, 2, 4, 8, 30))))[0]
	if label, text := p.Label(Reader{}, "Chip"), p.ToStudent(Reader{}); label != "Go straight for 8 in a row inside 5 ft" || text != "" {
		t.Errorf("got %q, %q", label, text)
	}
	p = Propose(practising(fourParts(), stands(34, 2, inRow(circle5, 3, 4))))[0]
	if label, text := p.Label(Reader{}, "Chip"), p.ToStudent(Reader{}); label != "Add a step: 4 in a row inside 3 ft" || text != "One more step for you: 4 in a row inside 3 ft." {
		t.Errorf("got %q, %q", label, text)
	}
}

// TestChallengeIsTheCoachs: who wants more success gets a shorter run.
func TestChallengeIsTheCoachs(t *testing.T) {
	s := stands(24, 0, inRow(circle5, 15))
	last := math.Inf(1)
	for _, wanted := range []float64{MinChallenge, 0.7, MaxChallenge} {
		a := practising(fourParts(), s)
		a.Challenge = wanted
		p := Propose(a)[0]
		run := float64(p.Adjustment.Tier.Run)
		if p.Move != Ease || run >= last || p.Then < wanted {
			t.Errorf("%v wanted: got %+v, then %v", wanted, p.Adjustment, p.Then)
		}
		// One ball more in a row would be less than wanted.
		if o := newOuting(s, a.Weeks[0].Week, a.Weeks[0].Plans[0], wanted, Reader{}); o.chance(streak.Tier{Run: int(run) + 1, Radius: circle5}) >= wanted {
			t.Errorf("%v wanted: %v in a row is not the longest", wanted, run)
		}
		last = run
	}
}

// TestPracticeCircle: few or most balls inside change the circle of the blocks that
// do not count; technique, which counts, follows once the step is not worth playing
// for. No circle beside the proposed one is nearer to the wanted share.
func TestPracticeCircle(t *testing.T) {
	random, technique := curriculum.Random, curriculum.Technique
	for _, c := range []struct {
		why    string
		state  progress.State
		metric bool
		move   Move
		only   []curriculum.BlockKind
		begins string
		where  string
	}{
		{"few inside, the step within reach", stands(14, 0, inRow(circle5, 4)), false, Ease, []curriculum.BlockKind{random}, "About 4 balls in 10 finish inside 5 ft: too hard", "random practice changes"},
		{"few inside, the step out of reach", stands(12, 1, inRow(circle5, 3, 8)), false, Ease, []curriculum.BlockKind{technique, random}, "About 3 balls in 10 finish inside 5 ft: too hard", "technique and random practice change"},
		{"about right", stands(26, 1, inRow(circle5, 3, 6)), false, Hold, nil, "", ""},
		{"most inside", stands(35, 1, inRow(circle5, 3, 12)), true, Raise, []curriculum.BlockKind{random}, "About 9 balls in 10 finish inside 1.52 m: too easy", "random practice changes"},
	} {
		a := practising(fourParts(), c.state)
		a.Reader.Metric = c.metric
		all := slices.DeleteFunc(Propose(a), func(p Proposal) bool { return p.Adjustment.Kind != curriculum.OtherRadius })
		if len(all) != len(c.only[:min(1, len(c.only))]) {
			t.Errorf("%s: got %+v", c.why, all)
			continue
		}
		if len(all) == 0 {
			continue
		}
		p := all[0]
		if p.Move != c.move || !slices.Equal(p.Adjustment.Only, c.only) || p.Adjustment.Skill != "chip" || p.Of != OfBalls || p.Until != nextMonday.AddDays(6) {
			t.Errorf("%s: got %+v", c.why, p)
		}
		o := newOuting(c.state, a.Weeks[0].Week, a.Weeks[0].Plans[0], 0.7, a.Reader)
		if p.Now != o.inside(circle5) || p.Then != o.inside(p.Adjustment.Radius) || p.Adjustment.Radius%a.Reader.step() != 0 {
			t.Errorf("%s: got %+v", c.why, p)
		}
		for _, beside := range []domain.Length{-a.Reader.step(), a.Reader.step()} {
			if off := math.Abs(o.inside(p.Adjustment.Radius+beside) - 0.7); off < math.Abs(p.Then-0.7) {
				t.Errorf("%s: %v is not the nearest", c.why, p.Adjustment.Radius)
			}
		}
		circle, what := a.Reader.exact(p.Adjustment.Radius), where(c.only)
		if got, want := p.Reason(a.Reader), c.begins+" to practise to. Inside "+circle+" it would be about 7 in 10. Only "+c.where+"."; got != want {
			t.Errorf("%s: got %q, want %q", c.why, got, want)
		}
		if got, want := p.Label(a.Reader, "Chip"), capital(what)+" to a circle of "+circle; got != want {
			t.Errorf("%s: got %q, want %q", c.why, got, want)
		}
		if got, want := p.ToStudent(a.Reader), "This week, play "+what+" to a circle of "+circle+". The rest stays as it is."; got != want {
			t.Errorf("%s: got %q, want %q", c.why, got, want)
		}
	}
	if got := where(practiceOrder); got != "technique, the stations and random practice" {
		t.Errorf("got %q", got)
	}
}

var practiceOrder = []curriculum.BlockKind{curriculum.Technique, curriculum.Stations, curriculum.Random}

// TestPracticeCircleOfThePlan: a circle of the drill's own is what is compared, and a
// plan of tests has no practice.
func TestPracticeCircleOfThePlan(t *testing.T) {
	w := fourParts()
	w.Plans[0].Blocks[2].Drill.Radius = 8 * domain.Foot // 70 % inside for a round scatter
	s := stands(14, 0, inRow(circle5, 4))
	if got := proposed(Propose(practising(w, s)), Ease); len(got) != 0 {
		t.Errorf("a circle that is right already: got %+v", got)
	}
	twice := fourParts()
	twice.Plans[0].Blocks[0] = twice.Plans[0].Blocks[2]
	if got := proposed(Propose(practising(twice, s)), Ease); len(got) != 1 || len(got[0].Adjustment.Only) != 1 {
		t.Errorf("two random blocks: got %+v", got)
	}
	w.Plans[0].Blocks[2].Skill = "putt"
	if got := proposed(Propose(practising(w, s)), Ease); len(got) != 0 {
		t.Errorf("random practice of another skill: got %+v", got)
	}
	w.Plans[0].Blocks[2] = curriculum.Block{Kind: curriculum.Stations, Share: 25}
	if got := proposed(Propose(practising(w, s)), Ease); len(got) != 1 || got[0].Adjustment.Only[0] != curriculum.Stations {
		t.Errorf("stations: got %+v", got)
	}
	usual := inRow(circle5, 4)
	usual.Technique = false
	if got := proposed(Propose(practising(w, stands(14, 0, usual))), Ease); len(got) != 1 || len(got[0].Adjustment.Only) != 2 {
		t.Errorf("where technique is not tested, it follows at once: got %+v", got)
	}
}

// TestBeyond: a step behind the last is in a narrower circle, and was not done.
func TestBeyond(t *testing.T) {
	odd := 4*domain.Foot + 4*domain.Foot/5 // 5 ft is the nearest to it that people speak of
	s := stands(28, 1, inRow(odd, 5))
	a := practising(fourParts(), s)
	o := newOuting(s, a.Weeks[0].Week, a.Weeks[0].Plans[0], 0.7, Reader{})
	o.wanted = o.chance(o.focus) - 0.001 // so that the circle is all but its own
	if _, ok := o.beyond(); ok {
		t.Error("a wider circle is no step beyond")
	}
	s = stands(34, 2, inRow(circle5, 3, 4))
	o = newOuting(s, a.Weeks[0].Week, a.Weeks[0].Plans[0], 0.7, Reader{})
	narrower, ok := o.beyond()
	if !ok {
		t.Fatal("nothing lies beyond")
	}
	o.state.Tiers = append(o.state.Tiers, progress.TierRecord{Tier: narrower, Best: streak.Run{Length: 4}})
	if got, ok := o.beyond(); ok {
		t.Errorf("%+v was done under an earlier ladder", got)
	}
}

// TestStepInAnotherCircle: where no block that counts is played to the step's circle,
// that comes first.
func TestStepInAnotherCircle(t *testing.T) {
	s := stands(24, 1, inRow(circle5, 3, 6))
	to := func(technique, test domain.Length) WeekAhead {
		w := fourParts()
		w.Plans[0].Blocks[1].Drill.Radius, w.Plans[0].Blocks[3].Drill.Radius = technique, test
		return w
	}
	for _, c := range []struct {
		why  string
		week WeekAhead
		move Move
	}{
		{"the plan's are wider", to(8*domain.Foot, 8*domain.Foot), Fit},
		{"the plan's are narrower", to(3*domain.Foot, 3*domain.Foot), Fit},
		{"the test is played to it", to(8*domain.Foot, circle5), ""},
		{"technique follows the step", to(0, 8*domain.Foot), ""},
	} {
		all := Propose(practising(c.week, s))
		p := all[0]
		if c.move == "" {
			if p.Move != Hold {
				t.Errorf("%s: got %+v", c.why, p)
			}
			continue
		}
		if len(all) != 1 || p.Move != c.move || p.Adjustment.Kind != curriculum.OtherRadius || p.Adjustment.Radius != circle5 || len(p.Adjustment.Only) > 0 || p.Until != nextMonday.AddDays(6) {
			t.Errorf("%s: got %+v", c.why, all)
		}
		if next, _ := s.Next(); p.Now != 0 || math.Abs(p.Then-lifted(s, next, 20, 20)) > 1e-12 || p.Of != OfSessions {
			t.Errorf("%s: got %v to %v of %s", c.why, p.Now, p.Then, p.Of)
		}
	}
	p := Propose(practising(to(8*domain.Foot, 8*domain.Foot), s))[0]
	if got := p.Label(Reader{}, "Chip"); got != "Play every block to a circle of 5 ft" {
		t.Errorf("got %q", got)
	}
	if got := p.Reason(Reader{}); got != "The week's 8 ft circle is too big to pass 6 in a row inside 5 ft. With a 5 ft circle it is passed in about 1 session in 2." {
		t.Errorf("got %q", got)
	}
	if got := p.ToStudent(Reader{}); got != "This week, play every block to a circle of 5 ft: your next step uses that circle." {
		t.Errorf("got %q", got)
	}
	none := fourParts()
	none.Plans[0].Blocks = none.Plans[0].Blocks[:1]
	if got := Propose(practising(none, s))[0]; got.Move != Hold {
		t.Errorf("a plan in which nothing counts: got %+v", got)
	}
}

// TestLittleToGoBy: nothing but to go on without a ladder, with too few balls, or for
// a student who is not practising; nothing at all without a plan.
func TestLittleToGoBy(t *testing.T) {
	few := stands(24, 0, inRow(circle5, 12))
	few.Recent = progress.RecentCounts{Sessions: 1, Judged: 19, Inside: 10}
	enough := few
	enough.Recent.Judged = 20
	lapsed := practising(fourParts(), stands(24, 0, inRow(circle5, 12)))
	lapsed.Habit.Starts[0] = nextMonday.AddDays(-12).Start(time.UTC)
	for _, c := range []struct {
		why    string
		ahead  Ahead
		reason string
	}{
		{"no ladder", practising(fourParts(), progress.State{Skill: "chip"}), "No ball counts at this skill yet: too early to change anything."},
		{"nothing at the skill", practising(fourParts()), "No ball counts at this skill yet: too early to change anything."},
		{"few balls", practising(fourParts(), few), "Only 19 balls count at this skill so far: too early to change anything."},
		{"not practising", lapsed, "No session for 11 days (the last session was on 27 May); planned: one every 2.3 days. Find out why before you change anything."},
	} {
		all := Propose(c.ahead)
		if len(all) != 1 || all[0].Move != Hold || all[0].Skill != "chip" || all[0].Adjustment.Kind != "" || all[0].ToStudent(Reader{}) != "" || all[0].Label(Reader{}, "Chip") != "Go on as planned" {
			t.Errorf("%s: got %+v, want to hold", c.why, all)
		} else if got := all[0].Reason(Reader{}); got != c.reason {
			t.Errorf("%s: got %q, want %q", c.why, got, c.reason)
		}
	}
	if got := Propose(practising(fourParts(), enough)); got[0].Move != Ease {
		t.Errorf("20 balls: got %+v", got)
	}
	if got := Propose(practising(WeekAhead{Week: curriculum.Week{Skill: "chip"}}, few)); len(got) != 0 {
		t.Errorf("a week without a plan: got %+v", got)
	}
}

// TestUsualPlan: the plan that is done most often, the first of several.
func TestUsualPlan(t *testing.T) {
	w := WeekAhead{Week: curriculum.Week{Plans: []curriculum.Plan{{Name: "a", Times: 1}, {Name: "b", Times: 2}, {Name: "c", Times: 2}}}}
	if got := w.usualPlan().Name; got != "b" {
		t.Errorf("got %s, want b", got)
	}
}

// TestCountingBlocks: balls go to the blocks that count, by their time.
func TestCountingBlocks(t *testing.T) {
	w := fourParts()
	w.Plans[0].Blocks[3].Share = 50
	s := progress.State{Skill: "chip", Ladder: streak.Ladder{Technique: true}}
	if got := countingBlocks(s, w.Week, w.Plans[0], 45); !slices.Equal(got, []int{15, 30}) {
		t.Errorf("got %v, want 15 of technique and 30 of the test", got)
	}
	s.Ladder.Technique = false
	if got := countingBlocks(s, w.Week, w.Plans[0], 44.5); !slices.Equal(got, []int{45}) {
		t.Errorf("technique is not tested: got %v", got)
	}
	another := fourParts()
	another.Plans[0].Blocks[3].Skill = "putt"
	s.Ladder.Technique = true
	if got := countingBlocks(s, another.Week, another.Plans[0], 45); !slices.Equal(got, []int{45}) {
		t.Errorf("the test plays another skill: got %v", got)
	}
	s.Ladder.Technique = false
	w.Plans[0].Blocks = w.Plans[0].Blocks[:3]
	if got := countingBlocks(s, w.Week, w.Plans[0], 45.4); !slices.Equal(got, []int{45}) {
		t.Errorf("no block that counts: got %v", got)
	}
}

// TestFitOf: both sides of both bounds.
func TestFitOf(t *testing.T) {
	at := func(d float64) float64 { return 1 / (1 + math.Exp(-d)) }
	for _, c := range []struct {
		d    float64
		want fit
	}{{-0.41, tooHard}, {-0.39, aboutRight}, {0.79, aboutRight}, {0.81, tooEasy}} {
		if got := fitOf(at(c.d), at(0.2), 0.6); got != c.want {
			t.Errorf("%v: got %v, want %v", c.d, got, c.want)
		}
	}
	// What the documentation says of the bands when 70 % are wanted.
	for _, c := range []struct {
		share, by float64
		want      fit
	}{
		{0.555, ballsAboutRight, tooHard}, {0.565, ballsAboutRight, aboutRight}, {0.805, ballsAboutRight, aboutRight}, {0.815, ballsAboutRight, tooEasy},
		{0.235, stepAboutRight, tooHard}, {0.245, stepAboutRight, aboutRight}, {0.94, stepAboutRight, aboutRight}, {0.955, stepAboutRight, tooEasy},
	} {
		if got := fitOf(c.share, 0.7, c.by); got != c.want {
			t.Errorf("%v with 70 %% wanted: got %v, want %v", c.share, got, c.want)
		}
	}
	if MinChallenge != 0.5 || MaxChallenge != 0.9 {
		t.Error("the migration bounds the challenge to 50 to 90 %")
	}
	if fitOf(0, 0.7, 2) != tooHard || fitOf(1, 0.7, 2) != tooEasy {
		t.Error("none and all are too hard and too easy")
	}
	if got := fitOf(0.5, 0.5, 0); got != aboutRight {
		t.Errorf("on the bound: got %s", got)
	}
}

// BenchmarkPropose is one student whose ladder is too hard, with an earlier skill.
func BenchmarkPropose(b *testing.B) {
	w := fourParts()
	w.Earlier = []domain.ID{"lob"}
	lob := stands(24, 1, inRow(circle5, 5, 12))
	lob.Skill = "lob"
	a := practising(w, stands(12, 1, inRow(circle5, 3, 8)), lob)
	for b.Loop() {
		Propose(a)
	}
}
