package advice

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// drawnLadder is of one to four steps, each harder than the one before.
func drawnLadder(t *rapid.T) (l streak.Ladder) {
	step := streak.Tier{Run: rapid.IntRange(2, 6).Draw(t, "run"), Radius: domain.Foot * domain.Length(rapid.IntRange(3, 14).Draw(t, "circle"))}
	for range rapid.IntRange(1, 4).Draw(t, "steps") {
		l.Tiers = append(l.Tiers, step)
		step.Run += rapid.IntRange(1, 6).Draw(t, "longer")
		step.Radius = max(2*domain.Foot, step.Radius-domain.Foot*domain.Length(rapid.IntRange(0, 3).Draw(t, "narrower")))
	}
	l.TestOnly = rapid.Bool().Draw(t, "test only")
	return l
}

// drawnWeek is in four parts, whose circles are the step's, one for all, or another of
// random practice's own; from known distances, or none.
func drawnWeek(t *rapid.T) WeekAhead {
	whole := rapid.SampledFrom([]domain.Length{0, 0, 4 * domain.Foot, 7 * domain.Foot, 12 * domain.Foot}).Draw(t, "the week's circle")
	random := rapid.SampledFrom([]domain.Length{0, 6 * domain.Foot, 20 * domain.Foot}).Draw(t, "random practice's circle")
	distances := rapid.SampledFrom([][]domain.Length{nil, {8 * domain.Yard}, {15 * domain.Yard, 22 * domain.Yard}}).Draw(t, "distances")
	w := practisedIn(whole, distances...)
	if random != 0 {
		w.Plans[0].Blocks[2].Drill.Radius = random
	}
	return w
}

// TestNothingOutOfReach: over many students, what is proposed never advances or raises
// while the next step is out of reach, by the same flag that Today goes by; what may
// be accepted points to no step that is passed in fewer than 1 session in 20; a
// circle is none that is too wide to aim at; and all of it can be given.
func TestNothingOutOfReach(t *testing.T) {
	overreached := 0
	rapid.Check(t, func(t *rapid.T) {
		ladder := drawnLadder(t)
		s := stands(rapid.IntRange(1, 40).Draw(t, "inside of 40"), rapid.IntRange(0, len(ladder.Tiers)).Draw(t, "held"), ladder)
		w := drawnWeek(t)
		a := practising(w, s)
		a.Challenge = rapid.Float64Range(MinChallenge, MaxChallenge).Draw(t, "challenge")
		a.Reader.Metric = rapid.Bool().Draw(t, "metric")
		all := Propose(a)
		stands := slices.ContainsFunc(Weigh(a.Practice, a.Skills), func(x Stall) bool { return x.Reason == Overreached })
		if stands {
			overreached++
		}
		if stands && all[0].Move != Ease && all[0].Move != Hold {
			t.Fatalf("Today says that the next step is out of reach, next week to %s first", all[0].Move)
		}
		next, _ := s.Next()
		for _, p := range all {
			soundProposal(t, a, s, p)
			if s.Assessment.Overreached == nil {
				continue
			}
			if p.Move == Advance || p.Move == Raise {
				t.Fatalf("out of reach, and yet to %s: %s", p.Move, p.Label(a.Reader, "Chip"))
			}
			if step, plays := p.grounds.(fitting); plays && step.step == next {
				t.Fatalf("the week is to fit a step out of reach: %s", p.Label(a.Reader, "Chip"))
			}
		}
	})
	if overreached == 0 {
		t.Error("nobody drawn was out of reach of the next step")
	}
}

// soundProposal checks what holds of every proposal, whoever it is for.
func soundProposal(t *rapid.T, a Ahead, s progress.State, p Proposal) {
	label, reason := p.Label(a.Reader, "Chip"), p.Reason(a.Reader)
	if label == "" || !strings.HasSuffix(reason, ".") || strings.Contains(reason, "..") {
		t.Fatalf("got %q: %q", label, reason)
	}
	if p.Adjustment.Kind == "" {
		return
	}
	if p.Of == OfSessions && p.Then < worthPlaying {
		t.Fatalf("%q points to a step that is passed in %v of sessions", label, p.Then)
	}
	if p.ToStudent(a.Reader) == "" {
		t.Fatalf("%q tells the student nothing", label)
	}
	var problems domain.Problems
	if p.Adjustment.Check(&problems, ""); problems.Err("", "") != nil {
		t.Fatalf("%q cannot be given: %v", label, problems.Fields())
	}
	if c, circle := p.grounds.(circleAhead); circle && c.to > c.from {
		focus, _ := s.Focus()
		if c.to > 15*domain.Foot || c.to > 2*focus.Radius {
			t.Fatalf("%q is too wide to aim at", label)
		}
		for _, d := range a.Weeks[0].Plans[0].Blocks[2].Drill.Distances {
			if 4*c.to > d {
				t.Fatalf("%q is too wide from %v", label, d)
			}
		}
	}
}

// TestFlagComesFirst: while the flag of Today stands nothing is advanced or raised,
// however high the chance in the week to come.
func TestFlagComesFirst(t *testing.T) {
	for _, s := range []progress.State{
		stands(36, 1, inRow(circle5, 2, 4, 8, 30)), stands(38, 1, inRow(circle5, 3, 4)), stands(34, 2, inRow(circle5, 3, 4)), stands(35, 1, inRow(circle5, 3, 12)),
	} {
		if got := proposed(Propose(practising(fourParts(), s)), Advance, Raise); len(got) == 0 {
			t.Fatal("without the flag nothing is advanced or raised")
		}
		s.Assessment.Overreached = &estimate.Flag{}
		if got := proposed(Propose(practising(fourParts(), s)), Advance, Raise); len(got) != 0 {
			t.Errorf("got %q", got[0].Label(Reader{}, "Chip"))
		}
	}
}

// TestWidest: each bound of a circle to practise to, and the coach's own circle above
// them all.
func TestWidest(t *testing.T) {
	const ft, yd = domain.Foot, domain.Yard
	for _, c := range []struct {
		why           string
		step, planned domain.Length
		distances     []domain.Length
		metric        bool
		want          domain.Length
	}{
		{"twice the step's", 5 * ft, 5 * ft, nil, false, 10 * ft},
		{"15 ft", 8 * ft, 8 * ft, nil, false, 15 * ft},
		{"15 ft, in tenths of a metre", 8 * ft, 8 * ft, nil, true, 45 * domain.Metre / 10},
		{"a quarter of the distance, in half feet", 5 * ft, 5 * ft, []domain.Length{9 * yd, 40 * yd}, false, 6*ft + ft/2}, // 6.75 ft
		{"far away", 5 * ft, 5 * ft, []domain.Length{40 * yd}, false, 10 * ft},
		{"the coach's own", 5 * ft, 18 * ft, []domain.Length{9 * yd}, false, 18 * ft},
	} {
		s := stepAhead{outing: outing{focus: streak.Tier{Radius: c.step}, reader: Reader{Metric: c.metric}}}
		if got := s.widest(c.planned, c.distances); got != c.want {
			t.Errorf("%s: got %v, want %v", c.why, got, c.want)
		}
	}
}

// practisedIn is a week whose drills are played to a circle from some distances.
func practisedIn(circle domain.Length, distances ...domain.Length) WeekAhead {
	w := fourParts()
	for i := range w.Plans[0].Blocks {
		w.Plans[0].Blocks[i].Drill = curriculum.Drill{Radius: circle, Distances: distances}
	}
	return w
}

// practisedFrom is a week whose drills follow the steps, from some distances.
func practisedFrom(distances ...domain.Length) WeekAhead { return practisedIn(0, distances...) }

// TestPracticeFromCloserIn: one ball in ten inside 10 ft from 22 yd would take a circle
// of 33 ft; the shot comes nearer instead, in what is practised alone. Where no
// distance is known the circle is the widest.
func TestPracticeFromCloserIn(t *testing.T) {
	s := stands(5, 0, inRow(10*domain.Foot, 3)) // passed in about 1 session in 12
	all := Propose(practising(practisedFrom(22*domain.Yard), s))
	if all[0].Move != Hold || all[1].Move != Ease {
		t.Fatalf("got %+v", all)
	}
	p := all[1]
	r := s.Assessment.SessionRate()
	if p.Adjustment.DistancePart != 67 || !slices.Equal(p.Adjustment.Only, []curriculum.BlockKind{curriculum.Random}) ||
		p.Of != OfBalls || p.Now != r.Inside(1) || p.Then != r.Inside(100.0/67) || p.Until != nextMonday.AddDays(6) || p.Skill != "chip" || p.Adjustment.Skill != "chip" {
		t.Errorf("got %+v", p)
	}
	if got, want := p.Label(Reader{}, "Chip"), "Random practice from closer in: 14 yd"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, want := p.Reason(Reader{}), "About 1 ball in 10 finishes inside 10 ft: too hard to practise to, and a circle for 7 in 10 would be too wide to aim at; from closer in it should be about 3 in 10. Only random practice changes."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, want := p.ToStudent(Reader{}), "This week, play random practice from closer in: 14 yd."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if p := Propose(practising(fourParts(), s))[1]; p.Adjustment.Radius != 15*domain.Foot {
		t.Errorf("no distance known: got %+v", p)
	}
}

// TestPracticeStays: a circle that can be aimed at is preferred to a shorter shot; the
// widest and the narrowest there are stay; and nothing is made harder to practise to
// while the next step is out of reach.
func TestPracticeStays(t *testing.T) {
	low := stands(14, 0, inRow(circle5, 4))
	if p := Propose(practising(practisedFrom(40*domain.Yard), low))[1]; p.Adjustment.Kind != curriculum.OtherRadius || p.Adjustment.Radius != 8*domain.Foot {
		t.Errorf("a circle that can be aimed at: got %+v", p.Adjustment)
	}
	for _, c := range []struct {
		why    string
		state  progress.State
		random domain.Length
		metric bool
	}{
		{"the coach's is the widest", stands(5, 0, inRow(10*domain.Foot, 3)), 16 * domain.Foot, false},
		{"as narrow as can be", stands(37, 0, inRow(domain.Metre/10, 3)), 0, true},
		{"the step is out of reach", stands(36, 0, inRow(circle5, 60)), 0, false},
	} {
		w := fourParts()
		w.Plans[0].Blocks[2].Drill.Radius = c.random
		a := practising(w, c.state)
		a.Reader.Metric = c.metric
		for _, p := range Propose(a) {
			if p.Of == OfBalls {
				t.Errorf("%s: got %q", c.why, p.Label(a.Reader, "Chip"))
			}
		}
	}
}

// TestAllFromCloserIn: where the next step is out of reach and no easier one is left,
// every block is played from nearer; without a distance the coach is told.
func TestAllFromCloserIn(t *testing.T) {
	s := stands(3, 2, inRow(8*domain.Foot, 3, 4, 5))
	s.Tiers = append(s.Tiers, progress.TierRecord{Tier: streak.Tier{Run: 5, Radius: 9 * domain.Foot}, Best: streak.Run{Length: 5}})
	if s.Assessment.Overreached == nil {
		t.Fatal("the step is not out of reach")
	}
	all := Propose(practising(practisedFrom(12*domain.Yard, 18*domain.Yard), s))
	if len(all) != 1 || all[0].Move != Ease || len(all[0].Adjustment.Only) != 0 || all[0].Adjustment.DistancePart != 67 {
		t.Fatalf("got %+v", all)
	}
	if got, want := all[0].Label(Reader{}, "Chip"), "Every block from closer in: 8 yd and 12 yd"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	got := all[0].Reason(Reader{})
	if !strings.HasPrefix(got, "Inside 8 ft: ") || !strings.HasSuffix(got, ": out of reach for now, and no easier step is left. About 1 ball in 10 finishes inside 8 ft; from closer in it should be about 2 in 10.") {
		t.Errorf("got %q", got)
	}
	wide := practisedIn(9*domain.Foot, 12*domain.Yard)
	r := s.Assessment.SessionRate()
	if p := Propose(practising(wide, s))[0]; math.Abs(p.Now-r.Inside(9.0/8)) > 1e-12 || math.Abs(p.Then-r.Inside(9.0/8*100/67)) > 1e-12 || !strings.Contains(p.Reason(Reader{}), "finishes inside 9 ft") {
		t.Errorf("the week's circle: got %+v, %q", p, p.Reason(Reader{}))
	}
	if p := Propose(practising(fourParts(), s))[0]; p.Move != Hold || !strings.HasSuffix(p.Reason(Reader{}), ": out of reach for now, and no easier step is left. Try a shorter shot or a better lie.") {
		t.Errorf("no distance known: got %q", p.Reason(Reader{}))
	}
}

// TestRefit: in a week that is played to another circle than the next step's an easier
// step comes first where that is too hard, in the week's circle if there is one; the
// week fits the step that is played for.
func TestRefit(t *testing.T) {
	const ft = domain.Foot
	ladder := streak.Ladder{Tiers: []streak.Tier{{Run: 4, Radius: 8 * ft}, {Run: 7, Radius: 5 * ft}}}
	done := func(s progress.State, t streak.Tier) progress.State {
		s.Tiers = append(s.Tiers, progress.TierRecord{Tier: t, Best: streak.Run{Length: t.Run}})
		return s
	}
	hard := stands(15, 1, ladder)
	for _, c := range []struct {
		why   string
		state progress.State
		week  WeekAhead
		moves []Move
		step  streak.Tier
		fit   domain.Length
	}{
		{"a longer run in the week's circle", hard, practisedIn(8 * ft), []Move{Ease}, streak.Tier{Run: 6, Radius: 8 * ft}, 0},
		{"that was done; a shorter run in the step's", done(hard, streak.Tier{Run: 7, Radius: 8 * ft}), practisedIn(8 * ft), []Move{Ease, Fit}, streak.Tier{Run: 3, Radius: 5 * ft}, 5 * ft},
		{"all was done", done(hard, streak.Tier{Run: 7, Radius: 5*ft + ft/2}), practisedIn(4 * ft), []Move{Ease, Fit}, streak.Tier{Run: 3, Radius: 5 * ft}, 5 * ft},
		{"the week's circle is narrower", hard, practisedIn(4 * ft), []Move{Ease, Fit}, streak.Tier{Run: 3, Radius: 5 * ft}, 5 * ft},
		{"not hard", stands(28, 1, ladder), practisedIn(8 * ft), []Move{Fit}, streak.Tier{}, 5 * ft},
		{"so easy that the next but one would do", stands(37, 1, streak.Ladder{Tiers: append(slices.Clone(ladder.Tiers), streak.Tier{Run: 9, Radius: 5 * ft})}), practisedIn(8 * ft), []Move{Fit}, streak.Tier{}, 5 * ft},
		{"the last step again", stands(24, 2, ladder), practisedIn(8 * ft), []Move{Fit}, streak.Tier{}, 5 * ft},
		{"a step behind the last", stands(38, 2, ladder), practisedIn(8 * ft), []Move{Raise, Fit}, streak.Tier{Run: 7, Radius: 3 * ft}, 3 * ft},
	} {
		all := Propose(practising(c.week, c.state))
		var moves []Move
		for _, p := range all {
			moves = append(moves, p.Move)
			switch p.Adjustment.Kind {
			case curriculum.ExtraStep:
				if p.Adjustment.Tier != c.step {
					t.Errorf("%s: got %+v, want %+v", c.why, p.Adjustment.Tier, c.step)
				}
			case curriculum.OtherRadius:
				if p.Adjustment.Radius != c.fit || p.Then != all[0].Then {
					t.Errorf("%s: got a circle of %v at %v, want %v", c.why, p.Adjustment.Radius, p.Then, c.fit)
				}
			}
		}
		if !slices.Equal(moves, c.moves) {
			t.Errorf("%s: got %v, want %v", c.why, moves, c.moves)
		}
	}
	reason := func(s progress.State, w WeekAhead) string {
		all := Propose(practising(w, s))
		return all[len(all)-1].Reason(Reader{})
	}
	if got := reason(hard, practisedIn(4*ft)); !strings.HasPrefix(got, "The week's 4 ft circle is too small to pass 3 in a row inside 5 ft. With a 5 ft circle it is passed in about 8 sessions in 10.") {
		t.Errorf("got %q", got)
	}
	if got := reason(stands(24, 2, ladder), practisedIn(8*ft)); !strings.HasPrefix(got, "The week's 8 ft circle is too big to pass 7 in a row inside 5 ft again. ") {
		t.Errorf("got %q", got)
	}
	again := Propose(practising(practisedIn(8*ft), stands(24, 2, ladder)))
	if got := again[len(again)-1].ToStudent(Reader{}); got != "This week, play every block to a circle of 5 ft: the step to pass again uses that circle." {
		t.Errorf("got %q", got)
	}
	if got := reason(stands(38, 2, ladder), practisedIn(8*ft)); strings.Contains(got, " again") {
		t.Errorf("got %q", got)
	}
}

// TestBetween: where every shorter run was done and the next step is out of reach, its
// run comes first in the narrowest circle in which it is not too hard.
func TestBetween(t *testing.T) {
	s := stands(20, 1, inRow(circle5, 12, 13))
	p := Propose(practising(fourParts(), s))[0]
	o := newOuting(s, fourParts().Week, fourParts().Plans[0], 0.7, Reader{})
	hard := func(tier streak.Tier) bool { return fitOf(o.chance(tier), 0.7, stepAboutRight) == tooHard }
	tier, narrower := p.Adjustment.Tier, p.Adjustment.Tier
	narrower.Radius -= domain.Foot / 2
	if p.Move != Ease || tier.Run != 13 || tier.Radius <= circle5+domain.Foot/2 || p.Then != o.chance(tier) || hard(tier) || !hard(narrower) {
		t.Errorf("got %+v", p)
	}
	if got, ok := o.between(s.Ladder.Tiers[1], narrower.Radius); !ok || got != narrower {
		t.Errorf("up to half a foot less: got %+v", got)
	}
	all := Propose(practising(practisedIn(circle5), s))
	if len(all) != 2 || all[0].Adjustment.Tier != tier || all[1].Move != Fit || all[1].Adjustment.Radius != tier.Radius ||
		!strings.HasPrefix(all[1].Reason(Reader{}), "The week's 5 ft circle is too small to pass 13 in a row inside ") {
		t.Errorf("a week in the next step's circle: got %+v", all)
	}
	done := func(circle domain.Length) progress.State {
		s := s
		s.Tiers = append(slices.Clone(s.Tiers), progress.TierRecord{Tier: streak.Tier{Run: 13, Radius: circle}, Best: streak.Run{Length: 13}})
		return s
	}
	if p := Propose(practising(fourParts(), done(tier.Radius)))[0]; p.Adjustment.Tier != narrower {
		t.Errorf("that was done: got %+v, want %+v", p.Adjustment.Tier, narrower)
	}
	if p := Propose(practising(fourParts(), done(circle5+domain.Foot/2)))[0]; p.Move != Hold {
		t.Errorf("all was done: got %+v", p)
	}
	odd := o
	next := streak.Tier{Run: 13, Radius: circle5 - domain.Foot/10}
	odd.state.Ladder.Tiers = []streak.Tier{next}
	if got, _ := odd.between(next, circle5); got.Radius != circle5 {
		t.Errorf("a circle that people do not speak of: got %v", got.Radius)
	}
}

// TestOften: how often a step is passed, in words.
func TestOften(t *testing.T) {
	for _, c := range []struct {
		p    float64
		want string
	}{{0.25, "about 1 session in 4"}, {0.66, "about 1 session in 2"}, {0.67, "about 7 sessions in 10"}, {0.94, "about 9 sessions in 10"}, {0.96, "nearly every session"}} {
		if got := often(c.p); got != c.want {
			t.Errorf("%v: got %q, want %q", c.p, got, c.want)
		}
	}
	for _, c := range []struct {
		share float64
		want  string
	}{{0.04, "hardly any ball finishes"}, {0.06, "about 1 ball in 10 finishes"}, {0.3, "about 3 balls in 10 finish"}, {0.96, "nearly every ball finishes"}} {
		if got := ballsIn(c.share); got != c.want {
			t.Errorf("%v: got %q, want %q", c.share, got, c.want)
		}
	}
	for balls, want := range map[int]string{0: "No ball counts", 1: "Only 1 ball counts", 2: "Only 2 balls count"} {
		if got := tooFew(balls); !strings.HasPrefix(got, want+" at this skill") {
			t.Errorf("%d: got %q", balls, got)
		}
	}
	if got := change([]curriculum.BlockKind{curriculum.Stations}); got != "change" {
		t.Errorf("the stations %s", got)
	}
}

// TestTimeWithoutAStep: time moves to technique where few balls stop inside, without a
// chance when the step is out of reach; none moves to a test of such a step.
func TestTimeWithoutAStep(t *testing.T) {
	s := stands(3, 1, inRow(circle5, 8, 9))
	s.Tiers = append(s.Tiers, progress.TierRecord{Tier: streak.Tier{Run: 9, Radius: circle5 + domain.Foot/2}, Best: streak.Run{Length: 9}})
	all := Propose(practising(fourParts(), s))
	moved := proposed(all, MoveTime)
	if len(moved) != 1 || moved[0].Adjustment.Shares[0].Kind != curriculum.Technique || moved[0].Of != "" || moved[0].Then != 0 {
		t.Errorf("got %d moves, time %+v", len(all), moved)
	}
}
