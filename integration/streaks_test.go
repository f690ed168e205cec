package integration_test

import (
	"slices"
	"testing"

	"fringework/api"
	"fringework/domain"
)

// hit is a tier and the ball that completed it.
type hit struct{ run, holed, ball int }

func hitsOf(o api.SessionResult) (all []hit) {
	for _, m := range o.Milestones {
		all = append(all, hit{m.Tier.Run, m.Tier.Holed, m.Ball})
	}
	return all
}

// The very ball at which a tier is passed, for the ladder of four in a row
// and then seven with two holed. The cases follow from the definition of a tier
// alone: the first ball at which the current run is long enough and holds
// enough holed balls.
func testStreaks(t *testing.T, s *service) {
	a := s.open(t, "Larkspur")
	for i, c := range []struct {
		name   string
		blocks []string
		want   []hit
	}{
		{"three in, one out, four in", []string{in(3) + "." + in(4)}, []hit{{4, 0, 8}}},
		{"seven in, the second and third holed", []string{"+oo" + in(4)}, []hit{{4, 0, 4}, {7, 2, 7}}},
		{"seven in, one of them holed, the eighth holed", []string{in(6) + "o" + "o"}, []hit{{4, 0, 4}, {7, 2, 8}}},
		{"seven in, none holed", []string{in(7)}, []hit{{4, 0, 4}}},
		{"the end of a block ends the row", []string{in(3), in(3)}, nil},
		{"the second block passes it", []string{in(2), "." + in(4)}, []hit{{4, 0, 5}}},
		{"nothing", []string{""}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			skill := a.owner.in(t).teach(a.student, c.name, pitchSteps())
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
	tight := object{"tiers": []object{{"run": 6, "radius_m": narrow}}}
	measured := func(leave float64) []object {
		all := balls(in(6))
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
		{"in at 1.2 m is in at 2 m", object{"tiers": []object{{"run": 6, "radius_m": wide}}}, "test", narrow, balls(in(6)), 1, 0},
		{"in at 2 m, with 0.8 m left", tight, "test", wide, measured(0.8), 1, 0},
		{"in at 2 m, with 1.5 m left", tight, "test", wide, measured(1.5), 0, 0},
		{"in at 2 m, nothing measured", tight, "test", wide, balls(in(6)), 0, 6},
		{"holed at 2 m", tight, "test", wide, balls("oooooo"), 1, 0},
		{"a warm-up counts", tight, "warmup", narrow, balls(in(6)), 1, 0},
		{"random practice does not", tight, "random", narrow, balls(in(6)), 0, 0},
		{"a warm-up does not where only tests count", object{"tiers": tight["tiers"], "test_only": true}, "warmup", narrow, balls(in(6)), 0, 0},
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
			if c.unmeasured > 0 && got.Results[0].Unmeasured != c.unmeasured {
				t.Errorf("results %+v; want %d unmeasured", got.Results, c.unmeasured)
			}
		})
	}
	t.Run("a leave that contradicts the judgement is refused", func(t *testing.T) {
		skill := a.owner.in(t).teach(a.student, "contradiction", tight)
		p := a.student.in(t).put(sessionPath(newID()), sessionBody(1, ago(3), at(skill, "test", narrow, measured(1.3)))).problem(422, "session_invalid")
		wrongAt(t, p, "/blocks/0/balls/0/leave_m", "")
	})
}
