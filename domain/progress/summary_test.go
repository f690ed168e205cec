package progress_test

import (
	"reflect"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

const (
	ft3 = 3 * domain.Foot
	ft5 = 5 * domain.Foot
)

var (
	day1  = time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC) // a Monday
	nine  = streak.Tier{Run: 9, Radius: ft5}
	three = streak.Tier{Run: 3, Radius: ft5}
	tight = streak.Tier{Run: 3, Radius: ft3}
)

// balls reads outcomes judged at a radius: "o" out, "i" in, "h" holed, and in
// left two feet away "2".
func balls(radius domain.Length, outcomes string) []streak.Ball {
	var all []streak.Ball
	for _, o := range outcomes {
		b := streak.Ball{Radius: radius}
		switch o {
		case 'i':
			b.Outcome = streak.In
		case 'h':
			b.Outcome = streak.Holed
		case '2':
			b.Outcome, b.Leave, b.Measured = streak.In, 2*domain.Foot, true
		}
		all = append(all, b)
	}
	return all
}

// play makes one session's play of blocks, ball j of block i struck after
// i·1000 + j seconds.
func play(session domain.ID, started time.Time, blocks ...progress.PlayedBlock) progress.Play {
	for i := range blocks {
		blocks[i].Position = i + 1
		blocks[i].StruckAt = func(ball int) time.Time {
			return started.Add(time.Duration(1000*i+ball) * time.Second)
		}
	}
	return progress.Play{Session: session, Skill: "pitch", StartedAt: started, Day: domain.DateOf(started, time.UTC), Blocks: blocks}
}

func block(kind, outcomes string) progress.PlayedBlock {
	return progress.PlayedBlock{Kind: kind, Seconds: 60, Balls: balls(ft5, outcomes)}
}

// track judges by a ladder assigned long ago.
func track(l streak.Ladder) progress.Track {
	t, _ := progress.Track{Student: "ada", Skill: "pitch"}.Assigned(l, day1.AddDate(-1, 0, 0))
	return t
}

func ladder(tiers ...streak.Tier) streak.Ladder { return streak.Ladder{Tiers: tiers} }

func TestSummaryCounts(t *testing.T) {
	card := progress.PlayedBlock{Kind: "test", Seconds: 600, Attested: progress.Attested{Balls: 50, Inside: 40, Holed: 5, BestRun: 12}}
	p := play("s", day1, block("warmup", "iiohi"), block("random", "ooh"), card)
	d := track(ladder(three, nine)).Summarise(p)
	want := progress.Tally{Sessions: 1, Balls: 8, Inside: 5, Holed: 2, Seconds: 720, AttestedBalls: 50, AttestedInside: 40, AttestedHoled: 5}
	if d.Tally != want {
		t.Errorf("got %+v, want %+v: the card's counts apart", d.Tally, want)
	}
	if d.Session != "s" || d.Skill != "pitch" || !d.StartedAt.Equal(day1) || d.Week != domain.DateOf(day1, time.UTC) {
		t.Errorf("got %+v, want it in the week of the Monday it started on", d)
	}
	// The random block is not on one spot, and a card has no balls: the
	// results are of the five balls of the warm-up, in which a run of three
	// could have ended at ball 3, 4 or 5.
	wantResult := progress.TierResult{Session: "s", StartedAt: day1, Day: d.Week, Tier: three, Judged: 5, Inside: 4, Holed: 1,
		Circles: []estimate.Circle{{Radius: ft5, Balls: 5, Inside: 4, Holed: 1}}, Best: streak.Run{Length: 2, Holed: 1}, Near: streak.Near{Runs: 2, Length: 2, Times: 2, Holed: 1}, Chances: 3}
	if !reflect.DeepEqual(d.Results[0], wantResult) {
		t.Errorf("result:\ngot  %+v\nwant %+v", d.Results[0], wantResult)
	}
	if r := d.Results[1]; r.Tier != nine || r.Chances != 0 || r.Passed != nil {
		t.Errorf("got %+v, want no chance of nine among five balls", r)
	}
}

func TestSummaryRuns(t *testing.T) {
	testOnly := streak.Ladder{Tiers: []streak.Tier{three}, TestOnly: true}
	for _, c := range []struct {
		why    string
		ladder streak.Ladder
		tier   int
		blocks []progress.PlayedBlock
		// block and ball that make the tier, 0 when it is not made
		block, ball int
	}{
		{"a run ends with its block", ladder(three), 0, []progress.PlayedBlock{block("test", "oii"), block("test", "iio")}, 0, 0},
		{"the second block makes it by itself", ladder(three), 0, []progress.PlayedBlock{block("test", "oii"), block("test", "oiii")}, 2, 4},
		{"the first of two hits", ladder(three), 0, []progress.PlayedBlock{block("warmup", "iiiiii"), block("test", "iii")}, 1, 3},
		{"a warm-up counts", ladder(three), 0, []progress.PlayedBlock{block("warmup", "iii")}, 1, 3},
		{"technique is not tested", ladder(three), 0, []progress.PlayedBlock{block("technique", "hhh")}, 0, 0},
		{"technique counts where the skill says so", streak.Ladder{Tiers: []streak.Tier{three}, Technique: true}, 0, []progress.PlayedBlock{block("technique", "hhh")}, 1, 3},
		{"stations do not", ladder(three), 0, []progress.PlayedBlock{block("stations", "iii")}, 0, 0},
		{"places played out do not", ladder(three), 0, []progress.PlayedBlock{block("playout", "hhh")}, 0, 0},
		{"random does not", ladder(three), 0, []progress.PlayedBlock{block("random", "iii")}, 0, 0},
		{"test-only: no warm-up", testOnly, 0, []progress.PlayedBlock{block("warmup", "iii"), block("technique", "iii")}, 0, 0},
		{"test-only: the test", testOnly, 0, []progress.PlayedBlock{block("warmup", "iii"), block("test", "iii")}, 2, 3},
		{"judged at five feet without leaves says nothing of three", ladder(tight), 0, []progress.PlayedBlock{block("test", "iiiiii")}, 0, 0},
		{"left two feet away counts for three feet", ladder(tight), 0, []progress.PlayedBlock{block("test", "22i222")}, 1, 6},
		{"holed is in at any radius", ladder(tight), 0, []progress.PlayedBlock{block("test", "2h2")}, 1, 3},
	} {
		r := track(c.ladder).Summarise(play("s", day1, c.blocks...)).Results[c.tier]
		if (r.Passed == nil) != (c.block == 0) {
			t.Errorf("%s: passed %+v, want block %d ball %d", c.why, r.Passed, c.block, c.ball)
			continue
		}
		if r.Passed == nil {
			continue
		}
		at := day1.Add(time.Duration(1000*(c.block-1)+c.ball-1) * time.Second)
		if want := (progress.Hit{Session: "s", Block: c.block, Ball: c.ball, At: at}); *r.Passed != want {
			t.Errorf("%s: got %+v, want %+v", c.why, *r.Passed, want)
		}
	}
}

// TestSummaryOfMeasurement: a test of fixed length, and any block of another version
// of a plan, says how good a student is, and passes nothing.
func TestSummaryOfMeasurement(t *testing.T) {
	measured, otherDay := block("test", "iiioo"), block("test", "iiioo")
	measured.Purpose = curriculum.EndTest
	otherDay.OtherDay = true
	for _, b := range []progress.PlayedBlock{measured, otherDay} {
		r := track(ladder(three)).Summarise(play("s", day1, b)).Results[0]
		if r.Passed != nil || r.Best != (streak.Run{}) || r.Chances != 0 || r.Near.Runs != 0 {
			t.Errorf("got %+v, want no run of it", r)
		}
		if r.Judged != 5 || r.Inside != 3 || r.Observation().Balls != 5 {
			t.Errorf("got %+v, want 3 of 5 inside, for the rate", r)
		}
	}
}

// TestSummaryOffTheGreen: balls and time are counted, and nothing is judged; how
// balls miss on a mat says nothing of how they miss on grass.
func TestSummaryOffTheGreen(t *testing.T) {
	b := block("test", "iiio")
	b.Misses = progress.Misses{Short: 1}
	p := play("s", day1, b)
	p.OffGreen = true
	got := track(ladder(three)).Summarise(p)
	if want := (progress.Tally{Sessions: 1, Balls: 4, Inside: 3, Seconds: 60}); got.Tally != want {
		t.Errorf("got %+v, want %+v", got.Tally, want)
	}
	if r := got.Results[0]; r.Passed != nil || r.Judged != 0 || r.Observation().Balls != 0 {
		t.Errorf("got %+v, want nothing judged", r)
	}
}

// TestSummaryUnmeasured: a ball that says nothing ends the run and is counted
// apart.
func TestSummaryUnmeasured(t *testing.T) {
	r := track(ladder(tight)).Summarise(play("s", day1, block("test", "22i2o"))).Results[0]
	if r.Judged != 4 || r.Inside != 3 || r.Unmeasured != 1 || r.Best.Length != 2 {
		t.Errorf("got %+v, want 3 inside of 4 judged, 1 unmeasured, best 2", r)
	}
}

// TestHitsGoByBlock: within a session the order of blocks decides, even when a
// phone's clock says otherwise.
func TestHitsGoByBlock(t *testing.T) {
	p := play("s", day1, block("test", "iii"), block("test", "iii"))
	p.Blocks[0].StruckAt = func(int) time.Time { return day1.Add(time.Hour) }
	p.Blocks[1].StruckAt = func(int) time.Time { return day1 }
	if r := track(ladder(three)).Summarise(p).Results[0]; r.Passed.Block != 1 {
		t.Errorf("got %+v, want the first block's", *r.Passed)
	}
}
