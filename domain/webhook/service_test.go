package webhook_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/domaintest"
	"fringework/domain/webhook"
)

var (
	ctx   = context.Background()
	now   = time.Date(2026, time.May, 4, 10, 0, 0, 0, time.UTC)
	owner = domaintest.AsOwner
)

const hollow = domaintest.Hollow

// fixture is an academy with a service of webhooks and a worker that sends to a
// receiver.
type fixture struct {
	*testing.T
	mem    *domaintest.Memory
	s      webhook.Service
	worker webhook.Worker
	to     *receiver
}

// receiver answers deliveries by its rule, and keeps which it took.
type receiver struct {
	mu     sync.Mutex
	answer func(d webhook.Delivery, try int) webhook.Result
	tries  map[domain.ID]int
	took   []webhook.Delivery
}

// Send implements webhook.Sender.
func (r *receiver) Send(_ context.Context, _ domain.ID, _ webhook.Endpoint, d webhook.Delivery, _ time.Time) webhook.Result {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.tries[d.ID]++
	result := r.answer(d, r.tries[d.ID])
	if result.Failure == "" {
		r.took = append(r.took, d)
	}
	return result
}

var (
	taken = webhook.Result{Status: 200}
	down  = webhook.Result{Failure: "The connection failed."}
)

func open(t *testing.T) *fixture {
	t.Helper()
	mem := domaintest.Populated(now)
	to := &receiver{tries: map[domain.ID]int{}, answer: func(webhook.Delivery, int) webhook.Result { return taken }}
	n := 0
	return &fixture{T: t, mem: mem, to: to,
		s:      webhook.Service{Store: mem.Webhooks(), Env: mem.Env(), NewSecret: func() string { n++; return fmt.Sprintf("whsec_%04d", n) }},
		worker: webhook.Worker{Store: mem.WebhookQueue(), Tasks: mem.WebhookTasks, Sender: to, Env: mem.Env()},
	}
}

func must[T any](v T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// tell writes events of a kind to the log.
func (f *fixture) tell(kind string, n int) {
	f.Helper()
	err := f.mem.WebhookQueue().Write(ctx, hollow, func(tx webhook.QueueStore) error {
		for range n {
			if err := tx.Record(ctx, domain.Event{At: f.mem.Now(), Kind: kind, Subject: f.mem.NewID(), Student: domaintest.AdaID}); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		f.Fatal(err)
	}
}

// round lets the worker work until there is nothing to do.
func (f *fixture) round() (tries int) {
	f.Helper()
	for {
		n := must(f.worker.Round(ctx))(f.T)
		tries += n
		if tasks := must(f.mem.WebhookTasks(ctx, f.mem.Now(), 9))(f.T); n == 0 && len(tasks) == 0 {
			return tries
		}
	}
}

func (f *fixture) create(kinds ...string) webhook.Endpoint {
	f.Helper()
	return must(f.s.Create(ctx, owner, webhook.Request{Name: "Club", URL: "https://club.example", Kinds: kinds}))(f.T)
}

func (f *fixture) want(what string, err error, kind domain.Kind, code string) {
	f.Helper()
	if e, ok := errors.AsType[*domain.Error](err); !ok || e.Kind != kind || e.Code != code {
		f.Errorf("%s: got %v, want %s", what, err, code)
	}
}

func TestManage(t *testing.T) {
	f := open(t)
	f.tell("session.stored", 3)
	e := f.create("session.stored")
	if e.Position != 3 || e.Secret != "whsec_0002" || e.Revision != 1 || e.CreatedBy != owner.Member || !e.On() { // every transaction runs twice
		t.Errorf("made %+v", e)
	}
	got := must(f.s.Change(ctx, owner, e.ID, 0, webhook.Request{Name: "Board", URL: "https://board.example", Off: true}))(t)
	if got.Name != "Board" || len(got.Kinds) != 0 || got.Disabled != webhook.ByOwner || !got.DisabledAt.Equal(now) || got.Revision != 2 {
		t.Errorf("changed %+v", got)
	}
	_, err := f.s.Ping(ctx, owner, e.ID)
	f.want("a try while off", err, domain.Conflict, "webhook_off")
	_, err = f.s.Resend(ctx, owner, e.ID, "x")
	f.want("again while off", err, domain.Conflict, "webhook_off")
	if f.tell("session.stored", 1); f.round() != 0 {
		t.Error("one that is off was told")
	}
	got = must(f.s.Change(ctx, owner, e.ID, 0, webhook.Request{Name: "Board", URL: "https://board.example"}))(t)
	if !got.On() || got.Disabled != "" {
		t.Errorf("switched on %+v", got)
	}
	got = must(f.s.Rotate(ctx, owner, e.ID))(t)
	if got.OldSecret != e.Secret || got.Secret == e.Secret || !got.OldUntil.Equal(now.Add(24*time.Hour)) {
		t.Errorf("rotated %+v", got)
	}
	if all := must(f.s.List(ctx, owner))(t); len(all) != 1 || all[0].Secret != got.Secret {
		t.Errorf("listed %+v", all)
	}
	if f.round() != 1 || f.to.took[0].Kind != "session.stored" {
		t.Errorf("told %+v, want what happened while it was off", f.to.took)
	}
	_, err = f.s.Create(ctx, owner, webhook.Request{Name: "Club", URL: "http://club.example"})
	f.want("without TLS", err, domain.Invalid, "webhook_invalid")
	_, err = f.s.Change(ctx, owner, e.ID, 0, webhook.Request{Name: "Club", URL: "x"})
	f.want("no address", err, domain.Invalid, "webhook_invalid")
	for range 9 {
		f.create()
	}
	_, err = f.s.Create(ctx, owner, webhook.Request{Name: "Club", URL: "https://club.example"})
	f.want("an eleventh", err, domain.Conflict, "too_many_webhooks")
	if err := f.s.Delete(ctx, owner, e.ID); err != nil {
		t.Error(err)
	}
	for what, err := range map[string]error{
		"get": failure(f.s.Get(ctx, owner, e.ID)), "change": failure(f.s.Change(ctx, owner, e.ID, 0, webhook.Request{})), "rotate": failure(f.s.Rotate(ctx, owner, e.ID)),
		"delete": f.s.Delete(ctx, owner, e.ID), "ping": failure(f.s.Ping(ctx, owner, e.ID)), "deliveries": failure(f.s.Deliveries(ctx, owner, e.ID, domain.Page{Limit: 9})),
		"resend": failure(f.s.Resend(ctx, owner, e.ID, "x")),
	} {
		f.want(what+" of a deleted one", err, domain.NotFound, "not_found")
	}
	var kinds []string
	for _, x := range f.mem.Events(hollow)[4:8] {
		kinds = append(kinds, x.Kind)
	}
	if want := []string{"webhook.changed", "session.stored", "webhook.changed", "webhook.changed"}; !slices.Equal(kinds, want) {
		t.Errorf("the log has %v, want %v", kinds, want)
	}
}

func failure[T any](_ T, err error) error { return err }

// TestOnlyOwners: nobody else has to do with webhooks.
func TestOnlyOwners(t *testing.T) {
	f := open(t)
	e := f.create()
	for who, a := range map[string]domain.Actor{"coach": domaintest.AsCoach, "student": domaintest.AsAda, "key": domaintest.AsKey, "guardian": domaintest.AsGuardian} {
		for _, err := range []error{
			failure(f.s.Create(ctx, a, webhook.Request{})), failure(f.s.List(ctx, a)), failure(f.s.Get(ctx, a, e.ID)), failure(f.s.Change(ctx, a, e.ID, 0, webhook.Request{})), failure(f.s.Rotate(ctx, a, e.ID)),
			f.s.Delete(ctx, a, e.ID), failure(f.s.Ping(ctx, a, e.ID)), failure(f.s.Deliveries(ctx, a, e.ID, domain.Page{})), failure(f.s.Resend(ctx, a, e.ID, "x")),
		} {
			f.want(who, err, domain.Forbidden, "owner_only")
		}
	}
}

// TestTold: an endpoint is told of the kinds it wants, once, and of nothing that was
// before it.
func TestTold(t *testing.T) {
	f := open(t)
	f.tell("session.stored", 1)
	some, all := f.create("session.stored", "member.joined"), f.create()
	f.tell("session.stored", 2)
	f.tell("key.created", 1)
	f.tell("milestone.made", 1)
	if tries := f.round(); tries != 5 {
		t.Errorf("%d tries, want two for one endpoint and three for the other", tries)
	}
	for e, want := range map[domain.ID][]string{some.ID: {"session.stored", "session.stored"}, all.ID: {"milestone.made", "session.stored", "session.stored"}} {
		var kinds []string
		for _, d := range must(f.s.Deliveries(ctx, owner, e, domain.Page{Limit: 9}))(t) {
			kinds = append(kinds, d.Kind)
			if d.State != webhook.Delivered || d.Attempts != 1 || d.Status != 200 || d.Student != domaintest.AdaID || d.Event == 0 {
				t.Errorf("delivered %+v", d)
			}
		}
		if !slices.Equal(kinds, want) {
			t.Errorf("%s was told %v, want %v", e, kinds, want)
		}
	}
	if f.round() != 0 {
		t.Error("told again")
	}
	ping := must(f.s.Ping(ctx, owner, some.ID))(t)
	first := f.to.took[0]
	must(f.s.Resend(ctx, owner, first.Endpoint, first.ID))(t)
	if f.round() != 2 || f.to.tries[first.ID] != 2 || f.to.tries[ping.ID] != 1 {
		t.Errorf("tries %v, want a ping and one again under its ID", f.to.tries)
	}
	_, err := f.s.Resend(ctx, owner, some.ID, "x")
	f.want("an absent delivery", err, domain.NotFound, "not_found")
	f.mem.Pass(webhook.KeptFor + time.Hour)
	f.tell("session.stored", 1)
	f.round()
	if left := must(f.s.Deliveries(ctx, owner, some.ID, domain.Page{Limit: 9}))(t); len(left) != 1 {
		t.Errorf("%d deliveries are listed after a month, want the new one", len(left))
	}
}

// TestUnreliable: a receiver that fails half its calls, and is down for days, takes
// everything in the end, each under one ID.
func TestUnreliable(t *testing.T) {
	f := open(t)
	e := f.create()
	calls := 0
	f.to.answer = func(webhook.Delivery, int) webhook.Result {
		if calls++; calls%2 == 0 {
			return webhook.Result{Status: 500, Failure: "The receiver answered 500."}
		}
		return taken
	}
	hours := func(n int) {
		for range n {
			f.tell("session.stored", 1)
			f.round()
			f.mem.Pass(time.Hour)
		}
	}
	hours(24)
	half := f.to.answer
	f.to.answer = func(webhook.Delivery, int) webhook.Result { return down }
	hours(4 * 24) // four days
	if got := must(f.s.Get(ctx, owner, e.ID))(t); !got.On() || got.FailingSince.IsZero() || got.Failures < 20 {
		t.Errorf("after four days: %+v", got)
	}
	f.to.answer = half
	hours(2 * 24)
	for range 24 { // what failed last has its pause
		f.mem.Pass(time.Hour)
		f.round()
	}
	f.everything(7 * 24)
}

// everything wants so many events to have been taken, and nothing to wait.
func (f *fixture) everything(n int) {
	f.Helper()
	f.to.mu.Lock()
	defer f.to.mu.Unlock()
	events := map[int64]domain.ID{}
	for _, d := range f.to.took {
		if id, again := events[d.Event]; again && id != d.ID {
			f.Errorf("event %d came as %s and as %s", d.Event, id, d.ID)
		}
		events[d.Event] = d.ID
	}
	if len(events) != n {
		f.Errorf("%d events were taken, want %d", len(events), n)
	}
}

// TestSwitchedOff: after five days without a success an endpoint is switched off and
// told of in the log; switched on again it is told of all.
func TestSwitchedOff(t *testing.T) {
	f := open(t)
	e := f.create()
	f.to.answer = func(webhook.Delivery, int) webhook.Result { return down }
	for range 8 * 24 {
		f.tell("session.stored", 1)
		f.round()
		f.mem.Pass(time.Hour)
	}
	got := must(f.s.Get(ctx, owner, e.ID))(t)
	if got.On() || got.Disabled != webhook.Failing || got.DisabledAt.Sub(now) < webhook.OffAfter || got.DisabledAt.Sub(now) > webhook.OffAfter+2*time.Hour {
		t.Errorf("after eight days: %+v", got)
	}
	notices := 0
	for _, x := range f.mem.Events(hollow) {
		if x.Kind == "webhook.disabled" && x.Subject == e.ID && x.Data["reason"] == "failing" && x.Actor == "" {
			notices++
		}
	}
	if notices != 1 {
		t.Errorf("told of %d times, want once", notices)
	}
	f.to.answer = func(webhook.Delivery, int) webhook.Result { return taken }
	if f.round() != 0 {
		t.Error("one that is off was told")
	}
	must(f.s.Change(ctx, owner, e.ID, 0, webhook.Request{Name: "Club", URL: "https://club.example"}))(t)
	f.round()
	f.everything(8 * 24)

	f.to.answer = func(webhook.Delivery, int) webhook.Result {
		return webhook.Result{Status: 410, Failure: "The receiver answered 410."}
	}
	f.tell("session.stored", 1)
	f.round()
	if got := must(f.s.Get(ctx, owner, e.ID))(t); got.Disabled != webhook.GoneFor {
		t.Errorf("after a 410: %+v", got)
	}
}

// TestPoison: one delivery that never is taken is given up after ten days; the
// others are not held up.
func TestPoison(t *testing.T) {
	f := open(t)
	e := f.create()
	f.to.answer = func(d webhook.Delivery, _ int) webhook.Result {
		if d.Event == 2 {
			return webhook.Result{Status: 400, Failure: "The receiver answered 400."}
		}
		return taken
	}
	for range 12 * 24 {
		f.tell("session.stored", 1)
		f.round()
		f.mem.Pass(time.Hour)
	}
	failed := slices.DeleteFunc(must(f.s.Deliveries(ctx, owner, e.ID, domain.Page{Limit: 500}))(t), func(d webhook.Delivery) bool { return d.State == webhook.Delivered })
	if len(failed) != 1 || failed[0].State != webhook.Failed || failed[0].Event != 2 || failed[0].Attempts < 10 {
		t.Errorf("not delivered: %+v, want the one alone, given up", failed)
	}
	f.everything(12*24 - 1)
}

// TestWorkerDies: what was sent by a worker that died before it could say so is sent
// again under its ID, by another, once the lease is over.
func TestWorkerDies(t *testing.T) {
	f := open(t)
	f.create()
	f.tell("session.stored", 3)
	var die context.CancelFunc
	var dying context.Context
	dying, die = context.WithCancel(ctx)
	f.to.answer = func(webhook.Delivery, int) webhook.Result { f.mem.FailAt(1); die(); return taken }
	if _, err := f.worker.Round(dying); err == nil {
		t.Error("a store that failed was not told of")
	}
	f.to.answer = func(webhook.Delivery, int) webhook.Result { return taken }
	if f.round() != 0 {
		t.Error("somebody else's lease was not heeded")
	}
	f.mem.Pass(3 * time.Minute)
	f.round()
	f.everything(3)
	if len(f.to.took) != 4 {
		t.Errorf("%d were taken, want one twice", len(f.to.took))
	}
	// Told to stop, it keeps what it did and begins nothing new.
	f.tell("session.stored", 3)
	dying, die = context.WithCancel(ctx)
	f.to.answer = func(webhook.Delivery, int) webhook.Result { die(); return taken }
	if n := must(f.worker.Round(dying))(t); n != 1 {
		t.Errorf("%d tries after it was told to stop, want the one", n)
	}
	f.to.answer = func(webhook.Delivery, int) webhook.Result { return taken }
	f.round()
	if f.everything(6); len(f.to.took) != 7 {
		t.Errorf("%d were taken, want none twice", len(f.to.took))
	}
}

// TestTakenAway: a worker whose endpoint an owner changed meanwhile keeps nothing.
func TestTakenAway(t *testing.T) {
	f := open(t)
	e := f.create()
	f.tell("session.stored", 2)
	f.to.answer = func(_ webhook.Delivery, try int) webhook.Result {
		if try == 1 && len(f.to.took) == 0 {
			must(f.s.Rotate(ctx, owner, e.ID))(t)
		}
		return taken
	}
	if n := must(f.worker.Round(ctx))(t); n != 1 {
		t.Errorf("%d tries, want it to stop", n)
	}
	f.round()
	f.everything(2)
	if len(f.to.took) != 3 {
		t.Errorf("%d were taken, want the first twice, with the new secret", len(f.to.took))
	}
}

func TestFaults(t *testing.T) {
	f := open(t)
	e := f.create()
	for range 2 {
		f.tell("session.stored", 1)
	}
	f.round()
	d := must(f.s.Deliveries(ctx, owner, e.ID, domain.Page{Limit: 1}))(t)[0]
	off := must(f.s.Create(ctx, owner, webhook.Request{Name: "Off", URL: "https://club.example", Off: true}))(t)
	for name, try := range map[string]func() error{
		"create": func() error {
			return failure(f.s.Create(ctx, owner, webhook.Request{Name: "x", URL: "https://x.example"}))
		},
		"list": func() error { return failure(f.s.List(ctx, owner)) },
		"get":  func() error { return failure(f.s.Get(ctx, owner, e.ID)) },
		"change": func() error {
			return failure(f.s.Change(ctx, owner, e.ID, 0, webhook.Request{Name: "x", URL: "https://x.example"}))
		},
		"on": func() error {
			return failure(f.s.Change(ctx, owner, off.ID, 0, webhook.Request{Name: "x", URL: "https://x.example"}))
		},
		"ping": func() error { return failure(f.s.Ping(ctx, owner, e.ID)) }, "resend": func() error { return failure(f.s.Resend(ctx, owner, e.ID, d.ID)) },
		"deliveries": func() error { return failure(f.s.Deliveries(ctx, owner, e.ID, domain.Page{Limit: 9})) },
	} {
		if err := domaintest.EveryFault(t, f.mem, hollow, try); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := domaintest.EveryFault(t, f.mem, hollow, func() error { return f.s.Delete(ctx, owner, off.ID) }); err != nil {
		t.Error(err)
	}
	for n := 1; n < 20; n++ {
		f.tell("session.stored", 1)
		f.mem.FailAt(n)
		_, err := f.worker.Round(ctx)
		if failed := f.mem.Calls() >= n; failed && err == nil {
			t.Errorf("store call %d failed, and the worker did not say so", n)
		}
		f.mem.FailAt(0)
		f.mem.Pass(time.Hour)
		f.round()
	}
	for _, d := range must(f.s.Deliveries(ctx, owner, e.ID, domain.Page{Limit: 99}))(t) {
		if d.State != webhook.Delivered {
			t.Errorf("left behind: %+v", d)
		}
	}
	f.worker.Tasks = func(context.Context, time.Time, int) ([]webhook.Task, error) { return nil, domaintest.ErrFault }
	if _, err := f.worker.Round(ctx); err == nil {
		t.Error("a list that failed was not told of")
	}
}

// Whoever asks is told that an endpoint is served, under a context that all of it is
// done with, and what came of it.
func TestServingIsTold(t *testing.T) {
	type key struct{}
	f := open(t)
	f.create()
	var ends []error
	f.worker.Begin = func(ctx context.Context) (context.Context, func(error)) {
		return context.WithValue(ctx, key{}, true), func(err error) { ends = append(ends, err) }
	}
	inside := 0
	f.worker.Sender = sending(func(ctx context.Context) {
		if ctx.Value(key{}) == true {
			inside++
		}
	})
	f.tell("session.stored", 2)
	f.round()
	if inside != 2 || len(ends) == 0 || errors.Join(ends...) != nil {
		t.Errorf("%d sent under what was told, which ended with %v", inside, ends)
	}
	f.tell("session.stored", 1)
	ends = nil
	f.mem.FailAt(1)
	_, err := f.worker.Round(ctx)
	f.mem.FailAt(0)
	if err == nil || len(ends) != 1 || ends[0] == nil {
		t.Errorf("a round that failed with %v was told of as %v", err, ends)
	}
}

// sending is a sender that all take from, and that tells the context of each try.
type sending func(context.Context)

// Send implements webhook.Sender.
func (s sending) Send(ctx context.Context, _ domain.ID, _ webhook.Endpoint, _ webhook.Delivery, _ time.Time) webhook.Result {
	s(ctx)
	return taken
}

// Nothing is sent about a junior whose guardian agreed to no apps, nor of what waited
// while the guardian withdrew.
func TestJuniorsAreWithheldFromWebhooks(t *testing.T) {
	f := open(t)
	people := f.mem.People()
	e := f.create("session.stored")
	about := func(student domain.ID) {
		t.Helper()
		err := f.mem.WebhookQueue().Write(ctx, hollow, func(tx webhook.QueueStore) error {
			return tx.Record(ctx, domain.Event{At: f.mem.Now(), Kind: "session.stored", Subject: f.mem.NewID(), Student: student})
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	agrees := func(to bool) {
		t.Helper()
		must(people.Consent(ctx, domaintest.AsGuardian, domaintest.JuneID, academy.ConsentChange{Given: true, Apps: &to}))(t)
	}
	told := func(when string, want ...domain.ID) {
		t.Helper()
		f.to.took = nil
		f.round()
		var got []domain.ID
		for _, d := range f.to.took {
			got = append(got, d.Student)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: told of %v, want %v", when, got, want)
		}
	}
	about(domaintest.JuneID)
	about(domaintest.AdaID)
	told("without consent", domaintest.AdaID)
	agrees(true)
	about(domaintest.JuneID)
	told("once agreed", domaintest.JuneID)
	f.to.answer = func(webhook.Delivery, int) webhook.Result { return down }
	about(domaintest.JuneID)
	if must(f.worker.Round(ctx))(t) != 1 {
		t.Fatal("nothing was tried")
	}
	agrees(false)
	f.to.answer = func(webhook.Delivery, int) webhook.Result { return taken }
	f.mem.Pass(time.Hour)
	told("after it was withdrawn")
	list := must(f.s.Deliveries(ctx, owner, e.ID, domain.Page{Limit: 1}))(t)
	if d := list[0]; d.State != webhook.Failed || d.Attempts != 1 || !d.LastAt.Equal(f.mem.Now()) || d.Failure == down.Failure {
		t.Errorf("the delivery that waited is %+v, want it given up, and why", d)
	}
}

// A change is made to the revision that it was made for.
func TestChangeOfARevision(t *testing.T) {
	f := open(t)
	e := f.create()
	board := webhook.Request{Name: "Board", URL: "https://board.example"}
	must(f.s.Change(ctx, owner, e.ID, 1, board))(t)
	_, err := f.s.Change(ctx, owner, e.ID, 1, webhook.Request{Name: "Late", URL: "https://late.example"})
	f.want("a change of revision 1", err, domain.Stale, "stale")
	if got := must(f.s.Get(ctx, owner, e.ID))(t); got.Name != "Board" || got.Revision != 2 {
		t.Errorf("got %+v, want the first change alone", got)
	}
}
