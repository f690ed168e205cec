// Package practice is what a student does on the green: sessions of blocks of
// balls, stored whole with a rising revision.
package practice

import (
	"crypto/sha256"
	"encoding/binary"
	"hash"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/greenside"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// Session is what a student did, whole, as one revision of it says.
type Session struct {
	// ID is made by the client, a UUIDv7.
	ID      domain.ID
	Student domain.ID
	// Assignment, Week and Plan say which plan was followed; the latter two are
	// 1-based. All are empty for practice of one's own.
	Assignment domain.ID
	Week       int
	Plan       int
	// Version is the programme's version that was followed. Without one it is
	// filled in with what the assignment pins when the session is stored, which
	// depends on when that is; a phone knows better.
	Version int
	// TimeZone is the IANA name that the session's practice week is counted in.
	TimeZone  string
	StartedAt time.Time
	// EndedAt is zero while the session goes on.
	EndedAt time.Time
	// Note is the student's own.
	Note   string
	Blocks []Block
	// Surface is what was played on; empty is a green.
	Surface curriculum.Surface
	// Variant is which version of the plan was played; empty is the plan itself.
	Variant curriculum.Variant
	// Match is the match whose cards were played, if any.
	Match domain.ID
	// Green is how the student found the green; zero when they did not say.
	Green greenside.Green
	// Landings are balls of which the student said where they landed and stopped;
	// they need a green.
	Landings []Landing
	// Missed is the time that the plan wanted for blocks that the session does
	// not have, by kind: what is still to do while it goes on. It is filled in
	// when stored.
	Missed []progress.KindTime

	// Revision is the client's, from 1; the highest one stands.
	Revision int
	// DeletedAt is when a deletion, which is a revision as well, was stored.
	DeletedAt time.Time
	// By is who uploaded the revision that stands.
	By         domain.ID
	ReceivedAt time.Time
}

// Deleted reports whether the revision that stands is a deletion.
func (s Session) Deleted() bool { return !s.DeletedAt.IsZero() }

// Block is one part of a session.
type Block struct {
	// PlanBlock is the 1-based block of the plan; 0 without one.
	PlanBlock int
	Kind      curriculum.BlockKind
	Skill     domain.ID
	// Purpose is what a test measures beside the steps, and Quiet says that the
	// phone showed neither the run nor the odds of it.
	Purpose curriculum.Purpose
	Quiet   bool
	// Radius is what Out and In were judged at.
	Radius domain.Length
	// Seconds really spent.
	Seconds int
	// Planned is what the plan wanted, in seconds; 0 without one, where the
	// plan's block is of another kind, and for all but the first block that does
	// the same block of the plan. It is filled in when the session is stored.
	Planned int
	Balls   []Ball
	// Attested are counts from a paper card instead of balls.
	Attested *progress.Attested
	// Counts are of Balls, filled in when a session is read; lists of sessions
	// come with the counts and without the balls.
	Counts BlockCounts
}

// BlockCounts counts recorded balls by the radius they were judged at. Inside
// includes Holed.
type BlockCounts struct {
	Balls  int
	Inside int
	Holed  int
}

// Ball is one shot.
type Ball struct {
	Outcome  streak.Outcome
	Leave    domain.Length
	Measured bool // whether Leave was taken
	// Miss and Contact are which way it missed and how it was struck, where the
	// student said so.
	Miss    Miss
	Contact Contact
	// Club, Lie and Distance are what was played, where the student said so.
	Club     string
	Lie      string
	Distance domain.Length
	// Strokes is how many it took until the ball was holed, this one included, in
	// play that goes on until then; 0 while it is not holed, and elsewhere.
	Strokes int
	// After is when the ball was struck, since the session's start; 0 when the
	// phone did not say. Whole milliseconds.
	After time.Duration
}

// Zone is the session's time zone; a name that the time zone database has lost
// since it was stored is read as UTC.
func (s Session) Zone() *time.Location {
	zone, err := domain.Zone(s.TimeZone)
	if err != nil {
		return time.UTC
	}
	return zone
}

// Until is when the session is taken to end: when it did or, while it goes on,
// when the time of its blocks is up.
func (s Session) Until() time.Time {
	end := s.EndedAt
	if end.IsZero() {
		seconds := 0
		for _, b := range s.Blocks {
			seconds += b.Seconds
		}
		end = s.StartedAt.Add(time.Duration(seconds) * time.Second)
	}
	if last := s.StartedAt.Add(MaxSession); end.After(last) {
		return last
	}
	return end
}

// count fills in the blocks' counts.
func (s *Session) count() {
	for i := range s.Blocks {
		s.Blocks[i].Counts = CountBalls(s.Blocks[i].Balls)
	}
}

// CountBalls counts balls.
func CountBalls(balls []Ball) BlockCounts {
	c := BlockCounts{Balls: len(balls)}
	for _, b := range balls {
		if b.Outcome != streak.Out {
			c.Inside++
		}
		if b.Outcome == streak.Holed {
			c.Holed++
		}
	}
	return c
}

// Day is the local date of the start.
func (s Session) Day() domain.Date { return domain.DateOf(s.StartedAt, s.Zone()) }

// StruckAt says when a ball was struck, both counted from 0: as the phone said
// or, without that, at its even share of its block's time, blocks following
// each other from the start, but between the balls around it that the phone
// spoke of.
func (s Session) StruckAt(block, ball int) time.Time {
	b := s.Blocks[block]
	if after := b.Balls[ball].After; after > 0 {
		return s.StartedAt.Add(after)
	}
	before := 0
	for _, earlier := range s.Blocks[:block] {
		before += earlier.Seconds
	}
	part := time.Duration(b.Seconds) * time.Second * time.Duration(ball+1) / time.Duration(len(b.Balls))
	after := s.between(block, ball, time.Duration(before)*time.Second+part)
	return s.StartedAt.Add(after).Truncate(time.Millisecond)
}

// between moves a guess at when a ball was struck to where the balls around it
// allow it to be.
func (s Session) between(block, ball int, guess time.Duration) time.Duration {
	for i, b := range s.Blocks {
		for j, x := range b.Balls {
			switch earlier := i < block || i == block && j < ball; {
			case x.After == 0:
			case earlier:
				guess = max(guess, x.After)
			default:
				return min(guess, x.After)
			}
		}
	}
	return guess
}

// Plays sorts the session by skill, in order of first use. A deleted session
// has none.
func (s Session) Plays() []progress.Play {
	if s.Deleted() {
		return nil
	}
	var plays []progress.Play
	at := map[domain.ID]int{}
	for i, b := range s.Blocks {
		j, ok := at[b.Skill]
		if !ok {
			j = len(plays)
			at[b.Skill] = j
			plays = append(plays, progress.Play{Session: s.ID, Skill: b.Skill, StartedAt: s.StartedAt, Day: s.Day(), OffGreen: s.Surface.Off()})
		}
		played := progress.PlayedBlock{
			Position: i + 1, PlanBlock: b.PlanBlock, Kind: string(b.Kind), Purpose: b.Purpose, OtherDay: s.Variant != "", Seconds: b.Seconds, Balls: b.judged(), Misses: b.misses(),
			StruckAt: func(ball int) time.Time { return s.StruckAt(i, ball) },
		}
		if b.Attested != nil {
			played.Attested = *b.Attested
		}
		plays[j].Blocks = append(plays[j].Blocks, played)
	}
	return plays
}

// judged gives the block's balls as a streak reads them.
func (b Block) judged() []streak.Ball {
	balls := make([]streak.Ball, len(b.Balls))
	for i, x := range b.Balls {
		balls[i] = streak.Ball{Outcome: x.Outcome, Radius: b.Radius, Leave: x.Leave, Measured: x.Measured}
	}
	return balls
}

// Time sums the session up as time. What is not done yet is not missed yet.
func (s Session) Time() progress.SessionTime {
	o := progress.SessionTime{Session: s.ID, StartedAt: s.StartedAt, Paces: s.paces()}
	for _, b := range s.Blocks {
		o.Times = addTime(o.Times, progress.KindTime{Kind: string(b.Kind), Planned: b.Planned, Spent: b.Seconds})
	}
	if s.EndedAt.IsZero() {
		return o
	}
	for _, missed := range s.Missed {
		o.Times = addTime(o.Times, missed)
	}
	return o
}

// addTime adds to the time of a kind of block, kinds in order of first use.
func addTime(times []progress.KindTime, more progress.KindTime) []progress.KindTime {
	i := slices.IndexFunc(times, func(t progress.KindTime) bool { return t.Kind == more.Kind })
	if i < 0 {
		return append(times, more)
	}
	times[i].Planned += more.Planned
	times[i].Spent += more.Spent
	return times
}

// asSent gives the session as a client can say it, sharing nothing with s:
// times in whole milliseconds, a green left out, and nothing that is filled in here.
func (s Session) asSent() Session {
	s.StartedAt, s.EndedAt = s.StartedAt.UTC().Truncate(time.Millisecond), s.EndedAt.UTC().Truncate(time.Millisecond)
	if s.Surface == curriculum.OnGreen {
		s.Surface = ""
	}
	s.Blocks, s.Landings, s.Missed = slices.Clone(s.Blocks), slices.Clone(s.Landings), nil
	for i := range s.Blocks {
		b := &s.Blocks[i]
		b.Planned, b.Counts, b.Balls = 0, BlockCounts{}, slices.Clone(b.Balls)
		for j := range b.Balls {
			b.Balls[j].After = b.Balls[j].After.Truncate(time.Millisecond)
		}
	}
	return s
}

// Fingerprint is a digest of what the client said, by which a replay of a
// revision is told from a conflict. What the server fills in is left out.
func (s Session) Fingerprint() [sha256.Size]byte {
	h := fingerprint{sha256.New()}
	h.text(string(s.ID), string(s.Student), string(s.Assignment), s.TimeZone, s.Note)
	h.number(int64(s.Week), int64(s.Plan), int64(s.Version), millis(s.StartedAt), millis(s.EndedAt), int64(s.Revision))
	// What could not be said in the past has no part in the digest of a session that
	// does not say it.
	otherwise := s.Surface != "" || s.Variant != "" || s.Match != ""
	h.number(flag(s.Deleted())|flag(otherwise)<<1, int64(len(s.Blocks)))
	if otherwise {
		h.text(string(s.Surface), string(s.Variant), string(s.Match))
	}
	for _, b := range s.Blocks {
		h.text(string(b.Kind), string(b.Skill))
		h.number(int64(b.PlanBlock), int64(b.Radius), int64(b.Seconds), int64(len(b.Balls)))
		for _, x := range b.Balls {
			h.text(x.Club, x.Lie)
			h.number(int64(x.Outcome)|flag(x.told())<<2|flag(x.Strokes != 0)<<3, int64(x.Leave), flag(x.Measured), int64(x.Distance), x.After.Milliseconds())
			if x.told() {
				h.text(string(x.Miss), string(x.Contact))
			}
			if x.Strokes != 0 {
				h.number(int64(x.Strokes))
			}
		}
		h.number(flag(b.Attested != nil) | flag(b.Quiet)<<1 | flag(b.Purpose != "")<<2)
		if b.Purpose != "" {
			h.text(string(b.Purpose))
		}
		if b.Attested != nil {
			h.number(int64(b.Attested.Balls), int64(b.Attested.Inside), int64(b.Attested.Holed), int64(b.Attested.BestRun))
		}
	}
	s.digestLandings(h)
	return [sha256.Size]byte(h.Sum(nil))
}

// told reports whether the student said how the ball missed or was struck.
func (b Ball) told() bool { return b.Miss != "" || b.Contact != "" }

func flag(b bool) int64 {
	if b {
		return 1
	}
	return 0
}

func millis(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMilli()
}

// fingerprint writes values so that no two lists of them look alike.
type fingerprint struct{ hash.Hash }

func (h fingerprint) text(values ...string) {
	for _, v := range values {
		h.number(int64(len(v)))
		h.Write([]byte(v))
	}
}

func (h fingerprint) number(values ...int64) {
	for _, v := range values {
		h.Write(binary.BigEndian.AppendUint64(nil, uint64(v)))
	}
}
