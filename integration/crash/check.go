//go:build unix

package main

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"reflect"
	"slices"
	"strings"
	"sync"
	"time"

	"fringework/api"
	"fringework/domain"
)

// is reports whether a session is exactly the revision; nil is a session that
// is not there.
func (r *revision) is(s *api.Session) bool {
	if r == nil || r.body == nil || s == nil {
		return s == nil && (r == nil || r.body == nil)
	}
	b := r.body
	same := s.Revision == r.number && s.StartedAt.Equal(b.StartedAt) && sameEnd(s.EndedAt, b.EndedAt) && s.Note == b.Note && s.TimeZone == b.TimeZone &&
		s.AssignmentID == b.AssignmentID && s.Week == b.Week && s.Plan == b.Plan && len(s.Blocks) == len(b.Blocks)
	for i := 0; same && i < len(b.Blocks); i++ {
		got := s.Blocks[i]
		got.Counts, got.PlannedSeconds = nil, 0 // the service fills them in
		same = reflect.DeepEqual(got, b.Blocks[i])
	}
	return same
}

func sameEnd(a, b *time.Time) bool {
	if a == nil || b == nil {
		return a == b
	}
	return a.Equal(*b)
}

func (r *revision) String() string {
	switch {
	case r == nil:
		return "nothing"
	case r.body == nil:
		return fmt.Sprintf("deletion %d", r.number)
	}
	return fmt.Sprintf("revision %d of %d balls", r.number, struckIn(r.body))
}

func described(s *api.Session) string {
	if s == nil {
		return "nothing"
	}
	text, err := json.Marshal(s)
	if err != nil {
		return err.Error()
	}
	return string(text)
}

// read gives a session; nil if there is none.
func (p *phone) read(ctx context.Context, l *logged) (*api.Session, error) {
	status, answer, err := p.of.insist(ctx, p.by.token, http.MethodGet, "/v1/sessions/"+string(l.id), nil)
	switch {
	case err != nil:
		return nil, err
	case status == http.StatusNotFound:
		return nil, nil
	case status != http.StatusOK:
		return nil, fmt.Errorf("session %s: %d %s", l.id, status, answer)
	}
	var s api.SessionResult
	err = json.Unmarshal(answer, &s)
	return &s.Session, err
}

// check looks at everything that the phone ever sent. What was not acknowledged
// may be there or not, but not otherwise; it is sent again.
func (p *phone) check(ctx context.Context) error {
	for _, l := range p.sessions {
		got, err := p.read(ctx, l)
		if err != nil {
			return err
		}
		if l.sent == nil {
			if !l.stands.is(got) {
				p.of.find(lost, "session %s: %v was acknowledged, there is %s", l.id, l.stands, described(got))
			}
			continue
		}
		if err := p.again(ctx, l, got); err != nil {
			return err
		}
	}
	return nil
}

// again sends what was not acknowledged; got is what stands.
func (p *phone) again(ctx context.Context, l *logged, got *api.Session) error {
	sent := l.sent
	stored := sent.is(got) && (sent.body != nil || l.stands != nil && l.stands.body != nil)
	switch {
	case stored && sent != l.stands:
		p.of.add(&p.of.stored, 1)
	case !stored && !l.stands.is(got):
		p.of.find(lost, "session %s: %v was acknowledged and %v sent, there is %s", l.id, l.stands, sent, described(got))
	}
	status, answer, err := p.put(ctx, p.of.insist, l, sent)
	if err != nil {
		return err
	}
	p.acknowledge(l, status, answer, l.stands == nil && !stored)
	if got, err = p.read(ctx, l); err == nil && !sent.is(got) {
		p.of.find(lost, "session %s: %v was sent again and acknowledged, there is %s", l.id, sent, described(got))
	}
	return err
}

// check looks whether all is there, once, after a kill. paused says that the
// log has been told of every session that goes on.
func (s *siege) check(ctx context.Context, paused bool) error {
	if err := s.each(func(p *phone) error { return p.check(ctx) }); err != nil {
		return err
	}
	for _, st := range s.students {
		if err := s.checkStudent(ctx, st); err != nil {
			return err
		}
	}
	if err := s.checkLog(ctx, paused); err != nil {
		return err
	}
	return s.checkFile(ctx)
}

// each does something for all phones at once.
func (s *siege) each(do func(*phone) error) error {
	errs := make(chan error, len(s.phones))
	var all sync.WaitGroup
	for _, p := range s.phones {
		all.Go(func() {
			if err := do(p); err != nil {
				errs <- err
			}
		})
	}
	all.Wait()
	close(errs)
	return <-errs
}

// sums are what progress counts of a student.
type sums struct {
	sessions int
	skill    map[domain.ID]api.Tally
}

// expected counts what the phones say.
func (s *siege) expected(st *student) (ids map[domain.ID]bool, all sums) {
	ids, all = map[domain.ID]bool{}, sums{skill: map[domain.ID]api.Tally{}}
	for _, p := range s.phones {
		for _, l := range p.sessions {
			if p.student != st || l.stands == nil || l.deleted() {
				continue
			}
			ids[l.id] = true
			all.sessions++
			seen := map[domain.ID]bool{}
			for _, b := range l.stands.body.Blocks {
				t := all.skill[b.SkillID]
				if !seen[b.SkillID] {
					t.Sessions++
				}
				seen[b.SkillID] = true
				t.Balls += len(b.Balls)
				t.Seconds += b.Seconds
				for _, ball := range b.Balls {
					if ball.Outcome != "out" {
						t.Inside++
					}
					if ball.Outcome == "holed" {
						t.Holed++
					}
				}
				all.skill[b.SkillID] = t
			}
		}
	}
	return ids, all
}

// checkStudent looks whether a student's sessions are listed and counted once.
func (s *siege) checkStudent(ctx context.Context, st *student) error {
	ids, want := s.expected(st)
	listed := map[domain.ID]bool{}
	for next := "/v1/sessions?limit=200"; next != ""; {
		var page api.SessionPage
		if err := s.call(ctx, st.token, http.MethodGet, next, nil, &page); err != nil {
			return err
		}
		for _, x := range page.Items {
			if listed[x.ID] {
				s.find(doubled, "session %s is listed twice", x.ID)
			}
			if listed[x.ID] = true; !ids[x.ID] {
				s.find(wrong, "session %s is listed, and does not stand", x.ID)
			}
		}
		next = page.Links.Next
	}
	for id := range ids {
		if !listed[id] {
			s.find(lost, "session %s is not listed", id)
		}
	}
	var progress api.Progress
	if err := s.call(ctx, st.token, http.MethodGet, "/v1/students/"+string(st.id)+"/progress", nil, &progress); err != nil {
		return err
	}
	s.count("sessions", progress.Sessions, want.sessions)
	counted := map[domain.ID]api.Tally{}
	for _, k := range progress.Skills {
		counted[k.SkillID] = k.Total
	}
	for _, skill := range s.skills {
		got, want := counted[skill], want.skill[skill]
		s.count("sessions of a skill", got.Sessions, want.Sessions)
		s.count("balls", got.Balls, want.Balls)
		s.count("balls inside", got.Inside, want.Inside)
		s.count("balls holed", got.Holed, want.Holed)
		s.count("seconds", got.Seconds, want.Seconds)
	}
	return nil
}

func (s *siege) count(what string, got, want int) {
	switch {
	case got > want:
		s.find(doubled, "progress counts %d %s; there are %d", got, what, want)
	case got < want:
		s.find(lost, "progress counts %d %s; there are %d", got, what, want)
	}
}

// told names a revision that an event tells of.
type told struct {
	session  domain.ID
	revision int
}

// checkLog looks whether the event log counts from 1 without gaps, and tells of
// each revision once.
func (s *siege) checkLog(ctx context.Context, paused bool) error {
	seen := map[told]int{}
	last := int64(0)
	for next := "/v1/events?limit=200"; next != ""; {
		var page api.EventPage
		if err := s.call(ctx, s.owner.token, http.MethodGet, next, nil, &page); err != nil {
			return err
		}
		for _, e := range page.Items {
			if last++; e.Number != last {
				s.find(lost, "the event log has number %d where %d is due", e.Number, last)
				last = e.Number
			}
			if revision, ok := e.Data["revision"].(float64); ok && strings.HasPrefix(e.Kind, "session.") {
				seen[told{e.SubjectID, int(revision)}]++
			}
		}
		next = page.Links.Next
	}
	for t, n := range seen {
		if n > 1 {
			s.find(doubled, "revision %d of session %s is told of %d times", t.revision, t.session, n)
		}
	}
	for _, p := range s.phones {
		for _, l := range p.sessions {
			due := l.told
			if paused && l.stands != nil {
				due = append(slices.Clip(due), l.stands.number)
			}
			for _, revision := range due {
				if seen[told{l.id, revision}] == 0 {
					s.find(lost, "no event tells of revision %d of session %s", revision, l.id)
				}
			}
		}
	}
	return nil
}
