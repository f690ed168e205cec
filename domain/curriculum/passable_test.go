package curriculum_test

import (
	"slices"
	"testing"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/streak"
)

// findings checks everything that is told of a changed programme.
func findings(t *testing.T, why string, c curriculum.Content, skills map[domain.ID]curriculum.Skill, problems, warnings []told) {
	t.Helper()
	got := c.Check(skills, domain.Length.String)
	if !slices.Equal(asTold(got.Problems), problems) {
		t.Errorf("%s: problems\ngot  %v\nwant %v", why, got.Problems, problems)
	}
	if !slices.Equal(asTold(got.Warnings), warnings) {
		t.Errorf("%s: warnings\ngot  %v\nwant %v", why, got.Warnings, warnings)
	}
}

// laddered gives the known skills with another ladder for the pitch.
func laddered(testOnly bool, tiers ...streak.Tier) map[domain.ID]curriculum.Skill {
	skills := known()
	pitch := skills["pitch"]
	pitch.Ladder = streak.Ladder{Tiers: tiers, TestOnly: testOnly}
	skills["pitch"] = pitch
	return skills
}

// technical are the known skills, with technique counting for the pitch.
var technical = func() map[domain.ID]curriculum.Skill {
	skills := known()
	pitch := skills["pitch"]
	pitch.Ladder.Technique = true
	skills["pitch"] = pitch
	return skills
}()

const (
	firstBlocks = "/weeks/0/plans/0/blocks"
	firstPlan   = "week 1, plan 1 (Hour), "
)

// TestCircles: a ball in at five feet says nothing of three, and one in at three
// is in at five. The pitch is tested for at 5 ft.
func TestCircles(t *testing.T) {
	ft := func(n domain.Length) domain.Length { return n * domain.Foot }
	at := func(i int, radius domain.Length) func(*curriculum.Content) {
		return func(c *curriculum.Content) { block(c, i).Drill.Radius = radius }
	}
	testOnly := laddered(true, domaintest.PitchLadder().Tiers...)
	shrinking := laddered(false, streak.Tier{Run: 4, Radius: ft(6)}, streak.Tier{Run: 4, Radius: ft(4)})
	for _, c := range []struct {
		why                string
		change             func(*curriculum.Content)
		skills             map[domain.ID]curriculum.Skill
		problems, warnings []told
	}{
		{"as the ladder asks", nil, known(), nil, nil},
		{"a test too wide", at(3, ft(8)), known(), []told{{firstBlocks + "/3/drill/radius_m",
			firstPlan + "block 4 (test): this circle is 8 ft (2.44 m), and every step of Pitch needs 5 ft (1.52 m) or less, so no step can be passed here. Use 5 ft (1.52 m)"}}, nil},
		{"a warm-up too wide", at(0, ft(8)), known(), nil, []told{{firstBlocks + "/0/drill/radius_m",
			firstPlan + "block 1 (warmup): this circle is 8 ft (2.44 m), and every step of Pitch needs 5 ft (1.52 m) or less, so no step can be passed here. Use 5 ft (1.52 m)"}}},
		{"a warm-up that does not count anyway", at(0, ft(8)), testOnly, nil, nil},
		{"a random block may be judged as the coach likes", at(2, ft(8)), known(), nil, nil},
		{"technique is not tested", at(1, ft(8)), known(), nil, nil},
		{"closer than the steps", at(3, ft(4)), known(), nil, []told{{firstBlocks + "/3/drill/radius_m",
			firstPlan + "block 4 (test): no step of Pitch has a circle of 4 ft (1.22 m), so a ball just outside it counts for nothing. Use 5 ft (1.52 m)"}}},
		// 5 ft passes the step at 6 ft and not the one at 4 ft.
		{"between two steps", func(c *curriculum.Content) {
			c.Weeks, block(c, 0).Drill.Radius = c.Weeks[:1], ft(4)
			block(c, 1).Drill.Radius = ft(4)
		}, shrinking, nil, []told{{firstBlocks + "/3/drill/radius_m",
			firstPlan + "block 4 (test): no step of Pitch has a circle of 5 ft (1.52 m), so a ball just outside it counts for nothing. Use 6 ft (1.83 m)"}}},
		// Of the two circles that are wider than 3 ft it is the closer one.
		{"closer than both steps", func(c *curriculum.Content) {
			c.Weeks = c.Weeks[:1]
			for i := range 4 {
				block(c, i).Drill.Radius = ft(4)
			}
			block(c, 3).Drill.Radius = ft(3)
		}, shrinking, nil, []told{{firstBlocks + "/3/drill/radius_m",
			firstPlan + "block 4 (test): no step of Pitch has a circle of 3 ft (0.91 m), so a ball just outside it counts for nothing. Use 4 ft (1.22 m)"}}},
		{"the first step's own circle", func(c *curriculum.Content) {
			c.Weeks = c.Weeks[:1]
			for i := range 3 {
				block(c, i).Drill.Radius = ft(4)
			}
			block(c, 3).Drill.Radius = ft(6)
		}, shrinking, nil, nil},
		{"one step alone", func(c *curriculum.Content) { c.Weeks, block(c, 3).Drill.Radius = c.Weeks[:1], ft(8) }, laddered(false, streak.Tier{Run: 4, Radius: ft(5)}),
			[]told{{firstBlocks + "/3/drill/radius_m", firstPlan + "block 4 (test): this circle is 8 ft (2.44 m), and every step of Pitch needs 5 ft (1.52 m) or less, so no step can be passed here. Use 5 ft (1.52 m)"}}, nil},
		{"without a radius only that is told", at(3, 0), known(), []told{{firstBlocks + "/3/drill/radius_m", firstPlan + "block 4 (test): has no target radius; give the radius inside which a ball is in"}}, nil},
		{"everything too wide is told once", func(c *curriculum.Content) {
			c.Weeks = c.Weeks[:1]
			for i := range 4 {
				block(c, i).Drill.Radius = ft(8)
			}
		}, known(), []told{{firstBlocks + "/3/drill/radius_m", firstPlan + "block 4 (test): this circle is 8 ft (2.44 m), and every step of Pitch needs 5 ft (1.52 m) or less, so no step can be passed here. Use 5 ft (1.52 m)"}},
			[]told{{firstBlocks + "/0/drill/radius_m", firstPlan + "block 1 (warmup): this circle is 8 ft (2.44 m), and every step of Pitch needs 5 ft (1.52 m) or less, so no step can be passed here. Use 5 ft (1.52 m)"}}},
		{"without a ladder nothing is told", func(c *curriculum.Content) { c.Weeks = c.Weeks[:1] }, laddered(false), nil, nil},
		{"the last step's own circle", func(c *curriculum.Content) {
			c.Weeks = c.Weeks[:1]
			for i := range 4 {
				block(c, i).Drill.Radius = ft(4)
			}
		}, shrinking, nil, nil},
		{"a holed ball is in at any radius", func(c *curriculum.Content) { c.Weeks, block(c, 3).Drill.Radius = c.Weeks[:1], ft(8) },
			laddered(false, streak.Tier{Run: 2, Radius: ft(5), Holed: 2}), nil, nil},
	} {
		findings(t, c.why, edited(c.change), c.skills, c.problems, c.warnings)
	}
}

// TestStepsWithinReach: a quarter of an hour holds 26 balls at the usual pace and
// 45 at three a minute.
func TestStepsWithinReach(t *testing.T) {
	const share, radius = "/share", "/drill/radius_m"
	inside := 5 * domain.Foot
	steps := func(runs ...int) map[domain.ID]curriculum.Skill {
		tiers := make([]streak.Tier, len(runs))
		for i, run := range runs {
			tiers[i] = streak.Tier{Run: run, Radius: inside}
		}
		return laddered(false, tiers...)
	}
	alone := func(change func(*curriculum.Content)) func(*curriculum.Content) {
		return func(c *curriculum.Content) {
			c.Weeks = c.Weeks[:1]
			if change != nil {
				change(c)
			}
		}
	}
	longest := firstPlan + "block 1 (warmup): "
	for _, c := range []struct {
		why                string
		change             func(*curriculum.Content)
		skills             map[domain.ID]curriculum.Skill
		problems, warnings []told
	}{
		{"26 balls at the usual pace", alone(nil), steps(26), nil, nil},
		{"27 are more than usual", alone(nil), steps(27), nil, []told{{firstBlocks + "/0" + share,
			longest + "step 1 of Pitch takes 27 in a row; 15 minutes, the most that any block has, is usually time for 26 balls. Make it 16 minutes or more"}}},
		{"45 at most", alone(nil), steps(26, 45), nil, []told{{firstBlocks + "/0" + share,
			longest + "step 2 of Pitch takes 45 in a row; 15 minutes, the most that any block has, is usually time for 26 balls. Make it 26 minutes or more"}}},
		{"46 cannot be struck", alone(nil), steps(46), []told{{firstBlocks + "/0" + share,
			longest + "step 1 of Pitch takes 46 in a row; 15 minutes, the most that any block has, is time for 45 balls at most, so nobody can pass it. Make it 27 minutes or more"}}, nil},
		{"a later step, and none after it is told", alone(nil), steps(4, 60, 90), nil, []told{{firstBlocks + "/0" + share,
			longest + "step 2 of Pitch takes 60 in a row; 15 minutes, the most that any block has, is time for 45 balls at most, so nobody can pass it. Make it 35 minutes or more"}}},
		{"the longest block is named", alone(func(c *curriculum.Content) {
			block(c, 0).Share, block(c, 3).Share = 10, 40
		}), steps(60), nil, []told{{firstBlocks + "/3" + share,
			firstPlan + "block 4 (test): step 1 of Pitch takes 60 in a row; 24 minutes, the most that any block has, is usually time for 42 balls. Make it 35 minutes or more"}}},
		{"a week without a block that counts", alone(func(c *curriculum.Content) {
			for i := range 4 {
				block(c, i).Kind, block(c, i).Drill.Clubs = curriculum.Random, []string{"wedge", "nine"}
			}
		}), known(), []told{{"/weeks/0/plans", "week 1: no block counts towards the steps of Pitch, so none can be passed; add a test"}}, nil},
		{"only tests count, and there is none", alone(func(c *curriculum.Content) { block(c, 3).Kind = curriculum.Warmup }),
			laddered(true, streak.Tier{Run: 4, Radius: inside}),
			[]told{{"/weeks/0/plans", "week 1: no block counts towards the steps of Pitch, so none can be passed; add a test, since only tests count for it"}}, nil},
		{"no test, and everything else too wide", alone(func(c *curriculum.Content) {
			block(c, 3).Kind = curriculum.Warmup
			for i := range 4 {
				block(c, i).Drill.Radius = 6 * domain.Foot
			}
			block(c, 1).Drill.Radius = 5*domain.Foot + 1 // technique counts, where the skill says so
		}), technical, []told{{firstBlocks + "/1" + radius,
			firstPlan + "block 2 (technique): step 1 of Pitch needs a circle of 5 ft (1.52 m); this block uses 1.5241 m (5 ft), and no other is smaller. Use 5 ft (1.52 m) in a test"}},
			[]told{
				{firstBlocks + "/0" + radius, firstPlan + "block 1 (warmup): this circle is 6 ft (1.83 m), and every step of Pitch needs 5 ft (1.52 m) or less, so no step can be passed here. Use 5 ft (1.52 m)"},
				{firstBlocks + "/3" + radius, firstPlan + "block 4 (warmup): this circle is 6 ft (1.83 m), and every step of Pitch needs 5 ft (1.52 m) or less, so no step can be passed here. Use 5 ft (1.52 m)"},
			}},
		{"a circle that comes later", alone(nil), laddered(false, streak.Tier{Run: 4, Radius: inside}, streak.Tier{Run: 4, Radius: 3 * domain.Foot}), nil,
			[]told{{firstBlocks + "/0" + radius, firstPlan + "block 1 (warmup): step 2 of Pitch needs a circle of 3 ft (0.91 m); this block uses 5 ft (1.52 m), and no other is smaller. Use 3 ft (0.91 m) in a test"}}},
		// The chip is the week's; the pitch is only warmed up.
		{"what is only warmed up is proved elsewhere", func(c *curriculum.Content) { c.Weeks = c.Weeks[1:] }, steps(200), nil, nil},
		{"what is tested beside the week's skill is looked at", func(c *curriculum.Content) {
			c.Weeks = c.Weeks[1:]
			block(c, 1).Kind, block(c, 1).Skill = curriculum.Test, "pitch"
		}, steps(46), []told{{firstBlocks + "/0" + share,
			longest + "step 1 of Pitch takes 46 in a row; 15 minutes, the most that any block has, is time for 45 balls at most, so nobody can pass it. Make it 27 minutes or more"}}, nil},
		{"nothing of steps while something is missing", func(c *curriculum.Content) { c.Weeks[0].Plans[0].Minutes, block(c, 0).Drill.Text = 5, "" }, steps(46),
			[]told{{firstBlocks + "/0/drill/text", firstPlan + "block 1 (warmup): has no text; tell the student what to do"}}, nil},
	} {
		findings(t, c.why, edited(c.change), c.skills, c.problems, c.warnings)
	}
}

// TestMinutesToGive: a step of one ball in a block of less than a minute's worth
// of balls cannot be; of four in one minute, two minutes are usual.
func TestMinutesToGive(t *testing.T) {
	short := edited(func(c *curriculum.Content) {
		c.Weeks = c.Weeks[:1]
		c.Weeks[0].Plans[0].Minutes = 5
		c.Weeks[0].Plans[0].Blocks = c.Weeks[0].Plans[0].Blocks[2:]
		block(c, 0).Share, block(c, 1).Share = 80, 20
	})
	const test = firstPlan + "block 2 (test): "
	for run, want := range map[int][]told{
		2: nil,
		3: {{firstBlocks + "/1/share", test + "step 1 of Pitch takes 3 in a row; 1 minute, the most that any block has, is usually time for 2 balls. Make it 2 minutes or more"}},
	} {
		findings(t, "a minute", short, laddered(false, streak.Tier{Run: run, Radius: 5 * domain.Foot}), nil, want)
	}
	if got := short.TestBalls(known()["pitch"]); got != 2 {
		t.Errorf("balls in a test of one minute: got %d, want 2", got)
	}
	if got := edited(nil).TestBalls(known()["pitch"]); got != 26 {
		t.Errorf("balls in a quarter of an hour: got %d, want 26", got)
	}
	if got := edited(nil).TestBalls(known()["old"]); got != 0 {
		t.Errorf("balls at a skill that is not trained: got %d, want none", got)
	}
}

// TestSuits: clubs and distances that do not suit the shot (common practice, no
// source); the coach's own sort of shot and clubs nobody knows are let be.
func TestSuits(t *testing.T) {
	with := func(kind curriculum.SkillKind, distance domain.Length, clubs ...string) (curriculum.Content, map[domain.ID]curriculum.Skill) {
		skills := known()
		pitch := skills["pitch"]
		pitch.Kind = kind
		skills["pitch"] = pitch
		return edited(func(c *curriculum.Content) {
			c.Weeks = c.Weeks[:1]
			block(c, 0).Drill.Distances, block(c, 0).Drill.Clubs = []domain.Length{distance}, clubs
			block(c, 1).Drill.Clubs, block(c, 2).Drill.Clubs = nil, []string{"old faithful", "the other"}
		}), skills
	}
	const m = domain.Metre
	club := func(i, detail string) []told {
		return []told{{firstBlocks + "/0/drill/clubs/" + i, firstPlan + "block 1 (warmup): " + detail}}
	}
	far := func(detail string) []told {
		return []told{{firstBlocks + "/0/drill/distances_m/0", firstPlan + "block 1 (warmup): " + detail}}
	}
	for _, c := range []struct {
		kind     curriculum.SkillKind
		distance domain.Length
		clubs    []string
		want     []told
	}{
		{curriculum.BunkerShot, 10 * m, []string{"58° wedge"}, nil},
		{curriculum.BunkerShot, 10 * m, []string{"Putter"}, club("0", `a bunker shot is hardly ever played with "Putter"; choose a lofted club, or another skill`)},
		{curriculum.ChipAndRun, 10 * m, []string{"putter", "7 iron"}, nil},
		{curriculum.ChipAndRun, 10 * m, []string{"7 iron", "driver"}, club("1", `a chip-and-run is hardly ever played with "driver"; choose a lofted club, or another skill`)},
		{curriculum.ShortPutt, 2 * m, []string{"blade putter"}, nil},
		{curriculum.ShortPutt, 2 * m, []string{"56°"}, club("0", `a short putt is hardly ever played with "56°"; choose the putter, or another skill`)},
		{curriculum.LagPutt, 10 * m, []string{"putter, heavier than an iron"}, nil},
		{curriculum.ShortPutt, 60 * m, nil, far("60 m (196.9 ft) is unusual for a short putt; choose a distance from 0.1 m (0.3 ft) to 5 m (16.4 ft), or another skill")},
		{curriculum.ShortPutt, 5 * m, nil, nil},
		{curriculum.ShortPutt, 5*m + 1, nil, far("5.0001 m (16.4 ft) is unusual for a short putt; choose a distance from 0.1 m (0.3 ft) to 5 m (16.4 ft), or another skill")},
		{curriculum.Pitch, 4 * m, nil, nil},
		{curriculum.Pitch, 4*m - 1, nil, far("3.9999 m (13.1 ft) is unusual for a pitch; choose a distance from 4 m (13.1 ft) to 100 m (328.1 ft), or another skill")},
		{curriculum.Own, 60 * m, []string{"putter", "driver"}, nil},
	} {
		content, skills := with(c.kind, c.distance, c.clubs...)
		findings(t, string(c.kind), content, skills, nil, c.want)
	}
}

// TestSuitsAtItsBounds: each sort of shot from its nearest to its farthest, in
// metres, and one tenth of a millimetre past either.
func TestSuitsAtItsBounds(t *testing.T) {
	for kind, bounds := range map[curriculum.SkillKind][2]domain.Length{
		curriculum.ChipAndRun: {1, 50}, curriculum.BunkerShot: {2, 100}, curriculum.Lob: {2, 60}, curriculum.LagPutt: {3, 50},
	} {
		skills := known()
		pitch := skills["pitch"]
		pitch.Kind = kind
		skills["pitch"] = pitch
		for past, want := range []int{0, 1} {
			for _, d := range []domain.Length{bounds[0]*domain.Metre - domain.Length(past), bounds[1]*domain.Metre + domain.Length(past)} {
				if d > curriculum.MaxDistance {
					continue // refused anyway
				}
				c := edited(func(c *curriculum.Content) {
					c.Weeks = c.Weeks[:1]
					block(c, 0).Drill.Distances = []domain.Length{d}
					block(c, 1).Drill.Clubs, block(c, 2).Drill.Clubs = nil, []string{"old faithful", "the other"}
				})
				if got := c.Check(skills, domain.Length.String).Warnings; len(got) != want {
					t.Errorf("%s from %v: got %v, want %d warnings", kind, d, got, want)
				}
			}
		}
	}
}

// TestVersionWarnings: a version tells what its draft told.
func TestVersionWarnings(t *testing.T) {
	c := edited(func(c *curriculum.Content) { block(c, 3).Drill.Radius = 4 * domain.Foot })
	if got, want := version(c).Warnings(domain.Length.String), c.Check(known(), domain.Length.String).Warnings; len(want) != 1 || !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// TestReadersUnit: lengths are written as the reader likes them, but for two circles
// that would read alike; the place stands before the words and by itself.
func TestReadersUnit(t *testing.T) {
	feet := func(l domain.Length) string { return l.In(false) }
	for radius, want := range map[domain.Length]string{
		8 * domain.Foot:   "this circle is 8 ft, and every step of Pitch needs 5 ft or less, so no step can be passed here. Use 5 ft",
		5*domain.Foot + 1: "this circle is 1.5241 m (5 ft), and every step of Pitch needs 5 ft (1.52 m) or less, so no step can be passed here. Use 5 ft (1.52 m)",
	} {
		got := edited(func(c *curriculum.Content) { block(c, 3).Drill.Radius = radius }).Check(known(), feet).Problems
		place := firstPlan + "block 4 (test)"
		if len(got) != 1 || got[0].Place != place || got[0].Detail != place+": "+want {
			t.Errorf("%v: got %+v, want %q", radius, got, want)
		}
	}
}

// TestTestCircles: the tests of a skill with their circles, and none that has no
// circle yet or is no test.
func TestTestCircles(t *testing.T) {
	c := edited(func(c *curriculum.Content) { block(c, 1).Skill, block(c, 2).Kind = "chip", curriculum.Test })
	want := []curriculum.TestCircle{
		{Pointer: firstBlocks + "/2/drill/radius_m", Place: firstPlan + "block 3 (test)", Radius: 5 * domain.Foot},
		{Pointer: firstBlocks + "/3/drill/radius_m", Place: firstPlan + "block 4 (test)", Radius: 5 * domain.Foot},
	}
	if got := c.TestCircles("pitch"); !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	block(&c, 2).Drill.Radius = 0
	if got := c.TestCircles("pitch"); !slices.Equal(got, want[1:]) {
		t.Errorf("without a circle: got %v, want %v", got, want[1:])
	}
	if !want[0].CanPass(streak.Tier{Run: 3, Radius: 5 * domain.Foot}) || want[0].CanPass(streak.Tier{Run: 3, Radius: 4 * domain.Foot}) || !want[0].CanPass(streak.Tier{Run: 3, Radius: 4 * domain.Foot, Holed: 3}) {
		t.Error("inside 5 ft passes steps of 5 ft, none of 4 ft, and any where all are holed")
	}
}
