package practice_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// TestEffortCounts: both sides of each bound of the rule. The rule is our own.
func TestEffortCounts(t *testing.T) {
	for _, c := range []struct {
		what   string
		effort practice.Effort
		want   bool
	}{
		{"nothing", practice.Effort{Planned: 3600}, false},
		{"half the balls of an hour", practice.Effort{Balls: 30, Planned: 3600}, true},
		{"one less", practice.Effort{Balls: 29, Planned: 3600}, false},
		{"half of the time", practice.Effort{Balls: 10, Seconds: 1800, Planned: 3600}, true},
		{"a second less", practice.Effort{Balls: 10, Seconds: 1799, Planned: 3600}, false},
		{"all of the time with nine balls", practice.Effort{Balls: 9, Seconds: 3600, Planned: 3600}, false},
		{"ten balls of twenty minutes", practice.Effort{Balls: 10, Planned: 1200}, true},
		{"nine balls of twenty minutes", practice.Effort{Balls: 9, Seconds: 1200, Planned: 1200}, false},
		{"nine balls of seventeen minutes", practice.Effort{Balls: 9, Planned: 17 * 60}, true},
		{"eight balls of seventeen minutes", practice.Effort{Balls: 8, Seconds: 17 * 60, Planned: 17 * 60}, false},
		{"eight balls of sixteen minutes", practice.Effort{Balls: 8, Planned: 16 * 60}, true},
		{"three balls of five minutes", practice.Effort{Balls: 3, Planned: 300}, true},
		{"two balls of five minutes", practice.Effort{Balls: 2, Seconds: 300, Planned: 300}, false},
		{"eighteen places of an hour played out", practice.Effort{Balls: 18, Planned: 3600, PlayedOut: 3600}, true},
		{"seventeen", practice.Effort{Balls: 17, Planned: 3600, PlayedOut: 3600}, false},
		{"ten balls without a plan to compare with", practice.Effort{Balls: 10}, true},
		{"nine balls without one", practice.Effort{Balls: 9, Seconds: 9000}, false},
	} {
		if got := c.effort.Counts(); got != c.want {
			t.Errorf("%s: got %v", c.what, got)
		}
	}
}

// TestCounting: a session by the plan counts from the revision on that has
// enough, and tells the student why as long as it does not.
func TestCounting(t *testing.T) {
	h := open(t)
	revision := 0
	put := func(what string, week int, ended, counts bool, notice string, blocks ...practice.Block) {
		t.Helper()
		revision++
		s := session("s", revision, blocks...)
		s.Assignment, s.Week, s.Plan = h.work, week, 1
		if !ended {
			s.EndedAt = time.Time{}
		}
		out := h.put(ada, s)
		stored := must(h.s.Get(ctx, coach, "s"))(t)
		listed := must(h.s.List(ctx, ada, practice.SessionFilter{Student: adaID, Limit: 9}))(t)[0]
		if out.Session.Counts() != counts || stored.Session.Counts() != counts || listed.Counts() != counts {
			t.Errorf("%s: counts %v, read %v, listed %v", what, out.Session.Counts(), stored.Session.Counts(), listed.Counts())
		}
		var want []practice.Notice
		if week == 3 {
			want = []practice.Notice{{Code: "plan_missing", Detail: "Version 1 of the programme has no plan 1 with these blocks in week 3, so the time is not compared with a plan."}}
		}
		if notice != "" {
			want = append(want, practice.Notice{Code: "not_counted", Detail: notice})
		}
		for _, got := range [][]practice.Notice{out.Notices, stored.Notices} {
			if !slices.Equal(got, want) {
				t.Errorf("%s: told %+v\nwant %+v", what, got, want)
			}
		}
		sessions := 0
		for _, c := range h.kept(adaID).Counts {
			sessions += c.Sessions
		}
		if counts != (sessions == 1) || sessions > 1 {
			t.Errorf("%s: %d sessions are counted", what, sessions)
		}
		if _, found := h.rebuild(false); found != nil {
			t.Errorf("%s: a rebuild finds %v", what, found)
		}
	}
	quick := func(balls string, seconds int) practice.Block {
		b := block(curriculum.Test, h.pitch, balls)
		b.PlanBlock, b.Seconds = 4, seconds
		return b
	}
	card := quick("", 0)
	card.Attested = &progress.Attested{Balls: 30, Inside: 12}
	short := card
	short.Attested = &progress.Attested{Balls: 29, Inside: 12}
	const rule = " That takes half of the balls or half of the minutes, and at least 10 balls."

	put("opened", 1, false, false, "So far 0 of about 60 balls and 0 of 60 minutes: it does not count yet as one of the week's sessions."+rule)
	put("under way", 1, false, false, "So far 12 of about 60 balls and 6 of 60 minutes: it does not count yet as one of the week's sessions."+rule, quick(strings.Repeat("i", 12), 419))
	put("far enough, though it goes on", 1, false, true, "", quick(strings.Repeat("i", 12), 1800))
	put("ended too early after all", 1, true, false, "12 of about 60 balls and 6 of 60 minutes: it does not count as one of the week's sessions."+rule, quick(strings.Repeat("i", 12), 360))
	put("left open", 1, true, false, "9 of about 60 balls and 60 of 60 minutes: it does not count as one of the week's sessions."+rule, quick(strings.Repeat("i", 9), 3600))
	put("a card", 1, true, true, "", card)
	put("a card with less", 1, true, false, "29 of about 60 balls and 0 of 60 minutes: it does not count as one of the week's sessions."+rule, short)
	put("without blocks", 1, true, false, "0 of about 60 balls and 0 of 60 minutes: it does not count as one of the week's sessions."+rule)
	own := block(curriculum.Test, h.pitch, "i")
	put("one ball of a week that there is not", 3, true, false, "1 ball: it does not count as one of the week's sessions, which takes at least 10 balls.", own)
	own.Balls = balls("iiiiiiiiii")
	put("ten of them", 3, true, true, "", own)
	if err := h.s.Delete(ctx, ada, "s", "", 99); err != nil {
		t.Fatal(err)
	}
	if k := h.kept(adaID); len(k.Counts)+len(k.Counting) != 0 {
		t.Errorf("deleted: kept %+v", k)
	}
	alone := session("alone", 1, card)
	alone.Blocks[0].PlanBlock = 0
	if out := h.put(ada, alone); out.Session.Counts() || out.Notices != nil {
		t.Errorf("practice of one's own: %v, %+v, want it to count toward nothing and no word of it", out.Session.Counts(), out.Notices)
	}
}

// TestNotInARow: who strikes balls only where none count in a row is told so, of
// each skill whose next step is open.
func TestNotInARow(t *testing.T) {
	h := open(t)
	random, test := block(curriculum.Random, h.pitch, "iioo"), block(curriculum.Test, h.pitch, "i")
	card := block(curriculum.Random, h.pitch, "")
	card.Attested = &progress.Attested{Balls: 12}
	chips := block(curriculum.Stations, h.chip, "i")
	told := func(of string, blocks ...practice.Block) (all []string) {
		t.Helper()
		for _, n := range h.put(ada, session(domain.ID(of), 1, blocks...)).Notices {
			if n.Code == "not_in_a_row" {
				all = append(all, n.Detail)
			}
		}
		if err := h.s.Delete(ctx, ada, domain.ID(of), "", 2); err != nil {
			t.Fatal(err)
		}
		return all
	}
	const pitches = "Blocks 1 (Random), 3 (Random) and 4 (Random) do not count for the step or the rate; warm-up and test do."
	got := told("random", random, chips, random, random, card)
	if len(got) != 2 || got[0] != pitches || got[1] != "Block 2 (Stations) does not count for the step or the rate; warm-up and test do." {
		t.Errorf("random practice and stations: told %q", got)
	}
	far := block(curriculum.Test, h.pitch, "ii") // which says nothing, for another reason
	far.Radius = 4 * domain.Metre
	for what, blocks := range map[string][]practice.Block{"with a test": {random, test}, "a card": {card}, "a test in another circle": {random, far}} {
		if got := told(what, blocks...); got != nil {
			t.Errorf("%s: told %q", what, got)
		}
	}
	tests := openWith(t, streak.Ladder{Tiers: []streak.Tier{{Run: 4, Radius: ft5}}, TestOnly: true})
	technique := block(curriculum.Technique, tests.pitch, "ii")
	taught := openWith(t, streak.Ladder{Tiers: []streak.Tier{{Run: 4, Radius: ft5}}, Technique: true})
	if out := taught.put(ada, session("s", 1, block(curriculum.Random, taught.pitch, "ii"))); len(out.Notices) != 1 || !strings.HasSuffix(out.Notices[0].Detail, "warm-up, technique and test do.") {
		t.Errorf("a ladder of technique, too: told %+v", out.Notices)
	}
	if out := tests.put(ada, session("s", 1, technique)); len(out.Notices) != 1 || !strings.HasSuffix(out.Notices[0].Detail, "; a test does.") {
		t.Errorf("a ladder of tests alone: told %+v", out.Notices)
	}
}
