package curriculum_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/streak"
)

// words makes n different words of the given number of characters.
func words(n, size int) []string {
	all := make([]string, n)
	for i := range all {
		all[i] = fmt.Sprintf("%02d", i) + strings.Repeat("é", size-2)
	}
	return all
}

// lengths makes n different lengths from 2 m.
func lengths(n int) []domain.Length {
	all := make([]domain.Length, n)
	for i := range all {
		all[i] = domain.Length(i+2) * domain.Metre
	}
	return all
}

// repeated makes n of a thing.
func repeated[T any](n int, x T) []T { return slices.Repeat([]T{x}, n) }

// TestDraftAtItsBounds: each bound is accepted at its limit and refused one
// past it. The bounds are the programme's own choice.
func TestDraftAtItsBounds(t *testing.T) {
	const plan, first = "/weeks/0/plans/0", "/weeks/0/plans/0/blocks/0"
	for _, c := range []struct {
		what   string
		change func(c *curriculum.Content, past int)
		want   told // of one past the bound
	}{
		{"weeks", func(c *curriculum.Content, past int) { c.Weeks = repeated(104+past, c.Weeks[0]) },
			told{"/weeks", "has 105 weeks; use at most 104"}},
		{"plans", func(c *curriculum.Content, past int) { c.Weeks[0].Plans = repeated(14+past, c.Weeks[0].Plans[0]) },
			told{"/weeks/0/plans", "has 15 plans; use at most 14 in a week"}},
		{"blocks", func(c *curriculum.Content, past int) { c.Weeks[0].Plans[0].Blocks = repeated(12+past, *block(c, 0)) },
			told{plan + "/blocks", "has 13 blocks; use at most 12 in a session"}},
		{"shortest", func(c *curriculum.Content, past int) { c.Weeks[0].Plans[0].Minutes = 5 - past },
			told{plan + "/minutes", "is 4; give a session of 5 to 240 minutes"}},
		{"longest", func(c *curriculum.Content, past int) { c.Weeks[0].Plans[0].Minutes = 240 + past },
			told{plan + "/minutes", "is 241; give a session of 5 to 240 minutes"}},
		{"seldom", func(c *curriculum.Content, past int) { c.Weeks[0].Plans[0].Times = 1 - past },
			told{plan + "/times", "is 0; give 1 to 14 times a week"}},
		{"often", func(c *curriculum.Content, past int) { c.Weeks[0].Plans[0].Times = 14 + past },
			told{plan + "/times", "is 15; give 1 to 14 times a week"}},
		{"least share", func(c *curriculum.Content, past int) { block(c, 0).Share = 0 - past },
			told{first + "/share", "is -1; give a whole per cent from 1 to 100"}},
		{"greatest share", func(c *curriculum.Content, past int) { block(c, 0).Share = 100 + past },
			told{first + "/share", "is 101; give a whole per cent from 1 to 100"}},
		{"lies", func(c *curriculum.Content, past int) { block(c, 0).Drill.Lies = words(24+past, 9) },
			told{first + "/drill/lies", "has 25 entries; use at most 24"}},
		{"clubs", func(c *curriculum.Content, past int) { block(c, 0).Drill.Clubs = words(24+past, 9) },
			told{first + "/drill/clubs", "has 25 entries; use at most 24"}},
		{"a club's name", func(c *curriculum.Content, past int) { block(c, 0).Drill.Clubs = words(1, 120+past) },
			told{first + "/drill/clubs/0", "has 121 characters; use at most 120"}},
		{"distances", func(c *curriculum.Content, past int) { block(c, 0).Drill.Distances = lengths(24 + past) },
			told{first + "/drill/distances_m", "has 25 entries; use at most 24"}},
		{"nearest", func(c *curriculum.Content, past int) {
			block(c, 0).Drill.Distances = []domain.Length{domain.Metre/10 - domain.Length(past)}
		}, told{first + "/drill/distances_m/0", "is 0.0999 m (0.3 ft); give a distance from 0.1 m (0.3 ft) to 100 m (328.1 ft)"}},
		{"farthest", func(c *curriculum.Content, past int) {
			block(c, 0).Drill.Distances = []domain.Length{100*domain.Metre + domain.Length(past)}
		}, told{first + "/drill/distances_m/0", "is 100.0001 m (328.1 ft); give a distance from 0.1 m (0.3 ft) to 100 m (328.1 ft)"}},
		{"no carry", func(c *curriculum.Content, past int) { block(c, 0).Drill.Carry = 0 - past },
			told{first + "/drill/carry_percent", "is -1; give a whole per cent from 1 to 100, or leave it out"}},
		{"all carry", func(c *curriculum.Content, past int) { block(c, 0).Drill.Carry = 100 + past },
			told{first + "/drill/carry_percent", "is 101; give a whole per cent from 1 to 100, or leave it out"}},
		{"smallest radius", func(c *curriculum.Content, past int) {
			block(c, 0).Drill.Radius = domain.Metre/10 - domain.Length(past)
		}, told{first + "/drill/radius_m", "is 0.0999 m (0.3 ft); give a radius from 0.1 m (0.3 ft) to 30 m (98.4 ft)"}},
		{"largest radius", func(c *curriculum.Content, past int) {
			block(c, 0).Drill.Radius = 30*domain.Metre + domain.Length(past)
		}, told{first + "/drill/radius_m", "is 30.0001 m (98.4 ft); give a radius from 0.1 m (0.3 ft) to 30 m (98.4 ft)"}},
		{"text", func(c *curriculum.Content, past int) { c.Text = strings.Repeat("é", 4000+past) },
			told{"/text", "has 4001 characters; use at most 4000"}},
		{"name", func(c *curriculum.Content, past int) { c.Name = strings.Repeat("é", 120+past) },
			told{"/name", "has 121 characters; use at most 120"}},
		{"limit from", func(c *curriculum.Content, past int) {
			c.Limits = []curriculum.Limit{{Kind: curriculum.Test, AtLeast: 0 - past, AtMost: 40}}
		}, told{"/limits/0/at_least", "is -1; give a whole per cent from 0 to 100"}},
		{"limit up to", func(c *curriculum.Content, past int) {
			c.Limits = []curriculum.Limit{{Kind: curriculum.Test, AtLeast: 30, AtMost: 100 + past}}
		}, told{"/limits/0/at_most", "is 101; give a whole per cent from 30 to 100"}},
		{"limit of one value", func(c *curriculum.Content, past int) {
			c.Limits = []curriculum.Limit{{Kind: curriculum.Test, AtLeast: 30, AtMost: 30 - past}}
		}, told{"/limits/0/at_most", "is 29; give a whole per cent from 30 to 100"}},
		{"a drill's text", func(c *curriculum.Content, past int) { block(c, 0).Drill.Text = strings.Repeat("é", 4000+past) },
			told{first + "/drill/text", "has 4001 characters; use at most 4000"}},
		{"a title", func(c *curriculum.Content, past int) { c.Weeks[0].Title = strings.Repeat("\x00", past) },
			told{"/weeks/0/title", "contains a NUL character; remove it"}},
		{"a plan's name", func(c *curriculum.Content, past int) { c.Weeks[0].Plans[0].Name = strings.Repeat("\x00", past) },
			told{plan + "/name", "contains a NUL character; remove it"}},
	} {
		for past, want := range [][]told{nil, {c.want}} {
			content := edited(func(content *curriculum.Content) { c.change(content, past) })
			if got := toldOf(content.CheckDraft(known())); !slices.Equal(got, want) {
				t.Errorf("%s, %d past the bound: got %v, want %v", c.what, past, got, want)
			}
		}
	}
	everything := edited(func(c *curriculum.Content) {
		c.Limits = []curriculum.Limit{{Kind: curriculum.Test, AtLeast: 100, AtMost: 100}}
	})
	if got := toldOf(everything.CheckDraft(known())); got != nil {
		t.Errorf("a limit of exactly 100: got %v, want nothing", got)
	}
}

// TestPublishableAtItsLimits: shares, minutes and limits that are just enough.
func TestPublishableAtItsLimits(t *testing.T) {
	const b = "/weeks/0/plans/0/blocks"
	shares := func(c *curriculum.Content, all ...int) {
		c.Weeks = c.Weeks[:1]
		for i, s := range all {
			block(c, i).Share = s
		}
	}
	checkRules(t, "programme_unpublishable", []ruleCase{
		{"least shares that sum to exactly 100", func(c *curriculum.Content) {
			shares(c, 20, 25, 40, 15)
			c.Limits = []curriculum.Limit{{curriculum.Warmup, 20, 100}, {curriculum.Technique, 25, 100}, {curriculum.Random, 40, 100}, {curriculum.Test, 15, 100}}
		}, nil},
		{"least shares that sum to 101", func(c *curriculum.Content) {
			shares(c, 20, 25, 40, 15)
			c.Limits = []curriculum.Limit{{curriculum.Technique, 25, 100}, {curriculum.Random, 40, 100}, {curriculum.Test, 36, 100}}
		}, []told{
			{"/limits", "the least shares sum to 101 %, which no plan can keep; lower them by 1 in all"},
			{b + "/3/share", "week 1, plan 1 (Hour), block 4: test has 15 %; the limit is at least 36 %, so add 21"},
		}},
		{"greatest shares that sum to exactly 100", func(c *curriculum.Content) {
			shares(c, 20, 25, 40, 15)
			c.Limits = []curriculum.Limit{{curriculum.Warmup, 0, 20}, {curriculum.Technique, 0, 25}, {curriculum.Random, 0, 40}, {curriculum.Test, 0, 15}, {curriculum.Stations, 0, 0}}
		}, nil},
		{"a kind without a limit may fill the rest", func(c *curriculum.Content) {
			shares(c, 70, 10, 10, 10)
			c.Limits = []curriculum.Limit{{curriculum.Technique, 0, 10}, {curriculum.Random, 0, 10}, {curriculum.Test, 0, 10}, {curriculum.Stations, 0, 0}}
		}, nil},
		{"a limit that the first block breaks", func(c *curriculum.Content) {
			shares(c, 35, 25, 25, 15)
			c.Limits = []curriculum.Limit{{curriculum.Warmup, 0, 30}}
		}, []told{{b + "/0/share", "week 1, plan 1 (Hour), block 1: warmup has 35 %; the limit is at most 30 %, so take away 5"}}},
		// 2 % of 50 minutes is a minute.
		{"a block of exactly a minute", func(c *curriculum.Content) {
			shares(c, 2, 28, 50, 20)
			c.Weeks[0].Plans[0].Minutes = 50
		}, nil},
		{"the smallest share", func(c *curriculum.Content) {
			shares(c, 1, 29, 50, 20)
			c.Weeks[0].Plans[0].Minutes = 100
		}, nil},
		{"two shares of too little are both told", func(c *curriculum.Content) {
			shares(c, 1, 1, 78, 20) // 0.2, 0.2, 15.6 and 4 of 20 minutes
			c.Weeks[0].Plans[0].Minutes = 20
		}, []told{
			{b + "/0/share", "week 1, plan 1 (Hour), block 1 (warmup): 1 % of 20 minutes is less than a minute; raise the share or make the plan longer"},
			{b + "/1/share", "week 1, plan 1 (Hour), block 2 (technique): 1 % of 20 minutes is less than a minute; raise the share or make the plan longer"},
		}},
		{"one lie and one distance are one spot", func(c *curriculum.Content) {
			block(c, 3).Drill.Lies, block(c, 3).Drill.Distances = words(1, 6), lengths(1)
		}, nil},
		{"two lies are two spots", func(c *curriculum.Content) { block(c, 3).Drill.Lies = words(2, 6) },
			[]told{{b + "/3/drill", "week 1, plan 1 (Hour), block 4 (test): is played from one spot; give at most one lie and one distance"}}},
		{"two distances are two spots", func(c *curriculum.Content) { block(c, 3).Drill.Distances = lengths(2) },
			[]told{{b + "/3/drill", "week 1, plan 1 (Hour), block 4 (test): is played from one spot; give at most one lie and one distance"}}},
		{"one club at the stations", func(c *curriculum.Content) {
			block(c, 2).Kind, block(c, 2).Drill.Clubs = curriculum.Stations, words(1, 6)
		}, []told{{b + "/2/drill/clubs", "week 1, plan 1 (Hour), block 3 (stations): needs several clubs; give at least two"}}},
		{"two lies make random tasks", func(c *curriculum.Content) {
			block(c, 2).Drill.Clubs, block(c, 2).Drill.Lies = nil, words(2, 6)
		}, nil},
		{"two clubs make random tasks", func(c *curriculum.Content) { block(c, 2).Drill.Clubs = words(2, 6) }, nil},
		{"one lie, one distance and one club make one task", func(c *curriculum.Content) {
			d := &block(c, 2).Drill
			d.Lies, d.Distances, d.Clubs = words(1, 6), lengths(1), words(1, 6)
		}, []told{{b + "/2/drill", "week 1, plan 1 (Hour), block 3 (random): needs a new task for every ball; give at least two lies, distances or clubs"}}},
	}, func(c curriculum.Content) error { return c.CheckPublishable(known()) })
}

// TestMinutesOfNoSplit: shares that do not sum to 100 give no minutes, though
// they could be split.
func TestMinutesOfNoSplit(t *testing.T) {
	for _, shares := range [][2]int{{60, 39}, {60, 41}} {
		plan := curriculum.Plan{Minutes: 50, Blocks: []curriculum.Block{{Share: shares[0]}, {Share: shares[1]}}}
		if got := plan.BlockMinutes(); got != nil {
			t.Errorf("shares of %v: got %v minutes, want none", shares, got)
		}
	}
}

// TestSplitAtItsBounds: sums as large as they come, shares on their own, and
// a negative share that is told as such alone.
func TestSplitAtItsBounds(t *testing.T) {
	if got, err := curriculum.Split(7, []int{math.MaxInt, 0}); err != nil || !slices.Equal(got, []int{7, 0}) {
		t.Errorf("the largest sum: got %v, %v, want all 7 minutes for the first", got, err)
	}
	for _, c := range []struct {
		shares []int
		want   told
	}{
		{[]int{0}, told{"/shares", "are all 0; give at least one share above 0"}},
		{[]int{-1, 60}, told{"/shares/0", "is -1; give a whole number from 0"}},
		{[]int{-3, 0}, told{"/shares/0", "is -3; give a whole number from 0"}},
	} {
		_, err := curriculum.Split(7, c.shares)
		if got := toldOf(err); !slices.Equal(got, []told{c.want}) {
			t.Errorf("shares %v: got %v, want %v", c.shares, got, c.want)
		}
	}
}

// TestOneFaultIsEnough: a skill with a single thing wrong is not kept.
func TestOneFaultIsEnough(t *testing.T) {
	_, s, pitch, _ := open(t)
	nameless := curriculum.Skill{Kind: curriculum.Lob, Ladder: streak.Ladder{Tiers: []streak.Tier{{Run: 6, Radius: 2 * domain.Metre}}}}
	want := []told{{"/name", "is empty; give a name of 1 to 120 characters"}}
	_, err := s.CreateSkill(ctx, coach, nameless)
	if got := toldOf(err); !slices.Equal(got, want) {
		t.Errorf("created without a name: got %v, want %v", err, want)
	}
	_, err = s.UpdateSkill(ctx, coach, pitch.ID, 0, nameless)
	if got := toldOf(err); !slices.Equal(got, want) {
		t.Errorf("changed to have no name: got %v, want %v", err, want)
	}
}

// TestDeckBalls: three balls a minute, and twelve at the least.
func TestDeckBalls(t *testing.T) {
	for minutes, want := range map[int]int{1: 12, 3: 12, 4: 12, 5: 15, 20: 60} {
		if got := curriculum.DeckBalls(minutes); got != want {
			t.Errorf("%d minutes: %d balls, want %d", minutes, got, want)
		}
	}
}
