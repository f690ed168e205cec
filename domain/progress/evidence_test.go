package progress

import (
	"reflect"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/streak"
)

var monday = domain.Date{Year: 2026, Month: time.May, Day: 4}

// TestEvidence: what is handed over to be assessed, result by result.
func TestEvidence(t *testing.T) {
	four, eight, old := streak.Tier{Run: 4, Radius: 2 * domain.Metre}, streak.Tier{Run: 8, Radius: 2 * domain.Metre}, streak.Tier{Run: 2, Radius: domain.Metre}
	here := func(balls, inside, holed int) []estimate.Circle {
		return []estimate.Circle{{Radius: eight.Radius, Balls: balls, Inside: inside, Holed: holed}}
	}
	elsewhere := estimate.Circle{Radius: old.Radius, Balls: 5, Inside: 3, Holed: 1}
	s := State{
		Ladder: streak.Ladder{Tiers: []streak.Tier{four, eight}}, Held: 1,
		Tiers: []TierRecord{{Tier: old, First: &Hit{Session: "c"}}, {Tier: four, First: &Hit{Session: "b"}}, {Tier: eight}},
	}
	recent := []TierResult{
		{Session: "a", Day: monday, Chances: 13, Circles: here(20, 12, 2)},
		{Session: "b", Day: monday.AddDays(3), Chances: 3, Circles: here(7, 6, 1), Leaves: estimate.Circle{Radius: eight.Radius, Balls: 3, Inside: 3}},
		{Session: "c", Day: monday.AddDays(2), Chances: 9, Circles: here(16, 8, 0)}, // flown west
		{Session: "d", Day: monday.AddDays(8), Circles: []estimate.Circle{elsewhere}, Judged: 3, Unmeasured: 2},
	}
	for i := range recent {
		recent[i].Tier = eight
	}
	e := s.evidence(recent)
	want := []estimate.Observation{
		{Day: 0, Balls: 20, Inside: 12, Holed: 2},
		{Day: 3, Balls: 10, Inside: 9, Holed: 1, Milestone: true},
		{Day: 3, Balls: 16, Inside: 8}, // its tier is of an earlier ladder
		{Day: 8, Elsewhere: []estimate.Circle{elsewhere}},
	}
	if e.Origin != monday || e.Radius != eight.Radius || !reflect.DeepEqual(e.Sessions, want) {
		t.Errorf("got %+v from %v on, want %+v from %v on", e.Sessions, e.Origin, want, monday)
	}
	// 25 chances in four sessions are 6.25 each: a test has 8 − 1 + 6 balls.
	if e.Tier == nil || *e.Tier != eight || e.BallsPerTest != 13 {
		t.Errorf("got a test of %d balls for %v, want 13 for %v", e.BallsPerTest, e.Tier, eight)
	}
	for _, c := range []struct{ chances, want int }{
		{0, 7}, {1, 7}, {2, 8}, {5, 8}, {6, 9}, // half a chance is rounded up
	} {
		some := []TierResult{{Day: monday, Chances: c.chances}, {Day: monday}, {Day: monday}, {Day: monday}}
		if got := s.evidence(some).BallsPerTest; got != c.want {
			t.Errorf("%d chances in four sessions: got a test of %d balls, want %d", c.chances, got, c.want)
		}
	}
	s.Held = 2
	if e := s.evidence(recent); e.Tier != nil || e.BallsPerTest != 0 {
		t.Errorf("finished: got a test of %d balls for %v, want none", e.BallsPerTest, e.Tier)
	}
}

// TestLastWeek: the latest week is told by the date where the student was, the
// latest session by its start.
func TestLastWeek(t *testing.T) {
	start := time.Date(2026, time.May, 11, 0, 0, 0, 0, time.UTC) // a Monday
	before, now := monday, monday.AddDays(7)
	of := func(id domain.ID, hours float64, week domain.Date, balls int) SessionSummary {
		return SessionSummary{Session: id, StartedAt: start.Add(time.Duration(hours * float64(time.Hour))), Week: week, Tally: Tally{Sessions: 1, Balls: balls}}
	}
	for _, c := range []struct {
		why      string
		sessions []SessionSummary
		week     domain.Date
		tally    Tally
		last     float64
	}{
		{"two in the latest week, in order", []SessionSummary{of("a", -9, before, 1), of("b", 1, now, 2), of("c", 30, now, 4)}, now, Tally{Sessions: 2, Balls: 6}, 30},
		{"flown west over the end of the week", []SessionSummary{of("a", -8, now, 1), of("b", -6, before, 2), of("c", -4, now, 4), of("d", -2, before, 8)}, now, Tally{Sessions: 2, Balls: 5}, -2},
		{"a long time before", []SessionSummary{of("a", -24*16, before.AddDays(-14), 1), of("b", 2, now, 2)}, now, Tally{Sessions: 1, Balls: 2}, 2},
	} {
		r := Record{Periods: periodsOf(c.sessions)}
		week, tally, last := r.lastWeek()
		if week != c.week || tally != c.tally || !last.Equal(start.Add(time.Duration(c.last*float64(time.Hour)))) {
			t.Errorf("%s: got %+v in the week of %v, the last at %v, want %+v in that of %v", c.why, tally, week, last, c.tally, c.week)
		}
	}
	if week, tally, last := (Record{}).lastWeek(); week != (domain.Date{}) || tally != (Tally{}) || !last.IsZero() {
		t.Errorf("no session: got %v, %+v, %v", week, tally, last)
	}
}

// TestOrderOfHits: by instant, then by session, block and ball; what one ball
// passed by student, skill and tier.
func TestOrderOfHits(t *testing.T) {
	at := time.Date(2026, time.May, 4, 10, 0, 0, 0, time.UTC)
	hit := func(session domain.ID, block, ball int, at time.Time) Hit {
		return Hit{Session: session, Block: block, Ball: ball, At: at}
	}
	one := hit("b", 2, 5, at)
	made := func(student, skill domain.ID, run int, h Hit) Milestone {
		return Milestone{Student: student, Skill: skill, Tier: streak.Tier{Run: run, Radius: domain.Metre}, Hit: h}
	}
	want := []Milestone{
		made("z", "z", 9, hit("z", 9, 9, at.Add(-time.Millisecond))),
		made("z", "z", 9, hit("a", 9, 9, at)),
		made("z", "z", 9, hit("b", 1, 9, at)),
		made("z", "z", 9, hit("b", 2, 4, at)),
		made("a", "z", 9, one),
		made("b", "c", 9, one),
		made("b", "d", 3, one),
		made("b", "d", 4, one),
		made("a", "a", 1, hit("a", 1, 1, at.Add(time.Millisecond))),
	}
	for i, a := range want {
		for j, b := range want {
			if got := a.Compare(b); got != sign(i-j) {
				t.Errorf("%+v against %+v: got %d, want %d", a, b, got, sign(i-j))
			}
		}
	}
}

func sign(n int) int { return min(1, max(-1, n)) }

// TestStateOf: milestones, the best run and the counts are read off the tiers.
func TestStateOf(t *testing.T) {
	at := time.Date(2026, time.May, 4, 10, 0, 0, 0, time.UTC)
	four, six, old := streak.Tier{Run: 4, Radius: domain.Metre}, streak.Tier{Run: 6, Radius: domain.Metre}, streak.Tier{Run: 9, Radius: domain.Metre}
	tiers := []TierRecord{
		{Tier: four, Best: streak.Run{Length: 5}, First: &Hit{Session: "b", Block: 1, Ball: 4, At: at}},
		{Tier: six, Best: streak.Run{Length: 6, Holed: 1}},
		{Tier: old, Best: streak.Run{Length: 8}, First: &Hit{Session: "c", Block: 1, Ball: 9, At: at.AddDate(0, 0, 5)}},
	}
	r := Record{Track: Track{Student: "ada", Skill: "pitch", Ladder: streak.Ladder{Tiers: []streak.Tier{four, six}}}}
	recent := []TierResult{
		{Day: monday, Tier: six, Circles: []estimate.Circle{{Radius: 5, Balls: 2, Inside: 1}, {Radius: six.Radius, Balls: 7, Inside: 3}}, Near: streak.Near{Runs: 1, Length: 4, Times: 1}},
		{Day: monday, Tier: six, Circles: []estimate.Circle{{Radius: six.Radius, Balls: 5, Inside: 4}, {Radius: 6, Balls: 3}, {Radius: 5, Balls: 2, Inside: 2, Holed: 1}}, Near: streak.Near{Runs: 2, Length: 5, Times: 1}},
	}
	s := r.derive(Tally{Balls: 99}, tiers, nil, nil, recent)
	if s.Held != 1 || s.Best() != (streak.Run{Length: 6, Holed: 1}) || s.Totals.Balls != 99 {
		t.Errorf("got %+v, want one tier held and the best of six in a row", s)
	}
	if !s.LastMilestoneAt.Equal(at) {
		t.Errorf("got the last milestone at %v, want the ladder's own at %v", s.LastMilestoneAt, at)
	}
	elsewhere := []estimate.Circle{{Radius: 5, Balls: 4, Inside: 3, Holed: 1}, {Radius: 6, Balls: 3}}
	if want := (RecentCounts{Sessions: 2, Judged: 12, Inside: 7, Elsewhere: elsewhere}); !reflect.DeepEqual(s.Recent, want) || s.Recent.Balls() != 19 {
		t.Errorf("got %+v, want %+v", s.Recent, want)
	}
	if want := (streak.Near{Runs: 3, Length: 5, Times: 1}); s.Near != want {
		t.Errorf("near: got %+v, want %+v", s.Near, want)
	}
	tiers[1].First = &Hit{Session: "d", Block: 1, Ball: 6, At: at.Add(time.Hour)}
	if s := r.derive(Tally{}, tiers, nil, nil, nil); s.Held != 2 || !s.LastMilestoneAt.Equal(at.Add(time.Hour)) || s.Recent.Sessions != 0 || s.Assessment.Rate != (estimate.Rate{}) {
		t.Errorf("got %+v, want both held, the later an hour after, and nothing assessed", s)
	}
	if got := (State{}).Best(); got != (streak.Run{}) {
		t.Errorf("no ladder: got a best run of %+v", got)
	}
}

// TestTestOnlyUntil: a ladder that became test-only still judges a warm-up that
// started before it did.
func TestTestOnlyUntil(t *testing.T) {
	at := time.Date(2026, time.May, 4, 10, 0, 0, 0, time.UTC)
	tier := JudgedTier{Tier: streak.Tier{Run: 4, Radius: domain.Metre}, OpenUntil: at}
	strict := Track{Ladder: streak.Ladder{Tiers: []streak.Tier{tier.Tier}, TestOnly: true}}
	for _, c := range []struct {
		kind    string
		started time.Time
		want    bool
	}{
		{"warmup", at.Add(-time.Millisecond), true}, {"warmup", at, false}, {"random", at.Add(-time.Millisecond), false},
		{"test", at, true}, {"test", at.Add(-time.Millisecond), true},
	} {
		if got := strict.countsIn(tier, c.kind, c.started); got != c.want {
			t.Errorf("%s from %v on: counts %v, want %v", c.kind, c.started, got, c.want)
		}
	}
}

// TestMilestonesOfOneBall: which of the tiers that one ball passed comes first
// is told by the tier.
func TestMilestonesOfOneBall(t *testing.T) {
	at := time.Date(2026, time.May, 4, 10, 0, 0, 0, time.UTC)
	h := &Hit{Session: "a", Block: 1, Ball: 4, At: at}
	wide, tight := streak.Tier{Run: 4, Radius: 2 * domain.Metre}, streak.Tier{Run: 4, Radius: domain.Metre}
	s := State{Student: "ada", Skill: "pitch", Tiers: []TierRecord{{Tier: tight, First: h}, {Tier: wide, First: h}, {Tier: streak.Tier{Run: 5}}}}
	made := s.Milestones()
	if len(made) != 2 || made[0].Tier != wide || made[1].Tier != tight || made[0].Student != "ada" || made[0].Skill != "pitch" || made[0].Hit != *h {
		t.Errorf("got %+v, want the wider circle, then the closer", made)
	}
}

// TestWhatIsSeen: a ball without a leave belongs to the circle it was judged in,
// however it came out; one with a leave to every circle.
func TestWhatIsSeen(t *testing.T) {
	three, five := 3*domain.Foot, 5*domain.Foot
	track := Track{Ladder: streak.Ladder{Tiers: []streak.Tier{{Run: 4, Radius: five}, {Run: 4, Radius: three}}}}
	for _, tier := range track.Ladder.Tiers {
		track.Judged = append(track.Judged, JudgedTier{Tier: tier})
	}
	at := func(b streak.Ball, leave float64) streak.Ball {
		b.Measured, b.Leave = true, domain.Length(leave*float64(domain.Foot))
		return b
	}
	in, out, holed := streak.Ball{Outcome: streak.In, Radius: five}, streak.Ball{Radius: five}, streak.Ball{Outcome: streak.Holed, Radius: five}
	s := track.Summarise(Play{Session: "a", Blocks: []PlayedBlock{{
		Kind: "test", Balls: []streak.Ball{in, out, holed, in, {Outcome: streak.In, Radius: three}, at(in, 4), at(in, 2), at(out, 9)},
		StruckAt: func(int) time.Time { return time.Time{} },
	}}})
	measured := []estimate.Circle{{Radius: five, Balls: 3, Inside: 2}, {Radius: three, Balls: 3, Inside: 1}}
	circles := []estimate.Circle{{Radius: five, Balls: 4, Inside: 3, Holed: 1}, {Radius: three, Balls: 1, Inside: 1}}
	want := []estimate.Observation{
		{Balls: 7, Inside: 5, Holed: 1, Elsewhere: circles[1:], Measured: measured},
		{Balls: 4, Inside: 2, Elsewhere: circles[:1], Measured: measured},
	}
	r := Record{Track: track, Periods: periodsOf([]SessionSummary{s})}
	for i, w := range want {
		if got := Observations(r.lastResults(i, 9)); len(got) != 1 || !reflect.DeepEqual(got[0], w) {
			t.Errorf("inside %v: got %+v, want %+v", track.Judged[i].Radius, got, w)
		}
	}
	if alone := (SessionSummary{Results: s.Results[:1]}).scatter(); alone != nil {
		t.Errorf("leaves in one circle alone: %+v, want nothing of a shape", alone)
	}
}

// TestEvidenceOfMeasurements: who was only measured is taken to have a usual test to come.
func TestEvidenceOfMeasurements(t *testing.T) {
	five := streak.Tier{Run: 5, Radius: 2 * domain.Metre}
	s := State{Ladder: streak.Ladder{Tiers: []streak.Tier{five}}, Totals: Tally{Balls: 30}}
	s.Parts = []Part{{Circle: estimate.Circle{Balls: 20}}}
	s.Retests = []Retest{{RetestBalls: RetestBalls{Retest: estimate.Retest{Balls: 10, Inside: 10}}}}
	recent := []TierResult{{Day: monday, Tier: five}}
	if got := s.evidence(recent).BallsPerTest; got != TestBalls {
		t.Errorf("only measured: got a test of %d balls, want %d", got, TestBalls)
	}
	s.Totals.Balls++
	if got := s.evidence(recent).BallsPerTest; got != five.Run-1 {
		t.Errorf("one ball more: got a test of %d balls, want %d", got, five.Run-1)
	}
}
