package curriculum_test

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/streak"
)

// twoCircles is a ladder whose circle shrinks.
func twoCircles() streak.Ladder {
	return streak.Ladder{Tiers: []streak.Tier{{Run: 3, Radius: 6 * domain.Foot}, {Run: 5, Radius: 2 * domain.Foot}}}
}

func TestFitted(t *testing.T) {
	chip := curriculum.Skill{Name: "Chip", Kind: curriculum.ChipAndRun, Ladder: twoCircles(), Drills: []curriculum.SkillDrill{
		{Kind: curriculum.Test, Text: "Ten from the fringe.", Lies: []string{"fringe"}},
		{Kind: curriculum.Random, Distances: []domain.Length{7 * domain.Yard, 11 * domain.Yard}, Clubs: []string{"7 iron"}, Carry: 30},
	}}
	got := chip.Fitted(curriculum.Test)
	want := curriculum.Drill{
		Text: "Ten from the fringe.", Lies: []string{"fringe"}, Radius: 6 * domain.Foot,
		// What the coach left open: a 9 iron flies one part of four (rule of twelve).
		Distances: []domain.Length{14 * domain.Yard}, Clubs: []string{"9 iron"}, Carry: 25,
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("the test of a chip:\ngot  %+v\nwant %+v", got, want)
	}
	got = chip.Fitted(curriculum.Random)
	if got.Text == "" || len(got.Lies) < 2 || !slices.Equal(got.Distances, []domain.Length{7 * domain.Yard, 11 * domain.Yard}) ||
		!slices.Equal(got.Clubs, []string{"7 iron"}) || got.Carry != 30 || got.Radius != 6*domain.Foot {
		t.Errorf("random chips: got %+v, want the coach's distances, club and carry, and the usual lies and text", got)
	}
	putt := curriculum.Skill{Name: "Short", Kind: curriculum.ShortPutt, Ladder: twoCircles()}
	if got := putt.Fitted(curriculum.Test); !slices.Equal(got.Clubs, []string{"putter"}) || got.Distances[0] > 6*domain.Foot || got.Carry != 0 {
		t.Errorf("the test of a short putt is %+v, want a putter within 6 ft", got)
	}
	if got := (curriculum.Skill{Kind: curriculum.Pitch}).Fitted(curriculum.Test); got.Radius != 0 {
		t.Errorf("without a ladder the radius is %v, want none", got.Radius)
	}
}

// hourOf is a programme of one week whose blocks are fitted to a skill.
func hourOf(s curriculum.Skill) curriculum.Content {
	shares := map[curriculum.BlockKind]int{curriculum.Warmup: 8, curriculum.Playout: 4}
	plan := curriculum.Plan{Minutes: 60, Times: 1}
	for _, kind := range curriculum.BlockKinds() {
		share, ok := shares[kind]
		if !ok {
			share = 22
		}
		plan.Blocks = append(plan.Blocks, curriculum.Block{Kind: kind, Share: share, Drill: s.Fitted(kind)})
	}
	return curriculum.Content{Name: "Fitted", Weeks: []curriculum.Week{{Skill: s.ID, Plans: []curriculum.Plan{plan}}}}
}

// TestFittedIsPublishable: a programme of fitted blocks lacks nothing, whatever
// the sort of shot; only the coach's own sort needs its lies, distances and clubs.
func TestFittedIsPublishable(t *testing.T) {
	for _, kind := range curriculum.SkillKinds() {
		s := curriculum.Skill{ID: "s", Name: "S", Kind: kind, Ladder: twoCircles()}
		known := map[domain.ID]curriculum.Skill{"s": s}
		var want []told
		if kind == curriculum.Own {
			want = []told{
				{"/weeks/0/plans/0/blocks/2/drill/clubs", "week 1, plan 1, block 3 (stations): needs several clubs; give at least two"},
				{"/weeks/0/plans/0/blocks/3/drill", "week 1, plan 1, block 4 (random): needs a new task for every ball; give at least two lies, distances or clubs"},
				{"/weeks/0/plans/0/blocks/5/drill", "week 1, plan 1, block 6 (playout): needs a new place for every ball; give at least two lies or distances"},
			}
		}
		c := hourOf(s)
		if err := c.CheckDraft(known); err != nil {
			t.Errorf("%s: the draft is refused: %v", kind, toldOf(err))
		}
		if got := toldOf(c.CheckPublishable(known)); !slices.Equal(got, want) {
			t.Errorf("%s: got %v, want %v", kind, got, want)
		}
		putts := kind == curriculum.LagPutt || kind == curriculum.ShortPutt
		for _, b := range c.Weeks[0].Plans[0].Blocks {
			if putter := slices.Contains(b.Drill.Clubs, "putter"); putter != (putts && b.Kind != curriculum.Playout) {
				t.Errorf("%s, %s: clubs are %v", kind, b.Kind, b.Drill.Clubs)
			}
			// Where balls fly high, somebody may be hit.
			flies := kind == curriculum.Pitch || kind == curriculum.BunkerShot || kind == curriculum.Lob
			if warns := strings.Contains(b.Drill.Text, "obody in front of you") || strings.Contains(b.Drill.Text, "fly far"); warns != flies {
				t.Errorf("%s, %s: the text %q; want a caution: %v", kind, b.Kind, b.Drill.Text, flies)
			}
		}
	}
}

func TestSkillDrillRefusals(t *testing.T) {
	_, s, pitch, _ := open(t)
	for _, c := range []struct {
		why   string
		kind  curriculum.SkillKind
		drill []curriculum.SkillDrill
		want  []told
	}{
		{"an unknown kind", curriculum.Pitch, []curriculum.SkillDrill{{Kind: "putting"}},
			[]told{{"/drills/0/kind", `"putting" is not a kind of block; use one of warmup, technique, stations, random, test or playout`}}},
		{"one kind twice", curriculum.Pitch, []curriculum.SkillDrill{{Kind: curriculum.Test}, {Kind: curriculum.Test, Text: "Again."}},
			[]told{{"/drills/1/kind", "test already has a drill; keep one of them"}}},
		{"out of bounds", curriculum.Pitch, []curriculum.SkillDrill{{Kind: curriculum.Random, Carry: 101, Lies: []string{"sand", "sand"}}}, []told{
			{"/drills/0/lies/1", `"sand" is there twice; remove one`},
			{"/drills/0/carry_percent", "is 101; give a whole per cent from 1 to 100, or leave it out"},
		}},
		{"two spots for a test", curriculum.Pitch, []curriculum.SkillDrill{{Kind: curriculum.Test, Lies: []string{"fringe", "rough"}}},
			[]told{{"/drills/0", "test: is played from one spot; give at most one lie and one distance"}}},
		{"two clubs for technique", curriculum.Pitch, []curriculum.SkillDrill{{Kind: curriculum.Technique, Clubs: []string{"52", "56"}}},
			[]told{{"/drills/0/clubs", "technique: is played with one club; give at most one"}}},
		{"one club for stations", curriculum.Pitch, []curriculum.SkillDrill{{Kind: curriculum.Stations, Clubs: []string{"52"}}},
			[]told{{"/drills/0/clubs", "stations: needs several clubs; give at least two"}}},
		{"stations of a putt", curriculum.LagPutt, []curriculum.SkillDrill{{Kind: curriculum.Stations, Clubs: []string{"putter"}}}, nil},
		{"one place for stations of a putt", curriculum.LagPutt, []curriculum.SkillDrill{{Kind: curriculum.Stations, Distances: []domain.Length{8 * domain.Metre}}},
			[]told{{"/drills/0", "stations: needs several places to putt from; give at least two lies or distances"}}},
		{"stations of an own shot without clubs", curriculum.Own, []curriculum.SkillDrill{{Kind: curriculum.Stations, Text: "Three gates."}},
			[]told{{"/drills/0/clubs", "stations: needs several clubs; give at least two"}}},
	} {
		wanted := curriculum.Skill{Name: "S", Kind: c.kind, Ladder: twoCircles(), Drills: c.drill}
		_, err := s.UpdateSkill(ctx, coach, pitch.ID, 0, wanted)
		if got := toldOf(err); !slices.Equal(got, c.want) {
			t.Errorf("%s: got %v, want %v", c.why, got, c.want)
		}
	}
	if got := must(s.Skill(ctx, coach, pitch.ID))(t).Drills; !slices.EqualFunc(got, []curriculum.SkillDrill{{Kind: curriculum.Stations, Clubs: []string{"putter"}}}, func(a, b curriculum.SkillDrill) bool { return reflect.DeepEqual(a, b) }) {
		t.Errorf("the skill keeps the drills %+v, want those of the one that was taken", got)
	}
}

// TestStartingPoints: each can be taken as it is, its hour published, and no two
// are alike.
func TestStartingPoints(t *testing.T) {
	_, s, _, _ := open(t)
	points := curriculum.StartingPoints()
	keys, ladders, kinds := map[string]bool{}, map[string]bool{}, map[curriculum.SkillKind]bool{}
	for _, point := range points {
		made, err := s.CreateSkill(ctx, coach, point.Skill)
		if err != nil {
			t.Fatalf("%s: %v", point.Key, toldOf(err))
		}
		var p domain.Problems
		if made.Ladder.Check(&p, ""); len(p.Fields()) > 0 {
			t.Errorf("%s: the ladder: %v", point.Key, asTold(p.Fields()))
		}
		programme := must(s.CreateProgramme(ctx, coach, curriculum.Content{Name: point.Key, Weeks: []curriculum.Week{{Skill: made.ID, Plans: []curriculum.Plan{point.Plan}}}}))(t)
		if _, err := s.Publish(ctx, coach, programme.ID, 0); err != nil {
			t.Errorf("%s: the hour cannot be published: %v", point.Key, toldOf(err))
		}
		if point.Plan.Minutes != 60 || len(point.Plan.Blocks) != 4 {
			t.Errorf("%s: %d minutes in %d parts, want an hour in four", point.Key, point.Plan.Minutes, len(point.Plan.Blocks))
		}
		for _, b := range point.Plan.Blocks {
			if !reflect.DeepEqual(b.Drill, made.Fitted(b.Kind)) {
				t.Errorf("%s: the %s is not what its skill gives: %+v", point.Key, b.Kind, b.Drill)
			}
		}
		keys[point.Key], kinds[point.Skill.Kind] = true, true
		for _, tier := range point.Skill.Ladder.Tiers {
			ladders[tier.Radius.String()] = true
		}
	}
	if len(keys) != len(points) || len(ladders) != len(points) || len(kinds) != len(points)-1 {
		t.Errorf("%d starting points have %d keys, %d circles and %d sorts of shot, want all different but chips, played out and not", len(points), len(keys), len(ladders), len(kinds))
	}
}

// inUnits writes lengths in whole units.
func inUnits(lengths []domain.Length, unit domain.Length) (n []int) {
	for _, l := range lengths {
		n = append(n, int(l/unit))
	}
	return n
}

// TestUsual holds what is usual to what was agreed: common practice, no source.
// How much a chip, a pitch and a lob fly: one part of flight to three, to one, and
// two parts to one of roll (rule of twelve: 9 iron 12-9, sand wedge 12-11).
func TestUsual(t *testing.T) {
	for _, c := range []struct {
		kind  curriculum.SkillKind
		unit  domain.Length
		spot  int
		far   []int
		lies  int
		clubs []string
		carry int
	}{
		{curriculum.ChipAndRun, domain.Yard, 14, []int{9, 14, 19}, 3, []string{"8 iron", "pitching wedge"}, 100 / (1 + 3)},
		{curriculum.Pitch, domain.Yard, 22, []int{16, 22, 28}, 3, []string{"gap wedge", "sand wedge"}, 100 / (1 + 1)},
		{curriculum.BunkerShot, domain.Yard, 13, []int{9, 13, 18}, 3, []string{"sand wedge", "lob wedge"}, 0},
		{curriculum.Lob, domain.Yard, 17, []int{12, 17, 21}, 3, []string{"sand wedge", "lob wedge"}, 67},
		{curriculum.LagPutt, domain.Foot, 32, []int{24, 32, 41}, 3, []string{"putter"}, 0},
		{curriculum.ShortPutt, domain.Foot, 4, []int{3, 4, 6}, 4, []string{"putter"}, 0},
	} {
		for _, kind := range []curriculum.BlockKind{curriculum.Warmup, curriculum.Technique, curriculum.Test} {
			if d := c.kind.Usual(kind); !slices.Equal(inUnits(d.Distances, c.unit), []int{c.spot}) || len(d.Lies) != 1 || len(d.Clubs) != 1 || d.Carry != c.carry || d.Radius != 0 {
				t.Errorf("%s, %s: %+v, want one spot at %d and %d %% in the air", c.kind, kind, d, c.spot, c.carry)
			}
		}
		if d := c.kind.Usual(curriculum.Random); !slices.Equal(inUnits(d.Distances, c.unit), c.far) || len(d.Lies) != c.lies || !slices.Equal(d.Clubs, c.clubs) || d.Carry != 0 {
			t.Errorf("%s, random: %+v, want from %v with %v", c.kind, d, c.far, c.clubs)
		}
		far, lies := []int{c.spot}, 1
		if c.unit == domain.Foot { // a putt
			far, lies = c.far, 0
		}
		if d := c.kind.Usual(curriculum.Stations); !slices.Equal(inUnits(d.Distances, c.unit), far) || len(d.Lies) != lies || !slices.Equal(d.Clubs, c.clubs) || d.Carry != 0 {
			t.Errorf("%s, stations: %+v, want from %v with %v", c.kind, d, far, c.clubs)
		}
	}
	single := curriculum.Skill{Kind: curriculum.Pitch, Ladder: streak.Ladder{Tiers: []streak.Tier{{Run: 3, Radius: domain.Metre}}}}
	if got := single.Fitted(curriculum.Test).Radius; got != domain.Metre {
		t.Errorf("a ladder of one step gives the radius %v, want its own", got)
	}
}

// TestStartingPointsAsAgreed: ladders and shares as they were made up.
func TestStartingPointsAsAgreed(t *testing.T) {
	want := map[string]struct {
		feet                domain.Length
		runs, holed, shares []int
	}{
		"short_putts":     {2, []int{4, 7, 11}, []int{3, 6, 10}, []int{21, 18, 28, 33}},
		"lag_putts":       {4, []int{3, 6, 9}, []int{0, 0, 1}, []int{19, 27, 31, 23}},
		"up_and_down":     {6, []int{3, 5, 7}, []int{0, 0, 1}, []int{22, 17, 38, 23}},
		"low_chips":       {7, []int{3, 5, 8}, []int{0, 0, 1}, []int{27, 23, 26, 24}},
		"pitches":         {11, []int{3, 4, 7}, []int{0, 0, 0}, []int{23, 22, 29, 26}},
		"out_of_the_sand": {14, []int{2, 4, 5}, []int{0, 0, 0}, []int{31, 18, 22, 29}},
		"high_and_soft":   {13, []int{2, 4, 6}, []int{0, 0, 0}, []int{33, 17, 26, 24}},
	}
	for _, point := range curriculum.StartingPoints() {
		w := want[point.Key]
		var runs, holed []int
		for _, tier := range point.Skill.Ladder.Tiers {
			runs, holed = append(runs, tier.Run), append(holed, tier.Holed)
			if tier.Radius != w.feet*domain.Foot {
				t.Errorf("%s: a circle of %v, want %d ft", point.Key, tier.Radius, w.feet)
			}
		}
		if !slices.Equal(runs, w.runs) || !slices.Equal(holed, w.holed) || !slices.Equal(point.Plan.Shares(), w.shares) || point.Plan.Times != 2 {
			t.Errorf("%s: runs %v, holed %v, shares %v, %d times; want %+v, twice", point.Key, runs, holed, point.Plan.Shares(), point.Plan.Times, w)
		}
	}
}
