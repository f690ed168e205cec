package integration_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"sync/atomic"
	"testing"

	"fringework/api"
	"fringework/domain"
)

// errKilled ends a life of the consumer.
var errKilled = errors.New("killed")

// copier keeps a copy of the academy's sessions as the description of the feed
// says: what it keeps survives it, what it holds in its hands does not.
type copier struct {
	caller *caller
	after  int64
	// sessions are the copies, by their revisions.
	sessions map[domain.ID]int
	lives    int
}

// live follows the feed until all is seen after the writers are done, or until it
// is killed.
func (c *copier) live(done *atomic.Bool, kill func() bool) error {
	c.lives++
	for {
		all := done.Load() // looked at first, so that nothing comes after
		page := read[api.ChangePage](c.caller, fmt.Sprintf("/v1/changes?limit=20&after=%d", c.after))
		for _, change := range page.Items {
			if kill() {
				return errKilled
			}
			if change.SubjectID == "" || change.Number <= c.after {
				return fmt.Errorf("after %d comes %+v", c.after, change)
			}
			if len(change.Kind) < 8 || change.Kind[:8] != "session." {
				continue
			}
			got := c.caller.get(sessionPath(change.SubjectID))
			if got.status == 404 {
				delete(c.sessions, change.SubjectID)
				continue
			}
			var s api.SessionResult
			got.want(200).into(&s)
			c.sessions[change.SubjectID] = s.Session.Revision
		}
		if kill() {
			return errKilled // before it kept where it is
		}
		c.after = page.Last
		if all && page.Last == page.Newest {
			return nil
		}
	}
}

// testChangeFeed: a consumer that is killed at random while ten writers write ends
// with what the service has.
func testChangeFeed(t *testing.T, s *service) {
	a := s.open(t, "Feedham")
	skill := a.coach.skill("Pitch", pitchSteps()).ID
	key := a.owner.key("events:read", "sessions:read")
	c := &copier{caller: key.caller, sessions: map[domain.ID]int{}}
	c.after = read[api.ChangePage](key.caller, "/v1/changes?limit=1").Newest
	from := c.after

	const writers, sessions = 10, 5
	var done atomic.Bool
	var group sync.WaitGroup
	want := sync.Map{}
	for w := range writers {
		mine := a.coach.in(t)
		group.Go(func() {
			chance := rand.New(rand.NewPCG(uint64(w), 4))
			for n := range sessions {
				id, start := newID(), ago(4*(1+w*sessions+n))
				put := func(revision, balls int, ended bool) {
					body := sessionBody(revision, start, test(skill, in(balls)))
					if !ended {
						delete(body, "ended_at")
					}
					body["student_id"] = a.student.id
					mine.store(id, body, 201-min(revision-1, 1))
				}
				put(1, 2, false)
				put(2, 3, false) // grows, which no event tells of by itself
				put(3, 5, true)
				last := 3
				if chance.IntN(2) == 0 {
					last++
					put(last, 4, true) // an edit
				}
				if chance.IntN(3) == 0 {
					mine.del(fmt.Sprintf("%s?revision=%d", sessionPath(id), last+1)).want(204)
					continue
				}
				want.Store(id, last)
			}
		})
	}
	go func() { group.Wait(); done.Store(true) }()
	chance := rand.New(rand.NewPCG(7, 7))
	for {
		err := c.live(&done, func() bool { return chance.IntN(12) == 0 && c.lives < 60 })
		if err == nil {
			break
		}
		if !errors.Is(err, errKilled) {
			t.Fatal(err)
		}
	}
	if c.lives < 5 {
		t.Errorf("the consumer was killed %d times; want some", c.lives-1)
	}
	n := 0
	want.Range(func(id, revision any) bool {
		n++
		if got := c.sessions[id.(domain.ID)]; got != revision {
			t.Errorf("session %s: the copy has revision %d, the service %d", id, got, revision)
		}
		return true
	})
	if len(c.sessions) != n {
		t.Errorf("the copy has %d sessions, the service %d", len(c.sessions), n)
	}

	// Not one event for each upload, and of one thing the latest alone on a page.
	grown := 0
	for _, e := range allEvents(a.owner.caller) {
		if e.Number > from && e.Kind == "session.extended" {
			grown++
		}
	}
	if grown != writers*sessions {
		t.Errorf("%d events tell of sessions that grew; want one for each of %d", grown, writers*sessions)
	}
	seen := map[string]bool{}
	for _, x := range read[api.ChangePage](key.caller, fmt.Sprintf("/v1/changes?limit=200&after=%d", from)).Items {
		if seen[string(x.SubjectID)] {
			t.Errorf("%s is told of twice on a page", x.SubjectID)
		}
		seen[string(x.SubjectID)] = true
	}

	// Everybody follows what is theirs to see.
	others := a.owner.join("Other", object{"role": "coach"})
	for who, f := range map[string]struct {
		c    *caller
		some bool
	}{"the student": {a.student.caller, true}, "the coach": {a.coach.caller, true}, "another coach": {others.caller, false}, "a key without sessions": {a.owner.key("events:read", "members:read").caller, false}} {
		page := read[api.ChangePage](f.c, fmt.Sprintf("/v1/changes?limit=200&after=%d", from))
		told := false
		for _, x := range page.Items {
			told = told || x.StudentID == a.student.id && x.Kind[:8] == "session."
		}
		if told != f.some {
			t.Errorf("%s is told of the student's sessions: %v, want %v", who, told, f.some)
		}
	}
	problem := key.caller.get("/v1/changes?after=99999999").problem(410, "cursor_gone")
	if problem.Detail == "" {
		t.Error("the refusal does not say what to do")
	}
}
