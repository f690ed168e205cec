package curriculum_test

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/greenside"
)

// known are the skills that the tests' programmes train.
func known() map[domain.ID]curriculum.Skill {
	return map[domain.ID]curriculum.Skill{
		"pitch": {ID: "pitch", Name: "Pitch", Kind: curriculum.Pitch, Ladder: domaintest.PitchLadder()},
		"chip":  {ID: "chip", Name: "Chip-and-run", Kind: curriculum.ChipAndRun, Ladder: domaintest.ChipLadder()},
		"putt":  {ID: "putt", Name: "Lag putt", Kind: curriculum.LagPutt, Ladder: domaintest.ChipLadder()},
		"old":   {ID: "old", Name: "Old lob", Kind: curriculum.Lob, Ladder: domaintest.ChipLadder(), ArchivedAt: time.Unix(1, 0)},
	}
}

// edited gives a programme that can be published, changed.
func edited(change func(c *curriculum.Content)) curriculum.Content {
	c := domaintest.Programme("pitch", "chip")
	if change != nil {
		change(&c)
	}
	return c
}

// block reaches a block of the first week's plan.
func block(c *curriculum.Content, i int) *curriculum.Block { return &c.Weeks[0].Plans[0].Blocks[i] }

// told is a domain.Field.
type told struct{ Pointer, Detail string }

// toldOf gives what an error tells of fields.
func toldOf(err error) []told { return asTold(domain.FieldsOf(err)) }

func asTold(fields []domain.Field) (all []told) {
	for _, f := range fields {
		all = append(all, told{f.Pointer, f.Detail})
	}
	return all
}

// ruleCase is a programme and everything that is to be told of it.
type ruleCase struct {
	why    string
	change func(c *curriculum.Content)
	want   []told
}

func checkRules(t *testing.T, code string, cases []ruleCase, check func(curriculum.Content) error) {
	t.Helper()
	for _, c := range cases {
		err := check(edited(c.change))
		if got := toldOf(err); !slices.Equal(got, c.want) {
			t.Errorf("%s:\ngot  %v\nwant %v", c.why, got, c.want)
		}
		var e *domain.Error
		if len(c.want) > 0 && (!errors.As(err, &e) || e.Kind != domain.Invalid || e.Code != code) {
			t.Errorf("%s: got %v, want an Invalid error %s", c.why, err, code)
		}
	}
}

func TestCheckDraft(t *testing.T) {
	long := strings.Repeat("é", 121)
	manyBlocks := func(n int) []curriculum.Block { return make([]curriculum.Block, n) }
	checkRules(t, "programme_invalid", []ruleCase{
		{"a good one", nil, nil},
		{"an unfinished split", func(c *curriculum.Content) {
			block(c, 0).Share, block(c, 1).Drill = 0, curriculum.Drill{}
			c.Weeks[1].Plans, c.Weeks[1].Skill = nil, ""
		}, nil},
		{"nothing written yet", func(c *curriculum.Content) { *c = curriculum.Content{Name: "x"} }, nil},
		{"no name", func(c *curriculum.Content) { c.Name = " \t" }, []told{{"/name", "is empty; give a name of 1 to 120 characters"}}},
		{"long words count characters, not bytes", func(c *curriculum.Content) {
			c.Name, c.Weeks[0].Title, c.Weeks[0].Plans[0].Name = long[2:], long[2:], long[2:]
		}, nil},
		{"words too long", func(c *curriculum.Content) {
			c.Name, c.Weeks[0].Title, c.Weeks[0].Plans[0].Name, c.Text = long, long, long, strings.Repeat("x", 4001)
		}, []told{
			{"/name", "has 121 characters; use at most 120"},
			{"/text", "has 4001 characters; use at most 4000"},
			{"/weeks/0/title", "has 121 characters; use at most 120"},
			{"/weeks/0/plans/0/name", "has 121 characters; use at most 120"},
		}},
		{"NUL, which PostgreSQL cannot store", func(c *curriculum.Content) {
			c.Name, c.Weeks[1].Text, block(c, 0).Drill.Lies = "a\x00", "\x00", []string{"\x00x"}
		}, []told{
			{"/name", "contains a NUL character; remove it"},
			{"/weeks/0/plans/0/blocks/0/drill/lies/0", "contains a NUL character; remove it"},
			{"/weeks/1/text", "contains a NUL character; remove it"},
		}},
		{"limits", func(c *curriculum.Content) {
			c.Limits = []curriculum.Limit{{curriculum.Test, 15, 100}, {"chipping", 0, 40}, {curriculum.Test, -1, -2}, {curriculum.Random, 101, 50}, {curriculum.Warmup, 60, 40}}
		}, []told{
			{"/limits/1/kind", `"chipping" is not a kind of block; use one of warmup, technique, stations, random, test or playout`},
			{"/limits/2/kind", "test already has a limit; keep one of them"},
			{"/limits/2/at_least", "is -1; give a whole per cent from 0 to 100"},
			{"/limits/2/at_most", "is -2; give a whole per cent from 0 to 100"},
			{"/limits/3/at_least", "is 101; give a whole per cent from 0 to 100"},
			{"/limits/3/at_most", "is 50; give a whole per cent from 100 to 100"},
			{"/limits/4/at_most", "is 40; give a whole per cent from 60 to 100"},
		}},
		{"unknown skills", func(c *curriculum.Content) { c.Weeks[0].Skill, block(c, 2).Skill = "x", "y" }, []told{
			{"/weeks/0/skill_id", `this academy has no skill "x"; create it first or give another`},
			{"/weeks/0/plans/0/blocks/2/skill_id", `this academy has no skill "y"; create it first or give another`},
		}},
		{"a plan out of bounds", func(c *curriculum.Content) {
			c.Weeks[0].Plans[0].Minutes, c.Weeks[0].Plans[0].Times = 4, 0
			c.Weeks[1].Plans[0].Minutes, c.Weeks[1].Plans[0].Times = 241, 15
		}, []told{
			{"/weeks/0/plans/0/minutes", "is 4; give a session of 5 to 240 minutes"},
			{"/weeks/0/plans/0/times", "is 0; give 1 to 14 times a week"},
			{"/weeks/1/plans/0/minutes", "is 241; give a session of 5 to 240 minutes"},
			{"/weeks/1/plans/0/times", "is 15; give 1 to 14 times a week"},
		}},
		{"too many blocks", func(c *curriculum.Content) { c.Weeks[0].Plans[0].Blocks = manyBlocks(13) },
			[]told{{"/weeks/0/plans/0/blocks", "has 13 blocks; use at most 12 in a session"}}},
		{"too many plans", func(c *curriculum.Content) { c.Weeks[1].Plans = make([]curriculum.Plan, 15) },
			[]told{{"/weeks/1/plans", "has 15 plans; use at most 14 in a week"}}},
		{"too many weeks", func(c *curriculum.Content) { c.Weeks = make([]curriculum.Week, 105) },
			[]told{{"/weeks", "has 105 weeks; use at most 104"}}},
		{"a block out of the vocabulary", func(c *curriculum.Content) { block(c, 1).Kind, block(c, 1).Share = "chipping", -5 }, []told{
			{"/weeks/0/plans/0/blocks/1/kind", `"chipping" is not a kind of block; use one of warmup, technique, stations, random, test or playout`},
			{"/weeks/0/plans/0/blocks/1/share", "is -5; give a whole per cent from 1 to 100"},
		}},
		{"a drill out of bounds", func(c *curriculum.Content) {
			block(c, 1).Share = 101
			block(c, 1).Drill = curriculum.Drill{
				Lies: []string{"", "fringe", "fringe"}, Clubs: make([]string, 25), Carry: 101, Radius: 999,
				Distances: []domain.Length{domain.Metre, domain.Metre, 999, 100*domain.Metre + 1},
			}
			block(c, 2).Drill.Distances = make([]domain.Length, 25)
			for i := range block(c, 2).Drill.Distances {
				block(c, 2).Drill.Distances[i] = domain.Length(i+1) * domain.Metre
			}
			block(c, 3).Drill.Carry, block(c, 3).Drill.Radius = -1, 30*domain.Metre+1
		}, []told{
			{"/weeks/0/plans/0/blocks/1/share", "is 101; give a whole per cent from 1 to 100"},
			{"/weeks/0/plans/0/blocks/1/drill/lies/0", "is empty; give a name of 1 to 120 characters"},
			{"/weeks/0/plans/0/blocks/1/drill/lies/2", `"fringe" is there twice; remove one`},
			{"/weeks/0/plans/0/blocks/1/drill/clubs", "has 25 entries; use at most 24"},
			{"/weeks/0/plans/0/blocks/1/drill/distances_m/1", "has 1 m (3.3 ft) twice; remove one"},
			{"/weeks/0/plans/0/blocks/1/drill/distances_m/2", "is 0.0999 m (0.3 ft); give a distance from 0.1 m (0.3 ft) to 100 m (328.1 ft)"},
			{"/weeks/0/plans/0/blocks/1/drill/distances_m/3", "is 100.0001 m (328.1 ft); give a distance from 0.1 m (0.3 ft) to 100 m (328.1 ft)"},
			{"/weeks/0/plans/0/blocks/1/drill/carry_percent", "is 101; give a whole per cent from 1 to 100, or leave it out"},
			{"/weeks/0/plans/0/blocks/1/drill/radius_m", "is 0.0999 m (0.3 ft); give a radius from 0.1 m (0.3 ft) to 30 m (98.4 ft)"},
			{"/weeks/0/plans/0/blocks/2/drill/distances_m", "has 25 entries; use at most 24"},
			{"/weeks/0/plans/0/blocks/3/drill/carry_percent", "is -1; give a whole per cent from 1 to 100, or leave it out"},
			{"/weeks/0/plans/0/blocks/3/drill/radius_m", "is 30.0001 m (98.4 ft); give a radius from 0.1 m (0.3 ft) to 30 m (98.4 ft)"},
		}},
	}, func(c curriculum.Content) error { return c.CheckDraft(known()) })
}

func TestCheckPublishable(t *testing.T) {
	const b = "/weeks/0/plans/0/blocks"
	checkRules(t, "programme_unpublishable", []ruleCase{
		{"a good one", nil, nil},
		{"no weeks", func(c *curriculum.Content) { c.Weeks = nil }, []told{{"/weeks", "is empty; add at least one week"}}},
		{"a week of nothing", func(c *curriculum.Content) { c.Weeks[1] = curriculum.Week{} }, []told{
			{"/weeks/1/skill_id", "week 2: has no skill; choose what the week trains"},
			{"/weeks/1/plans", "week 2: has no session plan; add at least one"},
		}},
		{"a plan of nothing, without a name", func(c *curriculum.Content) { c.Weeks[1].Plans[0].Name, c.Weeks[1].Plans[0].Blocks = "", nil },
			[]told{{"/weeks/1/plans/0/blocks", "week 2, plan 1: has no blocks; add at least one"}}},
		{"shares below 100", func(c *curriculum.Content) { block(c, 0).Share = 20 },
			[]told{{b, "week 1, plan 1 (Hour): shares sum to 95; add 5"}}},
		{"shares above 100", func(c *curriculum.Content) { block(c, 3).Share = 28 },
			[]told{{b, "week 1, plan 1 (Hour): shares sum to 103; take away 3"}}},
		{"a block without a share is told once", func(c *curriculum.Content) { block(c, 0).Share, block(c, 3).Share = 0, 50 },
			[]told{{b + "/0/share", "week 1, plan 1 (Hour), block 1 (warmup): has no share; give it at least 1 %"}}},
		{"a block of less than a minute", func(c *curriculum.Content) {
			block(c, 0).Share, block(c, 3).Share, c.Weeks[0].Plans[0].Minutes = 1, 49, 30 // 0.3 of a minute
		}, []told{{b + "/0/share", "week 1, plan 1 (Hour), block 1 (warmup): 1 % of 30 minutes is less than a minute; raise the share or make the plan longer"}}},
		{"archived skills", func(c *curriculum.Content) { c.Weeks[1].Skill, block(c, 0).Skill = "old", "old" }, []told{
			{b + "/0/skill_id", `week 1, plan 1 (Hour), block 1 (warmup): the skill "Old lob" is archived; restore it or choose another`},
			{"/weeks/1/skill_id", `week 2: the skill "Old lob" is archived; restore it or choose another`},
		}},
		{"no radius, no text", func(c *curriculum.Content) { block(c, 3).Drill = curriculum.Drill{Text: " "} }, []told{
			{b + "/3/drill/radius_m", "week 1, plan 1 (Hour), block 4 (test): has no target radius; give the radius inside which a ball is in"},
			{b + "/3/drill/text", "week 1, plan 1 (Hour), block 4 (test): has no text; tell the student what to do"},
		}},
		{"one spot has one lie and one distance", func(c *curriculum.Content) {
			block(c, 0).Drill.Lies, block(c, 3).Drill.Distances = []string{"fringe", "rough"}, []domain.Length{domain.Yard, 2 * domain.Yard}
			block(c, 1).Drill.Lies, block(c, 1).Drill.Distances = []string{"fringe"}, []domain.Length{domain.Yard}
		}, []told{
			{b + "/0/drill", "week 1, plan 1 (Hour), block 1 (warmup): is played from one spot; give at most one lie and one distance"},
			{b + "/3/drill", "week 1, plan 1 (Hour), block 4 (test): is played from one spot; give at most one lie and one distance"},
		}},
		{"technique grooves one club", func(c *curriculum.Content) { block(c, 1).Drill.Clubs = []string{"wedge", "nine"} },
			[]told{{b + "/1/drill/clubs", "week 1, plan 1 (Hour), block 2 (technique): is played with one club; give at most one"}}},
		{"stations need clubs", func(c *curriculum.Content) { block(c, 1).Kind = curriculum.Stations },
			[]told{{b + "/1/drill/clubs", "week 1, plan 1 (Hour), block 2 (stations): needs several clubs; give at least two"}}},
		{"stations with clubs may have several lies", func(c *curriculum.Content) {
			block(c, 1).Kind, block(c, 1).Drill.Clubs, block(c, 1).Drill.Lies = curriculum.Stations, []string{"wedge", "nine"}, []string{"fringe", "rough"}
		}, nil},
		{"random needs tasks", func(c *curriculum.Content) { block(c, 2).Drill.Clubs = []string{"wedge"} },
			[]told{{b + "/2/drill", "week 1, plan 1 (Hour), block 3 (random): needs a new task for every ball; give at least two lies, distances or clubs"}}},
		{"blocks of no skill yet are told once, unless something was written in them", func(c *curriculum.Content) {
			c.Weeks[0].Skill = ""
			for i := range c.Weeks[0].Plans[0].Blocks {
				block(c, i).Skill, block(c, i).Drill = "", curriculum.Drill{}
			}
			block(c, 3).Drill.Clubs = []string{"wedge"}
			block(c, 0).Skill = "chip"
		}, []told{
			{"/weeks/0/skill_id", "week 1: has no skill; choose what the week trains"},
			{b + "/0/drill/radius_m", "week 1, plan 1 (Hour), block 1 (warmup): has no target radius; give the radius inside which a ball is in"},
			{b + "/0/drill/text", "week 1, plan 1 (Hour), block 1 (warmup): has no text; tell the student what to do"},
			{b + "/3/drill/radius_m", "week 1, plan 1 (Hour), block 4 (test): has no target radius; give the radius inside which a ball is in"},
			{b + "/3/drill/text", "week 1, plan 1 (Hour), block 4 (test): has no text; tell the student what to do"},
		}},
		{"stations of a putt are several places", func(c *curriculum.Content) {
			block(c, 1).Kind, block(c, 1).Skill, block(c, 1).Drill.Clubs = curriculum.Stations, "putt", []string{"putter"}
			block(c, 1).Drill.Lies = []string{"uphill"}
		}, []told{{b + "/1/drill", "week 1, plan 1 (Hour), block 2 (stations): needs several places to putt from; give at least two lies or distances"}}},
		{"random by distance alone", func(c *curriculum.Content) {
			block(c, 2).Drill.Clubs, block(c, 2).Drill.Distances = nil, []domain.Length{domain.Yard, 2 * domain.Yard}
		}, nil},
	}, func(c curriculum.Content) error { return c.CheckPublishable(known()) })
}

// TestLimits: technique at most 40 %, test at least 15 %, as a programme may
// ask.
func TestLimits(t *testing.T) {
	limits := []curriculum.Limit{{curriculum.Technique, 0, 40}, {curriculum.Test, 15, 100}}
	const b = "/weeks/0/plans/0/blocks"
	shares := func(warmup, technique, random, test int) func(c *curriculum.Content) {
		return func(c *curriculum.Content) {
			c.Limits = limits
			for i, s := range []int{warmup, technique, random, test} {
				block(c, i).Share = s
			}
		}
	}
	checkRules(t, "programme_unpublishable", []ruleCase{
		{"just inside", shares(25, 40, 20, 15), nil},
		{"outside both", shares(24, 41, 21, 14), []told{
			{b + "/1/share", "week 1, plan 1 (Hour), block 2: technique has 41 %; the limit is at most 40 %, so take away 1"},
			{b + "/3/share", "week 1, plan 1 (Hour), block 4: test has 14 %; the limit is at least 15 %, so add 1"},
		}},
		{"the shares of a kind add up, and the last block is at fault", func(c *curriculum.Content) {
			shares(25, 40, 20, 15)(c)
			block(c, 0).Kind = curriculum.Technique
		}, []told{{b + "/1/share", "week 1, plan 1 (Hour), block 2: technique has 65 %; the limit is at most 40 %, so take away 25"}}},
		{"no test at all", func(c *curriculum.Content) {
			shares(25, 40, 20, 15)(c)
			block(c, 3).Kind = curriculum.Warmup
		}, []told{{"/weeks/0/plans/0", "week 1, plan 1 (Hour): test has 0 %; the limit is at least 15 %, so add 15"}}},
		{"limits that nothing meets", func(c *curriculum.Content) {
			c.Limits = nil
			for _, k := range curriculum.BlockKinds() {
				c.Limits = append(c.Limits, curriculum.Limit{Kind: k, AtLeast: 0, AtMost: 16})
			}
			c.Weeks = nil
		}, []told{
			{"/weeks", "is empty; add at least one week"},
			{"/limits", "the greatest shares sum to 96 %, which no plan can keep; raise them by 4 in all"},
		}},
		{"too much wanted", func(c *curriculum.Content) {
			c.Limits, c.Weeks = []curriculum.Limit{{curriculum.Test, 60, 100}, {curriculum.Random, 50, 100}}, nil
		}, []told{
			{"/weeks", "is empty; add at least one week"},
			{"/limits", "the least shares sum to 110 %, which no plan can keep; lower them by 10 in all"},
		}},
	}, func(c curriculum.Content) error { return c.CheckPublishable(known()) })
}

// TestStrokes: putts are holed in another way than what is played from off the
// green.
func TestStrokes(t *testing.T) {
	for _, k := range curriculum.SkillKinds() {
		want := greenside.OffGreen
		switch k {
		case curriculum.LagPutt:
			want = greenside.LagPutt
		case curriculum.ShortPutt:
			want = greenside.ShortPutt
		}
		if got := k.Stroke(); got != want {
			t.Errorf("%s is stroke %d, want %d", k, got, want)
		}
	}
}
