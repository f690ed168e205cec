// Package domaintest is an in-memory store for tests of the domain's services:
// every store interface of the domain, academies kept apart, transactions that
// roll back, reads that refuse to write, and failures on demand.
package domaintest

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"sync"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// Errors of a store that fails.
var (
	// ErrFault is what FailAt asked for.
	ErrFault = errors.New("domaintest: the store failed as asked")
	// ErrReadOnly says that a reading use case tried to write.
	ErrReadOnly = errors.New("domaintest: a write inside a read")
)

// World holds academies. Its methods are safe for use by many goroutines; its
// transactions run one after the other.
type World struct {
	writing   sync.Mutex // held by a writing transaction
	mu        sync.Mutex
	academies map[domain.ID]*tables
	calls     int
	failAt    int
	retries   int
	now       time.Time
	ids       int
}

// New makes a world without academies, whose clock stands at now.
func New(now time.Time) *World {
	return &World{academies: map[domain.ID]*tables{}, now: now}
}

// Env gives the world's clock and its identities, which rise from 1.
func (w *World) Env() domain.Env {
	return domain.Env{Now: w.Now, NewID: w.NewID}
}

// Now is what the world's clock shows; it stands still until moved.
func (w *World) Now() time.Time {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.now
}

// Set moves the clock to an instant.
func (w *World) Set(now time.Time) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.now = now
}

// Pass moves the clock on.
func (w *World) Pass(d time.Duration) { w.Set(w.Now().Add(d)) }

// NewID makes the next identity.
func (w *World) NewID() domain.ID {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.ids++
	return domain.ID(fmt.Sprintf("01900000-0000-7000-8000-%012d", w.ids))
}

// FailAt makes the nth store call from now on fail with ErrFault, and no other;
// 0 takes it back.
func (w *World) FailAt(n int) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.calls, w.failAt = 0, n
}

// Calls tells how many store calls there were since FailAt.
func (w *World) Calls() int {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.calls
}

// Retry makes every transaction run its function n times more and keep the
// last, as a database does that asks for a retry.
func (w *World) Retry(n int) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.retries = n
}

// AddAcademy opens an academy.
func (w *World) AddAcademy(a academy.Academy) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.academies[a.ID] = newTables(a)
}

// AddMember lets a member join, as an invitation does.
func (w *World) AddMember(in domain.ID, m academy.Member) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.academies[in].members[m.ID] = m
}

// AddLink lets a coach or a guardian work with a student.
func (w *World) AddLink(in, member, student domain.ID) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.academies[in].links[link{member, student}] = true
}

// Events gives an academy's log, in order.
func (w *World) Events(of domain.ID) []domain.Event {
	w.mu.Lock()
	defer w.mu.Unlock()
	return slices.Clone(w.academies[of].events)
}

// Snapshot gives everything kept of an academy, to compare with another one by
// reflect.DeepEqual.
func (w *World) Snapshot(of domain.ID) any {
	w.mu.Lock()
	defer w.mu.Unlock()
	c := w.academies[of].clone()
	c.changes, c.learned = 0, 0 // how often is not what
	return *c
}

// Doctor lets a test change what is kept behind the services' back.
func (w *World) Doctor(of domain.ID, change func(practice.RebuildStore) error) error {
	return w.Rebuilding().Write(context.Background(), of, change)
}

// The transactors of the domain's services.

// Curriculum opens the world for curriculum.Service.
func (w *World) Curriculum() domain.Transactor[curriculum.Store] { return opener[curriculum.Store]{w} }

// People gives the service of the world's people.
func (w *World) People() academy.Service {
	return academy.Service{
		Store: opener[academy.Store]{w}, GroupStore: opener[academy.GroupStore]{w}, AssignmentStore: opener[academy.AssignmentStore]{w},
		Env: w.Env(),
	}
}

// Reading gives the service that reads the world.
func (w *World) Reading() academy.ReadService {
	return academy.ReadService{Store: opener[academy.ReadStore]{w}, Freshness: opener[academy.FreshStore]{w}, Env: w.Env()}
}

// Practice gives the service of the world's sessions.
func (w *World) Practice() practice.Service {
	return practice.Service{
		Store: opener[practice.Store]{w}, Reading: opener[practice.ReadStore]{w}, Talking: opener[practice.CommentStore]{w},
		Env: w.Env(),
	}
}

// Pauses gives the service that tells of sessions that paused.
func (w *World) Pauses() practice.PauseService {
	return practice.PauseService{Store: opener[practice.PauseStore]{w}, Env: w.Env()}
}

// Rebuilding opens the world for practice.Rebuilder.
func (w *World) Rebuilding() domain.Transactor[practice.RebuildStore] {
	return opener[practice.RebuildStore]{w}
}

// Keeping opens the world for the keeping of progress.
func (w *World) Keeping() domain.Transactor[progress.Keeper] { return opener[progress.Keeper]{w} }

// Learning opens the world for academy.LearnService.
func (w *World) Learning() domain.Transactor[academy.LearnStore] {
	return opener[academy.LearnStore]{w}
}

// Acknowledging opens the world for academy.AcknowledgeService.
func (w *World) Acknowledging() domain.Transactor[academy.AcknowledgementStore] {
	return opener[academy.AcknowledgementStore]{w}
}

// Logging opens the world for academy.EventService.
func (w *World) Logging() domain.Transactor[academy.EventStore] {
	return opener[academy.EventStore]{w}
}

// Live opens the world for academy.LiveService.
func (w *World) Live() domain.Transactor[academy.LiveStore] { return opener[academy.LiveStore]{w} }

// opener runs use cases on one kind of store.
type opener[S any] struct{ w *World }

// Read implements domain.Transactor.
func (o opener[S]) Read(_ context.Context, of domain.ID, fn func(S) error) error {
	_, err := o.run(of, fn, false)
	return err
}

// ReadOnce implements domain.Transactor.
func (o opener[S]) ReadOnce(ctx context.Context, of domain.ID, fn func(S) error) error {
	return o.Read(ctx, of, fn)
}

// Write implements domain.Transactor.
func (o opener[S]) Write(_ context.Context, of domain.ID, fn func(S) error) error {
	o.w.writing.Lock()
	defer o.w.writing.Unlock()
	done, err := o.run(of, fn, true)
	if err != nil {
		return err
	}
	o.w.mu.Lock()
	defer o.w.mu.Unlock()
	o.w.academies[of] = done
	return nil
}

func (o opener[S]) run(of domain.ID, fn func(S) error, writing bool) (*tables, error) {
	for tries := o.w.retries; ; tries-- {
		o.w.mu.Lock()
		stands, ok := o.w.academies[of]
		o.w.mu.Unlock()
		if !ok {
			return nil, domain.ErrNotFound("academy")
		}
		t := &tx{w: o.w, tables: stands.clone(), writing: writing}
		if err := fn(any(t).(S)); err != nil || tries <= 0 {
			return t.tables, err
		}
	}
}

// tables are everything kept of one academy. Values are never changed in
// place, so that a copy of the maps is a snapshot.
type tables struct {
	academy     academy.Academy
	skills      map[domain.ID]curriculum.Skill
	programmes  map[domain.ID]curriculum.Programme
	versions    map[academy.VersionKey]curriculum.Version
	members     map[domain.ID]academy.Member
	links       map[link]bool
	groups      map[domain.ID]academy.Group
	assignments map[domain.ID]academy.Assignment
	sessions    map[domain.ID]stored
	comments    map[domain.ID]practice.Comment
	tracks      map[atSkill]progress.Track
	states      map[atSkill]progress.State
	periods     map[atSkill][]progress.Period // oldest first
	habits      map[domain.ID]progress.Habit
	priors      progress.Priors
	// changes and learned count changes of practice and of priors.
	changes, learned int
	silences         map[silence]academy.Acknowledgement
	events           []domain.Event
}

type (
	link    struct{ member, student domain.ID }
	atSkill struct{ student, skill domain.ID }
	// silence is the key of an acknowledgement.
	silence struct {
		atSkill
		reason advice.Reason
	}
	// stored is a session with the fingerprint of what was sent.
	stored struct {
		practice.Session
		print [32]byte
		// untold says that no event tells of the revision yet.
		untold bool
	}
)

func newTables(a academy.Academy) *tables {
	t := &tables{academy: a}
	t.skills, t.programmes, t.versions = map[domain.ID]curriculum.Skill{}, map[domain.ID]curriculum.Programme{}, map[academy.VersionKey]curriculum.Version{}
	t.members, t.links, t.groups = map[domain.ID]academy.Member{}, map[link]bool{}, map[domain.ID]academy.Group{}
	t.assignments, t.sessions, t.comments = map[domain.ID]academy.Assignment{}, map[domain.ID]stored{}, map[domain.ID]practice.Comment{}
	t.tracks, t.states, t.periods = map[atSkill]progress.Track{}, map[atSkill]progress.State{}, map[atSkill][]progress.Period{}
	t.habits = map[domain.ID]progress.Habit{}
	t.silences = map[silence]academy.Acknowledgement{}
	return t
}

func (t *tables) clone() *tables {
	c := *t
	c.skills, c.programmes, c.versions = maps.Clone(t.skills), maps.Clone(t.programmes), maps.Clone(t.versions)
	c.members, c.links, c.groups = maps.Clone(t.members), maps.Clone(t.links), maps.Clone(t.groups)
	c.assignments, c.sessions, c.comments = maps.Clone(t.assignments), maps.Clone(t.sessions), maps.Clone(t.comments)
	c.tracks, c.states, c.periods = maps.Clone(t.tracks), maps.Clone(t.states), maps.Clone(t.periods)
	c.habits, c.priors = maps.Clone(t.habits), maps.Clone(t.priors)
	c.silences, c.events = maps.Clone(t.silences), slices.Clone(t.events)
	return &c
}

// tx is one transaction: every store interface of the domain.
type tx struct {
	w *World
	*tables
	writing bool
}

// call begins a store call.
func (t *tx) call() error {
	t.w.mu.Lock()
	defer t.w.mu.Unlock()
	t.w.calls++
	if t.w.calls == t.w.failAt {
		return ErrFault
	}
	return nil
}

// change begins a store call that writes.
func (t *tx) change() error {
	if !t.writing {
		return ErrReadOnly
	}
	return t.call()
}

// Record implements domain.EventLog.
func (t *tx) Record(_ context.Context, e domain.Event) error {
	if err := t.change(); err != nil {
		return err
	}
	e.Seq = int64(len(t.events) + 1)
	t.events = append(t.events, e)
	return nil
}

// Events implements academy.EventStore.
func (t *tx) Events(_ context.Context, after int64, limit int) ([]domain.Event, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	rest := t.events[min(max(0, int(after)), len(t.events)):]
	return slices.Clone(rest[:min(limit, len(rest))]), nil
}

// LastEvent implements academy.LiveStore.
func (t *tx) LastEvent(context.Context) (int64, error) {
	return int64(len(t.events)), t.call()
}

// next holds a save to the revision after the one that stands.
func next(what string, revision, stands int) error {
	if stands == 0 && revision > 1 {
		return domain.ErrNotFound(what)
	}
	if revision != stands+1 {
		return domain.Errorf(domain.Stale, "stale", "The %s is at revision %d, so %d cannot follow.", what, stands, revision)
	}
	return nil
}

// page cuts a list in order of identity.
func page[T any](all []T, id func(T) domain.ID, p domain.Page) []T {
	slices.SortFunc(all, func(a, b T) int { return compareIDs(id(a), id(b)) })
	all = slices.DeleteFunc(all, func(x T) bool { return id(x) <= p.After })
	return all[:min(len(all), max(1, p.Limit))]
}

func compareIDs(a, b domain.ID) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// copied gives a copy of a value that shares no slice, map or pointer with it.
func copied[T any](v T) T {
	c := reflect.New(reflect.TypeOf(&v).Elem()).Elem()
	deep(c, reflect.ValueOf(&v).Elem())
	return c.Interface().(T)
}

func deep(to, from reflect.Value) {
	to.Set(from)
	switch from.Kind() {
	case reflect.Pointer:
		if !from.IsNil() && from.Type() != reflect.TypeFor[*time.Location]() {
			to.Set(reflect.New(from.Type().Elem()))
			deep(to.Elem(), from.Elem())
		}
	case reflect.Slice:
		if !from.IsNil() {
			to.Set(reflect.MakeSlice(from.Type(), from.Len(), from.Len()))
			for i := range from.Len() {
				deep(to.Index(i), from.Index(i))
			}
		}
	case reflect.Struct:
		if from.Type() == reflect.TypeFor[time.Time]() {
			return
		}
		for i := range from.NumField() {
			if to.Field(i).CanSet() {
				deep(to.Field(i), from.Field(i))
			}
		}
	}
}
