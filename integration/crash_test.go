package integration_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"fringework/api"
	"fringework/domain"
	"fringework/integration/postgres"
)

// kills is how often a server is killed, and between how many more uploads than
// were acknowledged before.
const (
	kills   = 4
	between = 40
)

// A server that is killed while phones upload has lost nothing that it
// acknowledged and has counted nothing twice, though the phones repeat what was
// not answered.
func testCrash(t *testing.T, p program, e engine) {
	dir, database, keys := t.TempDir(), e.fresh(t), newKeys(t)
	serve := func() *process {
		return p.serve(t, dir, database, "--signing-keys-file", keys, "--cheap-passwords", "--public-url", "http://localhost")
	}
	server := serve()
	f := newField(t, server.url)
	for range kills {
		f.await(between)
		if err := server.Process.Kill(); err != nil { // SIGKILL
			t.Fatal(err)
		}
		server.wait()
		server = serve()
		f.url.Store(server.url)
	}
	f.await(between)
	f.stop()
	for _, phone := range f.phones {
		phone.check(t, f)
	}
	if err := server.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	if code := server.wait(); code != 0 {
		t.Errorf("the server ended with %d; want 0\n%s", code, server.log)
	}
	if out := must(t, "rebuild", "--database", database); !strings.Contains(out, fmt.Sprintf("%d students, 0 differences", len(f.phones))) {
		t.Errorf("rebuild says %q; want no differences", out)
	}
}

// field is a practice green full of phones that upload to a server, which comes
// and goes.
type field struct {
	url    atomic.Value
	client *http.Client
	skill  domain.ID
	phones []*phone
	// acknowledged counts the uploads that were answered by a success.
	acknowledged atomic.Int64
	cancel       context.CancelFunc
	running      sync.WaitGroup
	t            *testing.T
}

// phone is one student's. It uploads one session after the other, each first in
// part and then whole, and some twice.
type phone struct {
	student *person
	// sent is what was acknowledged: the balls of each session's last revision.
	sent map[domain.ID]int
}

func newField(t *testing.T, url string) *field {
	f := &field{client: &http.Client{Timeout: 20 * time.Second}, t: t}
	f.url.Store(url)
	// Setting up is the business of the usual callers.
	s := &service{url: url, transport: &http.Transport{}}
	owner := s.found(t, "Crash Academy", "Crawford")
	f.skill = owner.skill("Pitch", pitchSteps()).ID
	programme := owner.publish(course("A week", f.skill))
	for range 5 {
		student := owner.join("Phone", object{"role": "student"})
		owner.assign(programme, ago(24*7), student)
		f.phones = append(f.phones, &phone{student: student, sent: map[domain.ID]int{}})
	}
	ctx, cancel := context.WithCancel(context.Background())
	f.cancel = cancel
	t.Cleanup(f.stop)
	for _, p := range f.phones {
		f.running.Go(func() {
			p.practise(ctx, f)
		})
	}
	return f
}

// await waits until some more uploads were acknowledged.
func (f *field) await(more int64) {
	f.t.Helper()
	deadline := time.After(time.Minute)
	for goal := f.acknowledged.Load() + more; f.acknowledged.Load() < goal; {
		select {
		case <-deadline:
			f.t.Fatalf("only %d uploads were acknowledged within a minute", f.acknowledged.Load())
		case <-time.After(time.Millisecond):
		}
	}
}

func (f *field) stop() {
	f.cancel()
	f.running.Wait()
}

func (p *phone) practise(ctx context.Context, f *field) {
	start := ago(24 * 300)
	for n := 0; ctx.Err() == nil; n++ {
		id := newID()
		start = start.Add(2 * time.Hour)
		for revision := 1; revision <= 2; revision++ {
			outcomes := in(5*revision) + "."
			p.upload(ctx, f, id, outing(revision, start, test(f.skill, outcomes)), len(outcomes))
			if n%3 == 0 { // a reply was lost
				p.upload(ctx, f, id, outing(revision, start, test(f.skill, outcomes)), len(outcomes))
			}
		}
	}
}

// upload sends until there is an answer, as phones do.
func (p *phone) upload(ctx context.Context, f *field, id domain.ID, session object, balls int) {
	body, err := json.Marshal(session)
	if err != nil {
		f.t.Error(err)
		return
	}
	for ctx.Err() == nil {
		status, err := f.put(id, p.student.token, body)
		switch {
		case err == nil && (status == 200 || status == 201):
			p.sent[id] = balls
			f.acknowledged.Add(1)
			return
		case err == nil && status < 500:
			f.t.Errorf("an upload was answered %d", status)
			return
		}
		time.Sleep(2 * time.Millisecond)
	}
}

func (f *field) put(id domain.ID, token string, body []byte) (status int, err error) {
	r, err := http.NewRequestWithContext(f.t.Context(), http.MethodPut, f.url.Load().(string)+sessionPath(id), bytes.NewReader(body))
	if err != nil {
		return 0, err
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Authorization", "Bearer "+token)
	response, err := f.client.Do(r)
	if err != nil {
		return 0, err
	}
	return response.StatusCode, response.Body.Close()
}

// check compares what stands with what was acknowledged. A phone that was
// stopped may have had one more upload under way.
func (p *phone) check(t *testing.T, f *field) {
	t.Helper()
	s := &service{url: f.url.Load().(string), transport: &http.Transport{}}
	c := s.caller(t).as(p.student.token)
	stands := map[domain.ID]int{}
	for next := "/v1/sessions?limit=200"; next != ""; {
		page := read[api.SessionPage](c, next)
		for _, x := range page.Items {
			if _, twice := stands[x.ID]; twice {
				t.Errorf("session %s is there twice", x.ID)
			}
			stands[x.ID] = len(read[api.SessionOutcome](c, sessionPath(x.ID)).Blocks[0].Balls)
		}
		next = page.Links.Next
	}
	total := 0
	for id, balls := range stands {
		total += balls
		if _, known := p.sent[id]; !known && len(stands) > len(p.sent)+1 {
			t.Errorf("session %s stands, and was never acknowledged", id)
		}
	}
	for id, balls := range p.sent {
		if stands[id] < balls {
			t.Errorf("session %s has %d balls; %d were acknowledged", id, stands[id], balls)
		}
	}
	progress := progressOf(c, p.student.id)
	at := skillOf(t, progress, f.skill)
	if progress.Sessions != len(stands) || at.Total.Sessions != len(stands) || at.Total.Balls != total {
		t.Errorf("progress counts %d sessions, %d of the skill, %d balls; want %d sessions of %d balls",
			progress.Sessions, at.Total.Sessions, at.Total.Balls, len(stands), total)
	}
	if len(p.sent) < 5 || at.Held != 1 {
		t.Errorf("%d sessions sent, %d tiers held; want some sessions and the first tier", len(p.sent), at.Held)
	}
}

// The same when it is the database server that is killed, and comes back, under
// a service that goes on.
func TestDatabaseCrash(t *testing.T) {
	t.Parallel()
	cluster, err := postgres.Start(postgres.Options{Durable: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(cluster.Stop)
	s := startOn(t, cluster.Database(t), newKeys(t))
	f := newField(t, s.url)
	for range 2 {
		f.await(between)
		cluster.Kill()
		if err := cluster.Restart(); err != nil {
			t.Fatal(err)
		}
	}
	f.await(between)
	f.stop()
	for _, phone := range f.phones {
		phone.check(t, f)
	}
	if out := must(t, "rebuild", "--database", s.database); !strings.Contains(out, fmt.Sprintf("%d students, 0 differences", len(f.phones))) {
		t.Errorf("rebuild says %q; want no differences", out)
	}
}
