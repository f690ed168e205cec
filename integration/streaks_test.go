package integration_test

import (
	"slices"
	"testing"

	"fringework/api"
	"fringework/domain"
)

// hit is a tier and the ball that completed it.
type hit struct{ run, holed, ball int }

func hitsOf(o api.SessionOutcome) (all []hit) {
	for _, m := range o.Milestones {
		all = append(all, hit{m.Tier.Run, m.Tier.Holed, m.Ball})
	}
	return all
}

// The very ball at which a tier is made, for the ladder of nine in a row and
// then eighteen with one holed. The cases follow from the definition of a tier
// alone: the first ball at which the current run is long enough and holds
// enough holed balls.
func testStreaks(t *testing.T, s *service) {
	a := s.open(t, "Larkspur")
	for i, c := range []struct {
		name   string
		blocks []string
		want   []hit
	}{
		{"eight in, one out, nine in", []string{in(8) + "." + in(9)}, []hit{{9, 0, 18}}},
		{"eighteen in, the third holed", []string{"++o" + in(15)}, []hit{{9, 0, 9}, {18, 1, 18}}},
		{"eighteen in, none holed, the nineteenth holed", []string{in(18) + "o"}, []hit{{9, 0, 9}, {18, 1, 19}}},
		{"eighteen in, none holed", []string{in(18)}, []hit{{9, 0, 9}}},
		{"a run broken by the end of a block", []string{in(8), in(8)}, nil},
		{"the second block makes it", []string{in(5), "." + in(9)}, []hit{{9, 0, 10}}},
		{"nothing", []string{""}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			skill := a.owner.in(t).teach(a.student, c.name, rungs())
			var blocks []object
			for _, outcomes := range c.blocks {
				blocks = append(blocks, test(skill, outcomes))
			}
			got := a.student.in(t).practise(ago(2*i+3), blocks...)
			if hits := hitsOf(got); !slices.Equal(hits, c.want) {
				t.Errorf("milestones %v; want %v", hits, c.want)
			}
			for _, m := range got.Milestones {
				if m.SessionID != got.ID || m.Block != len(c.blocks) || m.SkillID != skill {
					t.Errorf("milestone %+v; want one of the last block of %s", m, got.ID)
				}
			}
			stands := skillOf(t, progressOf(a.coach.caller.in(t), a.student.id), skill)
			if stands.Held != len(c.want) || len(stands.Milestones) != len(c.want) || stands.Tiers != 2 {
				t.Errorf("progress holds %d of %d tiers and %d milestones; want %d of 2", stands.Held, stands.Tiers, len(stands.Milestones), len(c.want))
			}
		})
	}
}

// What a ball judged at one radius says at another.
func testRadii(t *testing.T, s *service) {
	a := s.open(t, "Radnor")
	threes := object{"tiers": []object{{"run": 9, "radius_m": threeFeet}}}
	measured := func(leave float64) []object {
		all := balls(in(9))
		for _, b := range all {
			b["leave_m"] = leave
		}
		return all
	}
	at := func(skill domain.ID, kind string, radius float64, balls []object) object {
		return object{"kind": kind, "skill_id": skill, "radius_m": radius, "seconds": 300, "balls": balls}
	}
	for i, c := range []struct {
		name       string
		ladder     object
		kind       string
		radius     float64
		balls      []object
		held       int
		unmeasured int
	}{
		{"in at three feet is in at five", object{"tiers": []object{{"run": 9, "radius_m": fiveFeet}}}, "test", threeFeet, balls(in(9)), 1, 0},
		{"in at five feet, with a leave of two", threes, "test", fiveFeet, measured(2 * 0.3048), 1, 0},
		{"in at five feet, with a leave of four", threes, "test", fiveFeet, measured(4 * 0.3048), 0, 0},
		{"in at five feet, without a leave", threes, "test", fiveFeet, balls(in(9)), 0, 9},
		{"holed at five feet", threes, "test", fiveFeet, balls("ooooooooo"), 1, 0},
		{"a warm-up counts", threes, "warmup", threeFeet, balls(in(9)), 1, 0},
		{"random practice does not", threes, "random", threeFeet, balls(in(9)), 0, 0},
		{"a warm-up does not where tests alone count", object{"tiers": threes["tiers"], "test_only": true}, "warmup", threeFeet, balls(in(9)), 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			skill := a.owner.in(t).teach(a.student, c.name, c.ladder)
			got := a.student.in(t).practise(ago(2*i+3), at(skill, c.kind, c.radius, c.balls))
			if len(got.Milestones) != c.held {
				t.Errorf("milestones %+v; want %d", got.Milestones, c.held)
			}
			told := slices.ContainsFunc(got.Notices, func(n api.Notice) bool { return n.Code == "unmeasured" })
			if told != (c.unmeasured > 0) {
				t.Errorf("notices %+v; want the student told of %d unmeasured balls", got.Notices, c.unmeasured)
			}
			if c.unmeasured > 0 && got.Readings[0].Unmeasured != c.unmeasured {
				t.Errorf("readings %+v; want %d unmeasured", got.Readings, c.unmeasured)
			}
		})
	}
	t.Run("a leave that contradicts the judgement is refused", func(t *testing.T) {
		skill := a.owner.in(t).teach(a.student, "contradiction", threes)
		p := a.student.in(t).put(sessionPath(newID()), outing(1, ago(3), at(skill, "test", threeFeet, measured(1.2)))).problem(422, "session_invalid")
		wrongAt(t, p, "/blocks/0/balls/0/leave_m", "")
	})
}
