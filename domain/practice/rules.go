package practice

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/streak"
)

// Bounds of a session: generous for a day on the green, finite for a machine.
const (
	maxBlocks       = 24
	maxBalls        = 2000
	maxBlockSeconds = 4 * 3600
	maxNote         = 4000
	maxWord         = 60
	maxStrokes      = 15
	// clockSlack is how far a phone's clock may be ahead.
	clockSlack = 5 * time.Minute
)

// MaxSession is how long a session lasts at most.
const MaxSession = 16 * time.Hour

// Check tells everything wrong with a session as received at now. A start in
// the future is refused with the remedy, since a phone's clock may be wrong.
func (s Session) Check(now time.Time) error {
	var p domain.Problems
	checkRevision(&p, s.Revision)
	s.checkTimes(&p, now)
	if _, err := domain.Zone(s.TimeZone); s.TimeZone != "" && err != nil {
		p.Add("/time_zone", "%q is not a time zone; use an IANA name such as Europe/Lisbon, or leave it out", s.TimeZone)
	}
	checkText(&p, "/note", s.Note, maxNote)
	if s.Assignment == "" && (s.Week != 0 || s.Plan != 0 || s.Version != 0) {
		p.Add("/assignment_id", "is missing; week, plan and version count within an assignment")
	}
	if s.Assignment != "" && (s.Week < 1 || s.Plan < 1) {
		p.Add("/week", "week and plan are both needed, counted from 1, to say which plan of the assignment was followed")
	}
	s.checkConditions(&p)
	s.checkBlocks(&p, now)
	s.checkLandings(&p)
	return p.Err("session_invalid", "The session was not saved. Keep it, correct it and send it again.")
}

// maxRevision is far more uploads than anybody makes of a session.
const maxRevision = 1 << 30

func checkRevision(p *domain.Problems, revision int) {
	if revision == 0 {
		p.Add("/revision", "is missing or 0; count a session's uploads from 1, one more for each change")
		return
	}
	if revision < 1 || revision > maxRevision {
		p.Add("/revision", "is %d; count a session's uploads from 1, one more for each change, up to %d", revision, maxRevision)
	}
}

func (s Session) checkTimes(p *domain.Problems, now time.Time) {
	switch {
	case s.StartedAt.IsZero():
		p.Add("/started_at", "is missing; say when the session started")
		return
	case s.StartedAt.Year() < 2000:
		p.Add("/started_at", "is in the year %d; sessions are kept from 2000 on, so check the phone's clock", s.StartedAt.Year())
	case s.StartedAt.After(now.Add(clockSlack)):
		p.Add("/started_at", "is %s in the future; the phone's clock may be wrong: set it to the network's time, correct the start and send the session again",
			ahead(s.StartedAt.Sub(now)))
	}
	if s.EndedAt.IsZero() {
		return
	}
	switch length := s.EndedAt.Sub(s.StartedAt); {
	case length < 0:
		p.Add("/ended_at", "is before started_at; give a later time, or leave it out while the session goes on")
	case length > MaxSession:
		p.Add("/ended_at", "is more than %s after started_at, the longest that a session lasts; store two", ahead(MaxSession))
	case s.EndedAt.After(now.Add(clockSlack)):
		p.Add("/ended_at", "is in the future; check the phone's clock, or leave it out while the session goes on")
	}
}

func checkText(p *domain.Problems, at, text string, longest int) {
	if n := len([]rune(text)); n > longest {
		p.Add(at, "has %d characters; at most %d fit", n, longest)
	}
	if strings.ContainsRune(text, 0) {
		p.Add(at, "contains a NUL character; remove it")
	}
}

func (s Session) checkBlocks(p *domain.Problems, now time.Time) {
	if len(s.Blocks) > maxBlocks {
		p.Add("/blocks", "there are %d blocks; at most %d fit in a session", len(s.Blocks), maxBlocks)
		return
	}
	balls, last := 0, time.Duration(0)
	for i, b := range s.Blocks {
		at := fmt.Sprintf("/blocks/%d", i)
		b.check(p, at)
		balls += len(b.Balls)
		for j, x := range b.Balls {
			s.checkAfter(p, fmt.Sprintf("%s/balls/%d/after_s", at, j), x.After, last, now)
			last = max(last, x.After)
		}
	}
	if balls > maxBalls {
		p.Add("/blocks", "there are %d balls; a session holds at most %d, so store two", balls, maxBalls)
	}
}

// checkAfter looks at when a ball was struck; last is the latest before it.
func (s Session) checkAfter(p *domain.Problems, at string, after, last time.Duration, now time.Time) {
	switch {
	case after == 0:
	case after > MaxSession:
		p.Add(at, "is %v s; give the seconds since the session's start, at most %v, which are %s", after.Seconds(), MaxSession.Seconds(), ahead(MaxSession))
	case after < last:
		p.Add(at, "is %v s, earlier than the ball before it or the session's start; list balls in the order they were struck, with the seconds since the start", after.Seconds())
	case s.StartedAt.Add(after).After(now.Add(clockSlack)):
		p.Add(at, "is %v s, which is in the future; the phone's clock may be wrong: set it to the network's time and correct started_at or after_s", after.Seconds())
	case !s.EndedAt.IsZero() && s.StartedAt.Add(after).After(s.EndedAt.Add(clockSlack)):
		p.Add(at, "is %v s, which is after ended_at; give a later end or the time the ball was struck", after.Seconds())
	}
}

func (b Block) check(p *domain.Problems, at string) {
	if b.PlanBlock < 0 || b.PlanBlock > maxBlocks {
		p.Add(at+"/plan_block", "is %d; count the plan's blocks from 1, or leave it out", b.PlanBlock)
	}
	if b.Kind == "" {
		p.Add(at+"/kind", "is missing; use %s", domain.OneOf(curriculum.BlockKinds()))
	} else if !slices.Contains(curriculum.BlockKinds(), b.Kind) {
		p.Add(at+"/kind", "%q is not a kind of block; use %s", b.Kind, domain.OneOf(curriculum.BlockKinds()))
	}
	b.checkTest(p, at)
	if b.Skill == "" {
		p.Add(at+"/skill_id", "is missing; say which skill the block trained")
	}
	if b.Seconds < 0 || b.Seconds > maxBlockSeconds {
		p.Add(at+"/seconds", "is %d; give the seconds really spent, 0 to %d", b.Seconds, maxBlockSeconds)
	}
	if b.Radius == 0 {
		p.Add(at+"/radius_m", "is missing or 0; give the radius that balls were judged at, %v to %v", streak.MinRadius, streak.MaxRadius)
		return
	}
	if b.Radius < streak.MinRadius || b.Radius > streak.MaxRadius {
		p.Add(at+"/radius_m", "is %v; give the radius that balls were judged at, %v to %v", b.Radius, streak.MinRadius, streak.MaxRadius)
		return
	}
	if b.Attested != nil {
		b.checkAttested(p, at)
		return
	}
	for i, x := range b.judged() {
		here := fmt.Sprintf("%s/balls/%d", at, i)
		x.Check(p, here)
		b.Balls[i].checkMiss(p, here)
		b.checkStrokes(p, here, b.Balls[i])
		checkText(p, here+"/club", b.Balls[i].Club, maxWord)
		checkText(p, here+"/lie", b.Balls[i].Lie, maxWord)
		if d := b.Balls[i].Distance; d < 0 || d > 100*domain.Metre {
			p.Add(here+"/distance_m", "is %v; the short game is played from 0 to %v", d, 100*domain.Metre)
		}
	}
}

func (b Block) checkAttested(p *domain.Problems, at string) {
	if len(b.Balls) > 0 {
		p.Add(at+"/attested", "is given together with balls; give counts from a card or the balls themselves, never both")
	}
	a := *b.Attested
	at += "/attested"
	switch {
	case a.Balls < 0 || a.Balls > maxBalls:
		p.Add(at+"/balls", "is %d; give 0 to %d", a.Balls, maxBalls)
	case a.Inside < 0 || a.Inside > a.Balls:
		p.Add(at+"/inside", "is %d of %d balls; give 0 to %d, holed ones included", a.Inside, a.Balls, a.Balls)
	case a.Holed < 0 || a.Holed > a.Inside:
		p.Add(at+"/holed", "is %d of %d inside; give 0 to %d", a.Holed, a.Inside, a.Inside)
	case a.BestRun < 0 || a.BestRun > a.Inside:
		p.Add(at+"/best_run", "is %d with %d inside; give 0 to %d", a.BestRun, a.Inside, a.Inside)
	}
}

// ahead tells how far off a time is, in the largest unit of which there are two.
func ahead(d time.Duration) string {
	switch day := 24 * time.Hour; {
	case d >= 2*day:
		return fmt.Sprintf("%d days", d/day)
	case d >= 2*time.Hour:
		return fmt.Sprintf("%d hours", d/time.Hour)
	default:
		return fmt.Sprintf("%d minutes", d/time.Minute)
	}
}
