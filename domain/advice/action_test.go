package advice_test

import (
	"slices"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// weekOf plans technique, random practice and a test of the given shares, so many
// times a week.
func weekOf(times, technique, random, test int) *curriculum.Week {
	return &curriculum.Week{Skill: "pitch", Plans: []curriculum.Plan{{Minutes: 60, Times: times, Blocks: []curriculum.Block{
		{Kind: curriculum.Technique, Share: technique}, {Kind: curriculum.Random, Share: random}, {Kind: curriculum.Test, Share: test},
	}}}}
}

// TestActions holds, for each reason, what is put behind its advice and how it is
// said.
func TestActions(t *testing.T) {
	five := streak.Tier{Run: 5, Radius: 5 * domain.Foot}
	nine := streak.Tier{Run: 9, Radius: 5 * domain.Foot}
	ladder := streak.Ladder{Tiers: []streak.Tier{nine, {Run: 18, Radius: 3 * domain.Foot}}}
	steps := []string{"Give Edda 5 in a row inside 5 ft until passed", "Give Edda 9 in a row inside 7 ft until passed"}
	week := weekOf(3, 40, 30, 30)
	for _, c := range []struct {
		why    string
		assess func(*estimate.Assessment, *estimate.Flag)
		week   *curriculum.Week
		labels []string
		first  curriculum.Adjustment
		text   string
		weeks  int
	}{
		{"overreached", func(a *estimate.Assessment, f *estimate.Flag) { a.Overreached = f }, week,
			append(slices.Clone(steps), "Plan technique 50 %, test 20 % for Edda, for 3 weeks"),
			curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: "pitch", Tier: five}, "Next, on the way to 9 in a row inside 5 ft: 5 in a row inside 5 ft.", 0},
		{"a test too short", func(a *estimate.Assessment, f *estimate.Flag) { f.BallsPerTest, f.Chance = 8, 0; a.Overreached = f }, week,
			[]string{"Plan test 40 %, technique 30 % for Edda, for 3 weeks"},
			curriculum.Adjustment{Kind: curriculum.OtherShares, Shares: []curriculum.KindShare{{Kind: curriculum.Test, Share: 40}, {Kind: curriculum.Technique, Share: 30}}},
			"For 3 weeks your practice time changes: test 40 %, technique 30 %.", 3},
		{"flat", func(a *estimate.Assessment, f *estimate.Flag) { a.Flat = f }, week,
			append(slices.Clone(steps), "Plan random practice 40 %, technique 30 % for Edda, for 3 weeks"),
			curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: "pitch", Tier: five}, "Next, on the way to 9 in a row inside 5 ft: 5 in a row inside 5 ft.", 0},
		{"slipping", func(a *estimate.Assessment, f *estimate.Flag) { a.Slipping = f }, week,
			append([]string{"Plan technique 50 %, test 20 % for Edda, for 3 weeks"}, steps...),
			curriculum.Adjustment{Kind: curriculum.OtherShares, Shares: []curriculum.KindShare{{Kind: curriculum.Technique, Share: 50}, {Kind: curriculum.Test, Share: 20}}},
			"For 3 weeks your practice time changes: technique 50 %, test 20 %.", 3},
		{"outgrown", func(a *estimate.Assessment, f *estimate.Flag) {
			f.EvenRadius, f.EvenRun = 3*domain.Foot, 15
			a.Outgrown = f
		}, week,
			[]string{"Let Edda go on to 9 in a row inside 3 ft", "Let Edda go on to 12 in a row inside 5 ft", "Plan test 40 %, technique 30 % for Edda, for 3 weeks"},
			curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: "pitch", Tier: streak.Tier{Run: 9, Radius: 3 * domain.Foot}},
			"After 9 in a row inside 5 ft, go for 9 in a row inside 3 ft.", 0},
		{"little left of the test", func(a *estimate.Assessment, f *estimate.Flag) { f.EvenScale, f.EvenRun = 1, 1; a.Slipping = f }, weekOf(2, 50, 39, 11),
			[]string{"Plan technique 56 %, test 5 % for Edda, for 3 weeks", "Give Edda 5 in a row inside 5 ft until passed"},
			curriculum.Adjustment{Kind: curriculum.OtherShares, Shares: []curriculum.KindShare{{Kind: curriculum.Technique, Share: 56}, {Kind: curriculum.Test, Share: 5}}},
			"For 3 weeks your practice time changes: technique 56 %, test 5 %.", 3},
	} {
		f := flagged()
		a := estimate.Assessment{Rate: now}
		c.assess(&a, f)
		s := state("pitch", a)
		s.Ladder = ladder
		stall := advice.Weigh(advice.Practice{}, []progress.State{s})[0]
		got := stall.Actions(advice.Reader{}, advice.Plan{Student: "Edda", Week: c.week})
		var labels []string
		for _, x := range got {
			labels = append(labels, x.Label)
			var p domain.Problems
			if x.Adjustment.Check(&p, ""); len(p.Fields()) > 0 {
				t.Errorf("%s: %q is refused: %v", c.why, x.Label, p.Fields())
			}
		}
		if !slices.Equal(labels, c.labels) {
			t.Errorf("%s: got %q, want %q", c.why, labels, c.labels)
			continue
		}
		if first := got[0]; !equalAdjustment(first.Adjustment, c.first) || first.Text != c.text || first.Weeks != c.weeks {
			t.Errorf("%s: got %+v", c.why, first)
		}
		if none := stall.Actions(advice.Reader{}, advice.Plan{Student: "Edda"}); len(none) != 0 {
			t.Errorf("%s: without a plan there is %+v to adjust", c.why, none)
		}
	}
}

func equalAdjustment(a, b curriculum.Adjustment) bool {
	return a.Kind == b.Kind && a.Skill == b.Skill && a.Tier == b.Tier && a.Radius == b.Radius && slices.Equal(a.Shares, b.Shares) && a.PerWeek == b.PerWeek
}

// TestShift: the first plan that has both kinds gives up to ten points, and keeps
// five; where less than five could move, nothing does.
func TestShift(t *testing.T) {
	f := flagged()
	f.EvenScale, f.EvenRun, f.Tier = 1, 1, streak.Tier{Run: 3, Radius: 5 * domain.Foot}
	s := state("pitch", estimate.Assessment{Rate: now, Slipping: f})
	stall := advice.Weigh(advice.Practice{}, []progress.State{s})[0]
	with := func(plans ...*curriculum.Week) *curriculum.Week {
		var w curriculum.Week
		for _, p := range plans {
			w.Plans = append(w.Plans, p.Plans...)
		}
		return &w
	}
	lacking := weekOf(2, 0, 50, 50)
	lacking.Plans[0].Blocks = lacking.Plans[0].Blocks[1:]
	for _, c := range []struct {
		week *curriculum.Week
		want []int // technique, then test
	}{
		{weekOf(2, 40, 30, 30), []int{50, 20}}, {weekOf(2, 50, 35, 15), []int{60, 5}}, {weekOf(2, 50, 36, 14), []int{59, 5}},
		{weekOf(2, 50, 40, 10), []int{55, 5}}, {weekOf(2, 50, 41, 9), nil}, {lacking, nil}, {with(lacking, weekOf(1, 20, 40, 40)), []int{30, 30}},
	} {
		var got []int
		for _, a := range stall.Actions(advice.Reader{}, advice.Plan{Week: c.week}) {
			if a.Adjustment.Kind == curriculum.OtherShares {
				got = append(got, a.Adjustment.Shares[0].Share, a.Adjustment.Shares[1].Share)
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%v: got %v, want %v", c.week.Plans[0].Shares(), got, c.want)
		}
	}
}

// TestActionsHarder: what does not fit into the ladder, or is no harder than the
// next step, is not proposed.
func TestActionsHarder(t *testing.T) {
	f := flagged()
	next := f.Tier
	for _, c := range []struct {
		why    string
		radius domain.Length
		run    int
		ladder []streak.Tier
		harder int
	}{
		{"both", 3 * domain.Foot, 15, []streak.Tier{next}, 2},
		{"a circle of no size", 0, 15, []streak.Tier{next}, 1},
		{"an easier run", 3 * domain.Foot, 7, []streak.Tier{next}, 1},
		{"steps of the ladder", 3 * domain.Foot, 11, []streak.Tier{next, {Run: 11, Radius: 5 * domain.Foot}, {Run: 9, Radius: 3 * domain.Foot}}, 0},
		{"a run too long to offer", 3 * domain.Foot, 22, []streak.Tier{next, {Run: 12, Radius: 5 * domain.Foot}}, 0},
	} {
		f.EvenRadius, f.EvenRun = c.radius, c.run
		s := state("pitch", estimate.Assessment{Rate: now, Outgrown: f})
		s.Ladder.Tiers = c.ladder
		n := 0
		for _, a := range advice.Weigh(advice.Practice{}, []progress.State{s})[0].Actions(advice.Reader{}, advice.Plan{Week: weekOf(2, 40, 30, 30)}) {
			if a.Adjustment.Kind == curriculum.ExtraStep {
				n++
			}
		}
		if n != c.harder {
			t.Errorf("%s: %d harder steps, want %d", c.why, n, c.harder)
		}
	}
}

// TestActionsElsewhere: who was judged elsewhere is judged where the next step is.
func TestActionsElsewhere(t *testing.T) {
	a := estimate.Assessment{Rate: now, Flat: flagged()}
	s := state("pitch", a)
	s.Recent = progress.RecentCounts{Sessions: 9, Elsewhere: []estimate.Circle{{Radius: 3 * domain.Foot, Balls: 90, Inside: 40}}}
	got := advice.Weigh(advice.Practice{}, []progress.State{s})[0].Actions(advice.Reader{}, advice.Plan{Student: "Edda", Week: weekOf(2, 40, 30, 30)})
	if len(got) != 1 || got[0].Label != "Judge Edda's drills at 5 ft" || got[0].Adjustment.Kind != curriculum.OtherRadius || got[0].Adjustment.Radius != 5*domain.Foot ||
		got[0].Text != "Judge every ball inside 5 ft from now on: that is where your next step is." {
		t.Errorf("got %+v", got)
	}
}

// TestActionsNearer: where no easier step is worth playing for, the shot gets
// shorter: two thirds of 30 and 45 yards, but a pitch no nearer than 10 yards.
func TestActionsNearer(t *testing.T) {
	f := flagged()
	f.EvenScale, f.EvenRun = 1, 8
	a := estimate.Assessment{Rate: estimate.Rate{Mean: 0.2}, Overreached: f}
	s := state("pitch", a)
	s.Ladder = streak.Ladder{Tiers: []streak.Tier{f.Tier}}
	w := weekOf(2, 40, 30, 30)
	w.Plans[0].Blocks[0].Drill.Distances = []domain.Length{45 * domain.Yard}
	w.Plans[0].Blocks[1].Drill.Distances = []domain.Length{45 * domain.Yard, 30 * domain.Yard}
	w.Plans[0].Blocks[2].Skill, w.Plans[0].Blocks[2].Drill.Distances = "chip", []domain.Length{9 * domain.Yard}
	stall := advice.Weigh(advice.Practice{}, []progress.State{s})[0]
	for metric, want := range map[bool]struct {
		label, text string
	}{
		false: {"Move Edda in: from 20 yd and 30 yd, for 3 weeks", "For 3 weeks, play it from closer in: 20 yd and 30 yd."},
		true:  {"Move Edda in: from 18 m and 27 m, for 3 weeks", "For 3 weeks, play it from closer in: 18 m and 27 m."},
	} {
		got := stall.Actions(advice.Reader{Metric: metric}, advice.Plan{Student: "Edda", Week: w})
		if len(got) != 2 || got[0].Label != want.label || got[0].Text != want.text || got[0].Weeks != 3 || got[0].Adjustment.Kind != curriculum.OtherDistances ||
			got[0].Adjustment.Skill != "pitch" || got[0].Adjustment.DistancePart != 67 {
			t.Errorf("metric %v: got %+v", metric, got)
		}
	}
	for _, c := range []struct {
		yards, part int
		shot        curriculum.SkillKind
	}{{14, 72, curriculum.Pitch}, {14, 67, curriculum.ChipAndRun}, {7, 72, curriculum.ChipAndRun}, {12, 0, curriculum.Pitch}, {9, 0, curriculum.Pitch}, {6, 0, curriculum.ChipAndRun}, {6, 67, curriculum.Own}} {
		w.Plans[0].Blocks[0].Drill.Distances, w.Plans[0].Blocks[1].Drill.Distances = []domain.Length{domain.Length(c.yards) * domain.Yard}, nil
		if got := stall.Actions(advice.Reader{}, advice.Plan{Student: "Edda", Week: w, Shot: c.shot})[0].Adjustment; got.DistancePart != c.part {
			t.Errorf("a %s of %d yd: moved in to %d %%, want %d", c.shot, c.yards, got.DistancePart, c.part)
		}
	}
	w.Plans[0].Blocks[0].Drill.Distances, w.Plans[0].Blocks[1].Drill.Distances = []domain.Length{domain.Yard}, nil
	if got := stall.Actions(advice.Reader{}, advice.Plan{Student: "Edda", Week: w}); len(got) != 1 || got[0].Adjustment.Kind != curriculum.OtherShares {
		t.Errorf("a yard cannot get shorter: got %+v", got)
	}
}

// TestActionsOfPractice: fewer sessions for who does not practise, and half way to
// where the time goes.
func TestActionsOfPractice(t *testing.T) {
	today := domain.Date{Year: 2026, Month: time.May, Day: 25}
	p := advice.Practice{Today: today, Zone: time.UTC, Expected: true, Since: today.AddDays(-40), PerWeek: 3}
	lapsed := advice.Weigh(p, nil)[0]
	for times, want := range map[int]string{3: "Plan 2 sessions a week for Edda, for 3 weeks", 2: "Plan 1 session a week for Edda, for 3 weeks", 1: ""} {
		got := lapsed.Actions(advice.Reader{}, advice.Plan{Student: "Edda", Week: weekOf(times, 40, 30, 30)})
		if want == "" && len(got) == 0 {
			continue
		}
		if len(got) != 1 || got[0].Label != want || got[0].Adjustment.PerWeek != (times+1)/2 || got[0].Weeks != 3 {
			t.Errorf("%d a week: got %+v, want %q", times, got, want)
		}
	}
	// Technique had 63 % of the time where 40 % was planned, the test 4 % of 30 %.
	lopsided := advice.Practice{Today: today, Zone: time.UTC, Habit: progress.Habit{Planned: 5, Times: []progress.KindTime{
		{Kind: "technique", Planned: 40, Spent: 63}, {Kind: "random", Planned: 30, Spent: 33}, {Kind: "test", Planned: 30, Spent: 4},
	}}}
	got := advice.Weigh(lopsided, nil)[0].Actions(advice.Reader{}, advice.Plan{Student: "Edda", Week: weekOf(2, 40, 30, 30)})
	if len(got) != 1 || got[0].Label != "Meet half way: technique 50 %, test 15 % for 3 weeks" {
		t.Errorf("got %+v, want half way in fives: 51.5 and 17", got)
	}
	// 2 % of the time for a test that was planned 10 %: never less than five.
	lopsided.Habit.Times = []progress.KindTime{{Kind: "technique", Planned: 45, Spent: 69}, {Kind: "random", Planned: 45, Spent: 31}, {Kind: "test", Planned: 10, Spent: 0}}
	got = advice.Weigh(lopsided, nil)[0].Actions(advice.Reader{}, advice.Plan{Student: "Edda", Week: weekOf(2, 45, 45, 10)})
	if len(got) != 1 || got[0].Label != "Meet half way: technique 55 %, random practice 40 % for 3 weeks" {
		t.Errorf("got %+v, want half way in fives: 57 and 38", got)
	}
}

// TestActionsStanding: what stands is not offered again, nor what leaves the
// programme's limits, in which the time that moves stays.
func TestActionsStanding(t *testing.T) {
	f := flagged()
	s := state("pitch", estimate.Assessment{Rate: now, Slipping: f})
	s.Ladder = streak.Ladder{Tiers: []streak.Tier{{Run: 9, Radius: 5 * domain.Foot}}}
	stall := advice.Weigh(advice.Practice{}, []progress.State{s})[0]
	offered := func(p advice.Plan) (kinds []curriculum.AdjustmentKind, first int) {
		p.Week = weekOf(2, 40, 30, 30)
		for _, a := range stall.Actions(advice.Reader{}, p) {
			kinds = append(kinds, a.Adjustment.Kind)
			if a.Adjustment.Kind == curriculum.OtherShares {
				first = a.Adjustment.Shares[0].Share
			}
		}
		return slices.Compact(kinds), first
	}
	steps, shares := curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: "pitch"}, curriculum.Adjustment{Kind: curriculum.OtherShares}
	most := func(n int) []curriculum.Limit { return []curriculum.Limit{{Kind: curriculum.Technique, AtMost: n}} }
	least := func(n int) []curriculum.Limit {
		return []curriculum.Limit{{Kind: curriculum.Test, AtLeast: n, AtMost: 100}}
	}
	for _, c := range []struct {
		why   string
		plan  advice.Plan
		want  []curriculum.AdjustmentKind
		first int // share of technique
	}{
		{"nothing", advice.Plan{}, []curriculum.AdjustmentKind{curriculum.OtherShares, curriculum.ExtraStep}, 50},
		{"a step", advice.Plan{Standing: []curriculum.Adjustment{steps}}, []curriculum.AdjustmentKind{curriculum.OtherShares}, 50},
		{"shares", advice.Plan{Standing: []curriculum.Adjustment{shares}}, []curriculum.AdjustmentKind{curriculum.ExtraStep}, 0},
		{"a step of another skill", advice.Plan{Standing: []curriculum.Adjustment{{Kind: curriculum.ExtraStep, Skill: "chip"}}}, []curriculum.AdjustmentKind{curriculum.OtherShares, curriculum.ExtraStep}, 50},
		{"room for five", advice.Plan{Limits: most(45)}, []curriculum.AdjustmentKind{curriculum.OtherShares, curriculum.ExtraStep}, 45},
		{"no room", advice.Plan{Limits: most(40)}, []curriculum.AdjustmentKind{curriculum.ExtraStep}, 0},
		{"the test's least", advice.Plan{Limits: least(23)}, []curriculum.AdjustmentKind{curriculum.OtherShares, curriculum.ExtraStep}, 47},
	} {
		if got, first := offered(c.plan); !slices.Equal(got, c.want) || first != c.first {
			t.Errorf("%s: got %v with technique %d, want %v with %d", c.why, got, first, c.want, c.first)
		}
	}
}
