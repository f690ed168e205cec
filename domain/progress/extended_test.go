package progress

import (
	"reflect"
	"slices"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/streak"
)

// TestExtended: what is kept of a tier after one session changed, when only its
// record and that session are at hand.
func TestExtended(t *testing.T) {
	tier := streak.Tier{Run: 4, Radius: domain.Metre}
	tr := Track{Judged: []JudgedTier{{Tier: tier}}}
	noon := time.Date(2026, time.May, 4, 12, 0, 0, 0, time.UTC)
	hit := func(session domain.ID, minute int) *Hit {
		return &Hit{Session: session, Block: 1, Ball: 4, At: noon.Add(time.Duration(minute) * time.Minute)}
	}
	says := func(length, holed int, passed *Hit) *SessionSummary {
		return &SessionSummary{Session: "s", Results: []TierResult{{Tier: tier, Best: streak.Run{Length: length, Holed: holed}, Passed: passed}}}
	}
	kept := func(length, holed int, first *Hit) []TierRecord {
		return []TierRecord{{Tier: tier, Best: streak.Run{Length: length, Holed: holed}, First: first}}
	}
	for _, c := range []struct {
		why       string
		record    []TierRecord
		old, next *SessionSummary
		want      []TierRecord // nil when the whole record is needed
	}{
		{"a first session", nil, nil, says(3, 1, nil), kept(3, 1, nil)},
		{"a new session with less", kept(5, 1, hit("x", 0)), nil, says(4, 4, hit("s", 9)), kept(5, 1, hit("x", 0))},
		{"a new session with more", kept(5, 1, nil), nil, says(6, 0, hit("s", 9)), kept(6, 0, hit("s", 9))},
		{"as long with more holed", kept(5, 1, hit("x", 0)), nil, says(5, 2, nil), kept(5, 2, hit("x", 0))},
		{"as long with fewer holed", kept(5, 1, hit("x", 0)), nil, says(5, 0, nil), kept(5, 1, hit("x", 0))},
		{"one that arrives late and passed before", kept(5, 1, hit("x", 10)), nil, says(4, 0, hit("s", 9)), kept(5, 1, hit("s", 9))},
		{"at the same instant, in order of identity", kept(5, 1, hit("x", 9)), nil, says(4, 0, hit("s", 9)), kept(5, 1, hit("s", 9))},
		{"at the same instant, the other way", kept(5, 1, hit("a", 9)), nil, says(4, 0, hit("s", 9)), kept(5, 1, hit("a", 9))},

		{"unchanged", kept(5, 1, hit("s", 9)), says(5, 1, hit("s", 9)), says(5, 1, hit("s", 9)), kept(5, 1, hit("s", 9))},
		{"the best given up", kept(5, 1, hit("x", 0)), says(5, 1, nil), says(4, 1, nil), nil},
		{"a holed ball of the best given up", kept(5, 1, hit("x", 0)), says(5, 1, nil), says(5, 0, nil), nil},
		{"the best grows", kept(5, 1, hit("x", 0)), says(5, 1, nil), says(6, 0, nil), kept(6, 0, hit("x", 0))},
		{"the best with a ball more holed", kept(5, 1, hit("x", 0)), says(5, 1, nil), says(5, 2, nil), kept(5, 2, hit("x", 0))},
		{"deleted with the best", kept(5, 1, hit("x", 0)), says(5, 1, nil), nil, nil},
		{"deleted with less than the best", kept(5, 1, hit("x", 0)), says(4, 1, hit("s", 9)), nil, kept(5, 1, hit("x", 0))},
		{"less than the best becomes still less", kept(5, 1, hit("x", 0)), says(4, 1, nil), says(2, 0, nil), kept(5, 1, hit("x", 0))},
		{"less than the best, of a tier nobody passed", kept(3, 1, nil), says(2, 1, nil), says(1, 0, nil), kept(3, 1, nil)},

		{"the first pass given up", kept(9, 0, hit("s", 9)), says(4, 0, hit("s", 9)), says(3, 0, nil), nil},
		{"deleted with the first pass", kept(9, 0, hit("s", 9)), says(4, 0, hit("s", 9)), nil, nil},
		{"the first pass moved back", kept(9, 0, hit("s", 9)), says(4, 0, hit("s", 9)), says(4, 0, hit("s", 10)), nil},
		{"the first pass moved forward", kept(9, 0, hit("s", 9)), says(4, 0, hit("s", 9)), says(4, 0, hit("s", 8)), kept(9, 0, hit("s", 8))},
		{"the first pass left where it was", kept(9, 0, hit("s", 9)), says(4, 0, hit("s", 9)), says(5, 0, hit("s", 9)), kept(9, 0, hit("s", 9))},
		{"another's first pass is overtaken", kept(9, 0, hit("x", 9)), says(4, 0, hit("s", 10)), says(4, 0, hit("s", 8)), kept(9, 0, hit("s", 8))},
		{"another's first pass stands", kept(9, 0, hit("x", 9)), says(4, 0, hit("s", 10)), says(4, 0, nil), kept(9, 0, hit("x", 9))},
	} {
		before := slices.Clone(c.record)
		got, ok := extended(tr, c.record, c.old, c.next)
		if ok != (c.want != nil) || !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: got %+v, %v, want %+v", c.why, got, ok, c.want)
		}
		if !reflect.DeepEqual(c.record, before) {
			t.Errorf("%s: the record that was given changed", c.why)
		}
	}
	// One tier of two that gives something up is enough.
	two := Track{Judged: []JudgedTier{{Tier: tier}, {Tier: streak.Tier{Run: 5, Radius: domain.Metre}}}}
	both := func(s *SessionSummary, length int) *SessionSummary {
		s.Results = append(s.Results, TierResult{Best: streak.Run{Length: length}})
		return s
	}
	records := append(kept(9, 0, nil), kept(4, 0, nil)...)
	if got, ok := extended(two, records, both(says(3, 0, nil), 4), both(says(3, 0, nil), 3)); ok || got != nil {
		t.Errorf("the second tier's best given up: got %+v, %v", got, ok)
	}
}

// TestWithoutALadderNoTiers: nothing is kept of tiers where there are none.
func TestWithoutALadderNoTiers(t *testing.T) {
	if s := Recompute(Track{}, nil).State; s.Tiers != nil {
		t.Errorf("got %#v", s.Tiers)
	}
	if got, ok := extended(Track{}, nil, nil, &SessionSummary{}); !ok || got != nil {
		t.Errorf("extended: got %#v, %v", got, ok)
	}
}

// TestWeeksInOrder of their Mondays, whatever order they are counted in.
func TestWeeksInOrder(t *testing.T) {
	var p Period
	for i := range 12 {
		p.Sessions = append(p.Sessions, SessionSummary{Week: monday.AddDays(7 * (i * 5 % 12)), Tally: Tally{Sessions: 1}})
	}
	for i, w := range (Record{Periods: []Period{p}}).Weeks() {
		if w.Week != monday.AddDays(7*i) || w.Tally != (Tally{Sessions: 1}) {
			t.Errorf("week %d: got %+v", i, w)
		}
	}
}

// TestOneSessionIsAssessed: one result is enough for a rate, none are not.
func TestOneSessionIsAssessed(t *testing.T) {
	r := Record{Track: Track{Ladder: streak.Ladder{Tiers: []streak.Tier{{Run: 4, Radius: domain.Metre}}}}}
	if got := r.derive(Tally{}, nil, nil, nil, []TierResult{{Day: monday, Tier: streak.Tier{Run: 4, Radius: domain.Metre}, Circles: []estimate.Circle{{Radius: domain.Metre, Balls: 10, Inside: 6}}}}).Assessment.Rate; got.A != 6.5 || got.B != 4.5 {
		t.Errorf("6 of 10: got %+v, want Beta(6.5, 4.5)", got)
	}
	if got := r.derive(Tally{}, nil, nil, nil, nil).Assessment.Rate; got != (estimate.Rate{}) {
		t.Errorf("no result: got %+v", got)
	}
}
