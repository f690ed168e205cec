//go:build unix

package guide_test

import (
	"context"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"

	"fringework/cmd/fringework/client"
)

type object = map[string]any

// upload is a session that was sent once.
type upload struct {
	id string
	// sent is before the request, acknowledged after its answer; zero without one.
	sent, acknowledged time.Time
}

// people upload sessions of a student, one after the other, until they are stopped.
type people struct {
	owner   client.Client
	service client.Client // of a student
	skill   string
	leaving string // a member who will be erased

	ending atomic.Bool
	phones sync.WaitGroup

	mu     sync.Mutex
	sent   []upload
	failed error
	more   chan struct{} // closed and made anew with every acknowledgement
}

// phones is how many upload at once.
const phones = 2

// practise founds an academy and begins to upload to it.
func practise(t *testing.T, url string) *people {
	t.Helper()
	owner := client.Client{Base: url}
	var signed client.SignedIn
	call(t, owner, http.MethodPost, "/v1/academies", object{
		"academy_name": "Kept Green", "time_zone": "Europe/Lisbon", "name": "Kit", "email": "kit@kept.example", "password": "nine tins of varnish",
	}, &signed)
	owner.Token = signed.AccessToken
	var skill struct{ ID string }
	call(t, owner, http.MethodPost, "/v1/skills", object{
		"name": "Flop", "kind": "lob", "ladder": object{"tiers": []object{{"run": 3, "radius_m": 1.5}, {"run": 6, "radius_m": 1.5, "holed": 1}}},
	}, &skill)
	leaving := joins(t, owner, erased)
	student := joins(t, owner, "Sol")

	p := &people{
		owner: owner, service: client.Client{Base: url, Token: student.AccessToken}, skill: skill.ID,
		leaving: leaving.Membership.MemberID, more: make(chan struct{}),
	}
	for range phones {
		p.phones.Go(func() {
			for p.once() {
				continue
			}
		})
	}
	t.Cleanup(p.stop)
	return p
}

// erased is the name of somebody who is erased after the point.
const erased = "Ilse Wennerberg"

// joins makes somebody a student.
func joins(t *testing.T, owner client.Client, name string) (in client.SignedIn) {
	t.Helper()
	var invited struct{ Code string }
	call(t, owner, http.MethodPost, "/v1/invitations", object{"role": "student"}, &invited)
	call(t, client.Client{Base: owner.Base}, http.MethodPost, "/v1/invitations/accept", object{
		"code": invited.Code, "name": name, "email": uuid.NewString() + "@kept.example", "password": "eleven tins of varnish", "time_zone": "Europe/Lisbon",
	}, &in)
	return in
}

// eraseOne erases a member.
func (p *people) eraseOne(t *testing.T) {
	t.Helper()
	call(t, p.owner, http.MethodDelete, "/v1/members/"+p.leaving, nil, nil)
	call(t, p.owner, http.MethodPost, "/v1/members/"+p.leaving+"/erase", nil, nil)
}

func call(t *testing.T, c client.Client, method, path string, in, out any) {
	t.Helper()
	if err := c.Call(t.Context(), method, path, in, out); err != nil {
		t.Fatal(err)
	}
}

// once uploads a session and reports whether to go on.
func (p *people) once() bool {
	if p.ending.Load() {
		return false
	}
	u := upload{id: uuid.Must(uuid.NewV7()).String(), sent: time.Now()}
	balls := []object{{"outcome": "in"}, {"outcome": "in"}, {"outcome": "out"}, {"outcome": "in"}, {"outcome": "in"}, {"outcome": "holed"}}
	started := u.sent.Add(-time.Hour).UTC().Format(time.RFC3339)
	err := p.service.Call(context.Background(), http.MethodPut, "/v1/sessions/"+u.id, object{
		"revision": 1, "started_at": started,
		"blocks": []object{{"kind": "test", "skill_id": p.skill, "radius_m": 1.5, "seconds": 240, "balls": balls}},
	}, nil)
	if err == nil {
		u.acknowledged = time.Now()
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.sent = append(p.sent, u)
	if err != nil && !p.ending.Load() {
		p.failed = err
	}
	close(p.more)
	p.more = make(chan struct{})
	return err == nil
}

// acknowledged is how many sessions are, with a channel that closes when it may be
// another number. An upload that failed is an error.
func (p *people) acknowledged() (n int, more <-chan struct{}, err error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, u := range p.sent {
		if !u.acknowledged.IsZero() {
			n++
		}
	}
	return n, p.more, p.failed
}

// another waits until so many more are acknowledged.
func (p *people) another(t *testing.T, n int) {
	t.Helper()
	had, _, _ := p.acknowledged()
	deadline := time.After(5 * time.Minute)
	for {
		have, more, err := p.acknowledged()
		if err != nil {
			t.Fatal(err)
		}
		if have >= had+n {
			return
		}
		select {
		case <-more:
		case <-deadline:
			t.Fatalf("%d sessions acknowledged in five minutes; want %d", have-had, n)
		}
	}
}

// leave says that the service is about to stop: what is not answered from now on is no
// fault.
func (p *people) leave() { p.ending.Store(true) }

// stop waits until nothing is under way.
func (p *people) stop() {
	p.leave()
	p.phones.Wait()
}

// check asks a restored service for every session: those acknowledged before an instant
// are there, those sent after another are not.
func (p *people) check(t *testing.T, url string, before, after time.Time) {
	t.Helper()
	p.stop()
	if p.failed != nil {
		t.Fatal(p.failed)
	}
	restored := client.Client{Base: url, Token: p.service.Token}
	kept, gone := 0, 0
	for _, u := range p.sent {
		var session struct{ Revision int }
		err := restored.Call(t.Context(), http.MethodGet, "/v1/sessions/"+u.id, nil, &session)
		absent := err != nil && strings.Contains(err.Error(), ": 404 ")
		switch {
		case err != nil && !absent:
			t.Fatal(err)
		case !u.acknowledged.IsZero() && u.acknowledged.Before(before):
			if kept++; absent || session.Revision != 1 {
				t.Errorf("session %s was acknowledged at %v, before %v, and is not there: %v", u.id, u.acknowledged, before, err)
			}
		case u.sent.After(after):
			if gone++; !absent {
				t.Errorf("session %s was sent at %v, after %v, and is there", u.id, u.sent, after)
			}
		}
	}
	if kept == 0 || gone == 0 {
		t.Errorf("%d sessions were acknowledged before and %d sent after; want some of both", kept, gone)
	}
	t.Logf("%d sessions from before, %d from after", kept, gone)
}
