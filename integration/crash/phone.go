//go:build unix

package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"net/http"
	"slices"
	"strings"
	"syscall"
	"time"

	"fringework/api"
	"fringework/domain"
)

// radius that balls are judged at, in metres.
const radius = 2.0

// phone uploads sessions of one student, each revision by itself. A student may
// have several, and one of them may be the owner's.
type phone struct {
	of       *siege
	student  *student
	by       *person
	rng      *rand.Rand
	sessions []*logged
}

// logged is a session as its phone knows it.
type logged struct {
	id domain.ID
	// stands is the last revision that was acknowledged, sent one that was sent
	// and is not acknowledged yet.
	stands, sent *revision
	// told are the acknowledged revisions that the event log tells of.
	told []int
}

// revision is one upload of a session.
type revision struct {
	number int
	// body is nil for a deletion.
	body *api.SessionRequest
	// told says that an event tells of it at once; a session that only goes on is
	// told of when it pauses.
	told bool
}

func (l *logged) deleted() bool { return l.stands.body == nil }

// practise uploads until the siege is over or there is no answer.
func (p *phone) practise(ctx context.Context) {
	for answered := true; answered && !p.of.over.Load(); {
		answered = p.once(ctx)
	}
}

// once does one thing at random and reports whether it was answered.
func (p *phone) once(ctx context.Context) bool {
	growing := p.some(func(l *logged) bool { return !l.deleted() && l.stands.body.EndedAt == nil })
	kept := p.some(func(l *logged) bool { return !l.deleted() })
	deleted := p.some((*logged).deleted)
	switch n := p.rng.IntN(20); {
	case n < 7 && growing != nil:
		return p.deliver(ctx, growing, p.grown(growing))
	case n < 9 && kept != nil:
		return p.deliver(ctx, kept, p.edited(kept))
	case n < 10 && kept != nil:
		return p.deliver(ctx, kept, &revision{number: p.next(kept), told: true})
	case n < 11 && deleted != nil:
		back := p.fresh(p.rng.IntN(2) == 0)
		back.number = p.next(deleted)
		return p.deliver(ctx, deleted, back)
	case n < 13 && kept != nil: // as if the reply was lost
		return p.deliver(ctx, kept, kept.stands)
	case n < 14 && kept != nil:
		return p.refused(ctx, kept)
	case n < 15: // a deletion that overtakes what it deletes
		return p.deliver(ctx, p.log(), &revision{number: 2, told: true})
	default:
		return p.deliver(ctx, p.log(), p.fresh(n < 18))
	}
}

func (p *phone) log() *logged {
	l := &logged{id: newID()}
	p.sessions = append(p.sessions, l)
	return l
}

// some picks one of the latest sessions that are like that.
func (p *phone) some(like func(*logged) bool) *logged {
	var found []*logged
	for i := len(p.sessions) - 1; i >= 0 && len(found) < 6; i-- {
		if l := p.sessions[i]; l.stands != nil && l.sent == nil && like(l) {
			found = append(found, l)
		}
	}
	if len(found) == 0 {
		return nil
	}
	return found[p.rng.IntN(len(found))]
}

// next is a higher revision; now and then one is left out.
func (p *phone) next(l *logged) int { return l.stands.number + 1 + p.rng.IntN(5)/4 }

// fresh is the first revision of a session that goes on or has ended. Sessions
// arrive in no order of when they were.
func (p *phone) fresh(ended bool) *revision {
	start := p.of.start.Add(time.Duration(p.rng.IntN(290*24*60)) * time.Minute)
	body := &api.SessionRequest{StartedAt: start, TimeZone: "Europe/Lisbon", Note: "Wind from the left, näß."}
	if p.by != p.student.person {
		body.StudentID = p.student.id
	}
	if p.rng.IntN(2) == 0 {
		body.AssignmentID, body.Week, body.Plan, body.Version = p.student.assignment, 1, 1, 1
	}
	p.play(body)
	if ended {
		end(body)
	}
	return &revision{number: 1, body: body, told: true}
}

func end(body *api.SessionRequest) {
	at := body.StartedAt.Add(time.Hour)
	body.EndedAt = &at
}

const secondsPerBall = 20

// play strikes some balls more, in the last block or in a new one.
func (p *phone) play(body *api.SessionRequest) {
	if len(body.Blocks) == 0 || p.rng.IntN(3) == 0 {
		kind, n := "random", len(body.Blocks)
		if n%2 == 1 {
			kind = "test"
		}
		block := api.SessionBlock{Kind: kind, SkillID: p.of.skills[p.rng.IntN(2)], RadiusM: radius}
		if body.AssignmentID != "" && n < 2 {
			block.PlanBlock = n + 1
		}
		body.Blocks = append(body.Blocks, block)
	}
	struck := struckIn(body)
	b := &body.Blocks[len(body.Blocks)-1]
	for range 1 + p.rng.IntN(8) {
		struck++
		ball := api.Ball{Outcome: "out", Club: "56°", Lie: "fringe", DistanceM: 12.5, AfterS: float64(secondsPerBall*struck) + 0.25}
		switch n := p.rng.IntN(10); {
		case n < 1:
			ball.Outcome = "holed"
		case n < 7:
			ball.Outcome = "in"
			if n < 3 {
				leave := 0.25 * float64(1+p.rng.IntN(8))
				ball.LeaveM = &leave
			}
		}
		b.Balls = append(b.Balls, ball)
		b.Seconds += secondsPerBall
	}
}

func struckIn(body *api.SessionRequest) (n int) {
	for _, b := range body.Blocks {
		n += len(b.Balls)
	}
	return n
}

func clone(body *api.SessionRequest) *api.SessionRequest {
	c := *body
	c.Blocks = slices.Clone(c.Blocks)
	for i := range c.Blocks {
		c.Blocks[i].Balls = slices.Clone(c.Blocks[i].Balls)
	}
	return &c
}

// grown is the session with more balls, and sometimes its end.
func (p *phone) grown(l *logged) *revision {
	body := clone(l.stands.body)
	p.play(body)
	if struckIn(body) > 60 || p.rng.IntN(6) == 0 {
		end(body)
	}
	return &revision{number: p.next(l), body: body, told: body.EndedAt != nil}
}

// edited is the session with a ball judged another way.
func (p *phone) edited(l *logged) *revision {
	body := clone(l.stands.body)
	ball := &body.Blocks[p.rng.IntN(len(body.Blocks))].Balls[0]
	if ball.LeaveM = nil; ball.Outcome == "out" {
		ball.Outcome = "in"
	} else {
		ball.Outcome = "out"
	}
	return &revision{number: p.next(l), body: body, told: true}
}

// put sends a revision, by insisting or once.
func (p *phone) put(ctx context.Context, by sender, l *logged, r *revision) (status int, answer []byte, err error) {
	path := "/v1/sessions/" + string(l.id)
	if r.body == nil {
		return by(ctx, p.by.token, http.MethodDelete, fmt.Sprintf("%s?revision=%d&student_id=%s", path, r.number, p.student.id), nil)
	}
	body := *r.body
	body.Revision = r.number
	return by(ctx, p.by.token, http.MethodPut, path, body)
}

type sender func(ctx context.Context, token, method, path string, in any) (int, []byte, error)

// deliver sends a revision and reports whether it was answered.
func (p *phone) deliver(ctx context.Context, l *logged, r *revision) bool {
	l.sent = r
	status, answer, err := p.put(ctx, p.of.send, l, r)
	if p.unanswered(status, err) {
		return false
	}
	p.acknowledge(l, status, answer, l.stands == nil)
	return true
}

// unanswered says that it cannot be known whether a request was heard. It must
// not be but for a kill.
func (p *phone) unanswered(status int, err error) bool {
	if err == nil && status < 500 {
		return false
	}
	if !p.of.dying.Load() {
		p.of.find(wrong, "nothing was killed, and an upload was answered %d (%v)", status, err)
	}
	if !errors.Is(err, syscall.ECONNREFUSED) { // that never left
		p.of.add(&p.of.inFlight, 1)
	}
	return true
}

// acknowledge takes an answer for what was sent; first says that the session is
// new to the service.
func (p *phone) acknowledge(l *logged, status int, answer []byte, first bool) {
	r := l.sent
	l.sent = nil
	want := http.StatusOK
	switch {
	case r.body == nil:
		want = http.StatusNoContent
	case first:
		want = http.StatusCreated
	}
	if status != want {
		p.of.find(wrong, "session %s, revision %d: answered %d, not %d: %s", l.id, r.number, status, want, answer)
		return
	}
	if r.body != nil {
		var got api.SessionResult
		if err := json.Unmarshal(answer, &got); err != nil || !r.is(&got.Session) {
			p.of.find(wrong, "session %s, revision %d: the answer is another session (%v): %s", l.id, r.number, err, answer)
		}
	}
	p.of.heard()
	if r.told && r != l.stands {
		l.told = append(l.told, r.number)
	}
	l.stands = r
}

// refused sends what must be refused: another content for the revision that
// stands, or a lower one.
func (p *phone) refused(ctx context.Context, l *logged) bool {
	r, code := p.edited(l), "revision_conflict"
	if r.number = l.stands.number; r.number > 1 && p.rng.IntN(2) == 0 {
		r.number, code = r.number-1, "revision_superseded"
	}
	status, answer, err := p.put(ctx, p.of.send, l, r)
	if p.unanswered(status, err) {
		return false
	}
	if status != http.StatusConflict || !strings.Contains(string(answer), code) {
		p.of.find(wrong, "session %s, revision %d over %d: answered %d, not %s: %s", l.id, r.number, l.stands.number, status, code, answer)
	}
	return true
}
