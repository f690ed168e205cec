package practice_test

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// made is a milestone: run length, block, ball.
type made struct{ run, block, ball int }

// TestStreaks tells sessions and the tiers they make. The pitch's ladder is nine
// in a row inside five feet, then eighteen with one holed (common practice, no
// source); a ball is struck every 900 s divided by the balls of its block.
func TestStreaks(t *testing.T) {
	const test, warmup = curriculum.Test, curriculum.Warmup
	in := strings.Repeat
	for _, c := range []struct {
		why    string
		kind   curriculum.BlockKind
		blocks []string
		want   []made
	}{
		{"eight in, one out, nine in makes nine at ball 18", test, []string{"iiiiiiii" + "o" + "iiiiiiiii"}, []made{{9, 1, 18}}},
		{"eighteen in with the third holed makes (18, one holed) at 18", test, []string{"iih" + in("i", 15)}, []made{{9, 1, 9}, {18, 1, 18}}},
		{"eighteen in with none holed and the nineteenth holed makes it at 19", test, []string{in("i", 18) + "h"}, []made{{9, 1, 9}, {18, 1, 19}}},
		{"eighteen in with none holed", test, []string{in("i", 18)}, []made{{9, 1, 9}}},
		{"a holed ball before the run does not help", test, []string{"ho" + in("i", 18)}, []made{{9, 1, 11}}},
		{"a run broken by the end of a block does not go on", test, []string{in("i", 8), "i" + "o"}, nil},
		{"a whole run in the second block", test, []string{in("i", 8), in("i", 9)}, []made{{9, 2, 9}}},
		{"a warm-up counts", warmup, []string{in("i", 9)}, []made{{9, 1, 9}}},
		{"technique is not tested", curriculum.Technique, []string{in("i", 9)}, nil},
		{"stations are not one spot", curriculum.Stations, []string{in("i", 9)}, nil},
		{"random is not one spot", curriculum.Random, []string{in("h", 20)}, nil},
	} {
		h := open(t)
		var blocks []practice.Block
		for _, outcomes := range c.blocks {
			blocks = append(blocks, block(c.kind, h.pitch, outcomes))
		}
		s := session("s", 1, blocks...)
		out := h.put(ada, s)
		var want []progress.Milestone
		for _, m := range c.want {
			tier := domaintest.PitchLadder().Tiers[m.run/18]
			at := s.StartedAt.Add(time.Duration(900*(m.block-1)) * time.Second).Add(900 * time.Second * time.Duration(m.ball) / time.Duration(len(c.blocks[m.block-1])))
			want = append(want, progress.Milestone{Student: adaID, Skill: h.pitch, Tier: tier, Hit: progress.Hit{Session: "s", Block: m.block, Ball: m.ball, At: at.Truncate(time.Millisecond)}})
		}
		if !reflect.DeepEqual(out.Milestones, want) {
			t.Errorf("%s:\ngot  %+v\nwant %+v", c.why, out.Milestones, want)
		}
	}
}

// TestRunEndsWithSession: eight today and one tomorrow are not nine.
func TestRunEndsWithSession(t *testing.T) {
	h := open(t)
	h.put(ada, session("s1", 1, block(curriculum.Test, h.pitch, "iiiiiiii")))
	second := session("s2", 1, block(curriculum.Test, h.pitch, "io"))
	second.StartedAt, second.EndedAt = now.Add(-50*time.Minute), now.Add(-10*time.Minute)
	if out := h.put(ada, second); out.Milestones != nil {
		t.Errorf("got %+v, want no milestone", out.Milestones)
	}
	near := streak.Near{Runs: 1, Length: 8, Times: 1}
	for _, s := range h.kept(adaID).States {
		if s.Skill == h.pitch && (s.Best().Length != 8 || s.Near != near) {
			t.Errorf("got best %+v, near %+v, want 8 of 9, once", s.Best(), s.Near)
		}
	}
}

func TestTestOnlyLadder(t *testing.T) {
	h := openWith(t, streak.Ladder{Tiers: domaintest.PitchLadder().Tiers, TestOnly: true})
	out := h.put(ada, session("s", 1, block(curriculum.Warmup, h.pitch, "iiiiiiiii"), block(curriculum.Test, h.pitch, "iiiiiiii")))
	if out.Milestones != nil {
		t.Errorf("nine in a warm-up: got %+v, want none", out.Milestones)
	}
	out = h.put(ada, session("s", 2, block(curriculum.Warmup, h.pitch, "iiiiiiiii"), block(curriculum.Test, h.pitch, "iiiiiiiii")))
	if len(out.Milestones) != 1 || out.Milestones[0].Block != 2 {
		t.Errorf("nine in the test: got %+v, want the test's", out.Milestones)
	}
}

// TestLeaves: a ball judged at 5 ft with a leave of 2 ft counts for a 3 ft tier,
// without a leave it does not, and the student is told while the tier is open.
func TestLeaves(t *testing.T) {
	h := open(t)
	without := session("s2", 1, block(curriculum.Test, h.chip, "2222i2222"), block(curriculum.Test, h.pitch, "iii"))
	without.StartedAt, without.EndedAt = now.Add(-50*time.Minute), now.Add(-10*time.Minute)
	out := h.put(ada, without)
	want := []practice.Notice{{Code: "unmeasured",
		Detail: "1 ball was logged for another circle, so it does not count towards 9 in a row inside 3 ft (0.91 m). Play to a circle of 3 ft (0.91 m), or say how far each ball is from the hole."}}
	if out.Milestones != nil || !reflect.DeepEqual(out.Notices, want) {
		t.Errorf("one without: got %+v, %+v, want no milestone and %+v", out.Milestones, out.Notices, want)
	}
	if r := out.Results[h.chip][0]; r.Judged != 8 || r.Inside != 8 || r.Unmeasured != 1 || r.Best.Length != 4 {
		t.Errorf("got %+v, want 8 judged, 1 unmeasured, best 4", r)
	}
	measured := h.put(ada, session("s1", 1, block(curriculum.Test, h.chip, "222222222")))
	if len(measured.Milestones) != 1 || measured.Milestones[0].Tier.Radius != ft3 || len(measured.Notices) != 0 {
		t.Errorf("measured: got %+v, %+v, want the chip's tier and no notice", measured.Milestones, measured.Notices)
	}
}

// TestAttested: counts from a card are never mixed with recorded balls.
func TestAttested(t *testing.T) {
	h := open(t)
	card := practice.Block{Kind: curriculum.Test, Skill: h.pitch, Radius: ft5, Seconds: 600, Attested: &progress.Attested{Balls: 40, Inside: 30, Holed: 4, BestRun: 20}}
	out := h.put(ada, session("s", 1, card, block(curriculum.Test, h.pitch, "io")))
	if out.Milestones != nil {
		t.Errorf("a best run of 20 on a card made %+v, want nothing", out.Milestones)
	}
	k := h.kept(adaID)
	want := progress.Tally{Sessions: 1, Balls: 2, Inside: 1, Seconds: 1500, AttestedBalls: 40, AttestedInside: 30, AttestedHoled: 4}
	for _, s := range k.States {
		if s.Skill == h.pitch && (s.Totals != want || s.Recent.Judged != 2 || s.Best().Length != 1) {
			t.Errorf("got %+v, want %+v, two balls judged and a run of one", s, want)
		}
	}
	if k.States[0].WeekTally != want {
		t.Errorf("week: got %+v, want %+v", k.States[0].WeekTally, want)
	}
	if got := *out.Session.Blocks[0].Attested; got != *card.Attested || out.Session.Blocks[0].Balls != nil {
		t.Errorf("the card came back as %+v", out.Session.Blocks[0])
	}
}

// TestWeekOfSession: the practice week is the local one of the start.
func TestWeekOfSession(t *testing.T) {
	h := open(t)
	for zone, want := range map[string]string{"UTC": "2026-05-04", "Pacific/Auckland": "2026-05-11", "America/New_York": "2026-05-04", "": "2026-05-04"} {
		s := session(domain.ID("s"+zone), 1, block(curriculum.Test, h.pitch, "i"))
		s.TimeZone = zone // 16:00 UTC on Sunday is Monday in Auckland
		h.put(ada, s)
		for _, p := range h.kept(adaID).Periods {
			for _, d := range p.Sessions {
				if d.Session == s.ID && d.Week.String() != want {
					t.Errorf("in %q the session counts in the week of %v, want %s", zone, d.Week, want)
				}
			}
		}
	}
	if got := must(h.s.Get(ctx, ada, "s"))(t).Session.TimeZone; got != "Europe/Lisbon" {
		t.Errorf("a session without a zone is read in %q, want the student's Europe/Lisbon", got)
	}
}
