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
	"fringework/domain/course"
	"fringework/domain/curriculum"
	"fringework/domain/greenside"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/webhook"
)

// Errors of a store that fails.
var (
	// ErrFault is what FailAt asked for.
	ErrFault = errors.New("domaintest: the store failed as asked")
	// ErrReadOnly says that a reading use case tried to write.
	ErrReadOnly = errors.New("domaintest: a write inside a read")
)

// Memory is a store of academies in memory. Its methods are safe for use by
// many goroutines; its transactions run one after the other.
type Memory struct {
	writing   sync.Mutex // held by a writing transaction
	mu        sync.Mutex
	academies map[domain.ID]*tables
	verified  map[domain.ID]bool // accounts whose e-mail is theirs
	calls     int
	failAt    int
	retries   int
	now       time.Time
	ids       int
}

// New makes a store without academies, whose clock stands at now.
func New(now time.Time) *Memory {
	return &Memory{academies: map[domain.ID]*tables{}, verified: map[domain.ID]bool{}, now: now}
}

// Env gives the store's clock and its identities, which rise from 1.
func (m *Memory) Env() domain.Env {
	return domain.Env{Now: m.Now, NewID: m.NewID}
}

// Now is what the store's clock shows; it stands still until moved.
func (m *Memory) Now() time.Time {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.now
}

// Set moves the clock to an instant.
func (m *Memory) Set(now time.Time) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.now = now
}

// Pass moves the clock on.
func (m *Memory) Pass(d time.Duration) { m.Set(m.Now().Add(d)) }

// NewID makes the next identity.
func (m *Memory) NewID() domain.ID {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.ids++
	return domain.ID(fmt.Sprintf("01900000-0000-7000-8000-%012d", m.ids))
}

// FailAt makes the nth store call from now on fail with ErrFault, and no other;
// 0 takes it back.
func (m *Memory) FailAt(n int) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.calls, m.failAt = 0, n
}

// Calls tells how many store calls there were since FailAt.
func (m *Memory) Calls() int {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.calls
}

// Retry makes every transaction run its function n times more and keep the
// last, as a database does that asks for a retry.
func (m *Memory) Retry(n int) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.retries = n
}

// AddAcademy opens an academy.
func (m *Memory) AddAcademy(a academy.Academy) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.academies[a.ID] = newTables(a)
}

// AddMember lets a member join, as an invitation does.
func (m *Memory) AddMember(in domain.ID, member academy.Member) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.academies[in].members[member.ID] = member
}

// AddLink lets a coach or a guardian work with a student.
func (m *Memory) AddLink(in, member, student domain.ID) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.academies[in].links[link{member, student}] = true
}

// Events gives an academy's log, in order.
func (m *Memory) Events(of domain.ID) []domain.Event {
	m.mu.Lock()
	defer m.mu.Unlock()
	return slices.Clone(m.academies[of].events)
}

// Snapshot gives everything kept of an academy, to compare with another one by
// reflect.DeepEqual.
func (m *Memory) Snapshot(of domain.ID) any {
	m.mu.Lock()
	defer m.mu.Unlock()
	c := m.academies[of].clone()
	c.changes, c.learned, c.insights.changes = 0, 0, 0 // how often is not what
	return *c
}

// Doctor lets a test change what is kept behind the services' back.
func (m *Memory) Doctor(of domain.ID, change func(practice.RebuildStore) error) error {
	return m.Rebuilding().Write(context.Background(), of, change)
}

// The transactors of the domain's services.

// Curriculum opens the store for curriculum.Service.
func (m *Memory) Curriculum() domain.Transactor[curriculum.Store] { return opener[curriculum.Store]{m} }

// People gives the service of the people.
func (m *Memory) People() academy.Service {
	return academy.Service{
		Store: opener[academy.Store]{m}, GroupStore: opener[academy.GroupStore]{m}, AssignmentStore: opener[academy.AssignmentStore]{m},
		Env: m.Env(),
	}
}

// Reading gives the service that reads progress.
func (m *Memory) Reading() academy.ReadService {
	return academy.ReadService{Store: opener[academy.ReadStore]{m}, Freshness: opener[academy.FreshStore]{m}, Env: m.Env()}
}

// Practice gives the service of the sessions.
func (m *Memory) Practice() practice.Service {
	return practice.Service{
		Store: opener[practice.Store]{m}, Importing: opener[practice.Store]{m}, Reading: opener[practice.ReadStore]{m}, Talking: opener[practice.CommentStore]{m},
		Env: m.Env(),
	}
}

// Pauses gives the service that tells of sessions that paused.
func (m *Memory) Pauses() practice.PauseService {
	return practice.PauseService{Store: opener[practice.PauseStore]{m}, Env: m.Env()}
}

// Rebuilding opens the store for practice.Rebuilder.
func (m *Memory) Rebuilding() domain.Transactor[practice.RebuildStore] {
	return opener[practice.RebuildStore]{m}
}

// Keeping opens the store for the keeping of progress.
func (m *Memory) Keeping() domain.Transactor[progress.Keeper] { return opener[progress.Keeper]{m} }

// Learning opens the store for academy.LearnService.
func (m *Memory) Learning() domain.Transactor[academy.LearnStore] {
	return opener[academy.LearnStore]{m}
}

// Proposing gives the service that proposes next week.
func (m *Memory) Proposing() academy.ProposalService {
	return academy.ProposalService{Store: opener[academy.ProposalStore]{m}, Env: m.Env()}
}

// Acknowledging opens the store for academy.AcknowledgeService.
func (m *Memory) Acknowledging() domain.Transactor[academy.AcknowledgementStore] {
	return opener[academy.AcknowledgementStore]{m}
}

// Messages gives the service of the messages.
func (m *Memory) Messages() academy.MessageService {
	return academy.MessageService{Store: opener[academy.MessageStore]{m}, Env: m.Env()}
}

// Reports gives the service of the links to reports.
func (m *Memory) Reports() academy.ReportService {
	return academy.ReportService{Store: opener[academy.ReportStore]{m}, Reading: opener[academy.ReadStore]{m}, Rounds: m.Rounds(), Env: m.Env()}
}

// Rounds gives the service of the rounds.
func (m *Memory) Rounds() academy.RoundService {
	return academy.RoundService{Store: opener[academy.RoundStore]{m}, Reading: opener[academy.ReadStore]{m}, Env: m.Env(), Baseline: course.Tour()}
}

// Adjusting opens the store for academy.AdjustService.
func (m *Memory) Adjusting() domain.Transactor[academy.AdjustmentStore] {
	return opener[academy.AdjustmentStore]{m}
}

// Logging opens the store for academy.EventService.
func (m *Memory) Logging() domain.Transactor[academy.EventStore] {
	return opener[academy.EventStore]{m}
}

// EventService gives the service that reads the log.
func (m *Memory) EventService() academy.EventService {
	return academy.EventService{Store: m.Logging(), Changing: m.Changes()}
}

// Retention opens the store for academy.RetentionService.
func (m *Memory) Retention() domain.Transactor[academy.RetentionStore] {
	return opener[academy.RetentionStore]{m}
}

// Changes opens the store in which academy.EventService tells what changed, and
// academy.LiveService what happens.
func (m *Memory) Changes() domain.Transactor[academy.ChangeStore] {
	return opener[academy.ChangeStore]{m}
}

// opener runs use cases on one kind of store.
type opener[S any] struct{ mem *Memory }

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
	o.mem.writing.Lock()
	defer o.mem.writing.Unlock()
	done, err := o.run(of, fn, true)
	if err != nil {
		return err
	}
	o.mem.mu.Lock()
	defer o.mem.mu.Unlock()
	o.mem.academies[of] = done
	return nil
}

func (o opener[S]) run(of domain.ID, fn func(S) error, writing bool) (*tables, error) {
	for tries := o.mem.retries; ; tries-- {
		o.mem.mu.Lock()
		stands, ok := o.mem.academies[of]
		o.mem.mu.Unlock()
		if !ok {
			return nil, domain.ErrNotFound("academy")
		}
		t := &tx{mem: o.mem, tables: stands.clone(), writing: writing}
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
	asked       map[link]time.Time // since when guardians wait for a student's word
	calendars   map[domain.ID]academy.CalendarLink
	erased      map[domain.ID]academy.Practised
	digests     map[domain.ID]digestRow // by member
	letters     []academy.DigestLetter  // never changed in place
	groups      map[domain.ID]academy.Group
	bags        map[domain.ID]greenside.Bag
	quiet       map[domain.ID][]academy.QuietWord
	seasons     map[domain.ID]academy.Season
	assignments map[domain.ID]academy.Assignment
	adjustments map[domain.ID]academy.Adjustment
	sessions    map[domain.ID]stored
	comments    map[domain.ID]practice.Comment
	messages    map[domain.ID]academy.Message
	reads       map[link]domain.ID
	marks       map[link]int // how often a member has read on
	reports     map[domain.ID]academy.ReportLink
	rounds      map[domain.ID]course.Round
	lessons     map[domain.ID]academy.Lesson // without media
	media       map[domain.ID]keptMedia
	tracks      map[atSkill]progress.Track
	states      map[atSkill]progress.State
	periods     map[atSkill][]progress.Period // oldest first
	habits      map[domain.ID]progress.Habit
	priors      progress.Priors
	insights    insights
	// changes and learned count changes of practice and of priors.
	changes, learned int
	silences         map[silence]academy.Acknowledgement
	refusals         map[academy.RefusalKey]academy.Refusal
	events           []domain.Event
	told             []academy.ToldReason // never changed in place
	endpoints        map[domain.ID]leasedEndpoint
	deliveries       map[domain.ID]webhook.Delivery
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
		// counts says that the session counts as one of its plan's.
		counts bool
	}
)

func newTables(a academy.Academy) *tables {
	t := &tables{academy: a}
	if t.academy.Challenge == 0 { // as a new one begins
		t.academy.Challenge = 100 * advice.DefaultChallenge
	}
	t.skills, t.programmes, t.versions = map[domain.ID]curriculum.Skill{}, map[domain.ID]curriculum.Programme{}, map[academy.VersionKey]curriculum.Version{}
	t.members, t.links, t.groups = map[domain.ID]academy.Member{}, map[link]bool{}, map[domain.ID]academy.Group{}
	t.assignments, t.sessions, t.comments = map[domain.ID]academy.Assignment{}, map[domain.ID]stored{}, map[domain.ID]practice.Comment{}
	t.tracks, t.states, t.periods = map[atSkill]progress.Track{}, map[atSkill]progress.State{}, map[atSkill][]progress.Period{}
	t.habits, t.bags, t.seasons = map[domain.ID]progress.Habit{}, map[domain.ID]greenside.Bag{}, map[domain.ID]academy.Season{}
	t.messages, t.reads, t.reports = map[domain.ID]academy.Message{}, map[link]domain.ID{}, map[domain.ID]academy.ReportLink{}
	t.rounds, t.quiet = map[domain.ID]course.Round{}, map[domain.ID][]academy.QuietWord{}
	t.lessons, t.media = map[domain.ID]academy.Lesson{}, map[domain.ID]keptMedia{}
	t.marks = map[link]int{}
	t.asked, t.calendars, t.erased = map[link]time.Time{}, map[domain.ID]academy.CalendarLink{}, map[domain.ID]academy.Practised{}
	t.adjustments, t.digests = map[domain.ID]academy.Adjustment{}, map[domain.ID]digestRow{}
	t.silences = map[silence]academy.Acknowledgement{}
	t.refusals = map[academy.RefusalKey]academy.Refusal{}
	t.endpoints, t.deliveries = map[domain.ID]leasedEndpoint{}, map[domain.ID]webhook.Delivery{}
	return t
}

func (t *tables) clone() *tables {
	c := *t
	c.skills, c.programmes, c.versions = maps.Clone(t.skills), maps.Clone(t.programmes), maps.Clone(t.versions)
	c.members, c.links, c.groups = maps.Clone(t.members), maps.Clone(t.links), maps.Clone(t.groups)
	c.assignments, c.sessions, c.comments = maps.Clone(t.assignments), maps.Clone(t.sessions), maps.Clone(t.comments)
	c.tracks, c.states, c.periods = maps.Clone(t.tracks), maps.Clone(t.states), maps.Clone(t.periods)
	c.adjustments = maps.Clone(t.adjustments)
	c.habits, c.priors = maps.Clone(t.habits), clonePriors(t.priors)
	c.rounds, c.quiet = maps.Clone(t.rounds), maps.Clone(t.quiet)
	c.lessons, c.media = maps.Clone(t.lessons), maps.Clone(t.media)
	c.asked, c.calendars, c.erased = maps.Clone(t.asked), maps.Clone(t.calendars), maps.Clone(t.erased)
	c.marks, c.bags, c.seasons = maps.Clone(t.marks), maps.Clone(t.bags), maps.Clone(t.seasons)
	c.messages, c.reads, c.reports = maps.Clone(t.messages), maps.Clone(t.reads), maps.Clone(t.reports)
	c.refusals, c.digests = maps.Clone(t.refusals), maps.Clone(t.digests)
	c.endpoints, c.deliveries = maps.Clone(t.endpoints), maps.Clone(t.deliveries)
	c.silences, c.events = maps.Clone(t.silences), slices.Clone(t.events)
	return &c
}

// tx is one transaction: every store interface of the domain.
type tx struct {
	mem *Memory
	*tables
	writing bool
}

// call begins a store call.
func (t *tx) call() error {
	t.mem.mu.Lock()
	defer t.mem.mu.Unlock()
	t.mem.calls++
	if t.mem.calls == t.mem.failAt {
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
	e.Seq = t.lastEvent() + 1
	t.events = append(t.events, e)
	return nil
}

// Events implements academy.EventStore.
func (t *tx) Events(_ context.Context, after int64, limit int) ([]domain.Event, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	rest := slices.DeleteFunc(slices.Clone(t.events), func(e domain.Event) bool { return e.Seq <= after })
	return rest[:min(limit, len(rest))], nil
}

// EventsBefore implements academy.EventStore.
func (t *tx) EventsBefore(_ context.Context, before int64, limit int) ([]domain.Event, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	rest := slices.DeleteFunc(slices.Clone(t.events), func(e domain.Event) bool { return before > 0 && e.Seq >= before })
	slices.Reverse(rest)
	return rest[:min(limit, len(rest))], nil
}

// LastEvent implements academy.EventStore.
func (t *tx) LastEvent(context.Context) (int64, error) { return t.lastEvent(), t.call() }

func (t *tables) lastEvent() int64 {
	if len(t.events) == 0 {
		return 0
	}
	return t.events[len(t.events)-1].Seq
}

// DropEvents implements academy.RetentionStore.
func (t *tx) DropEvents(_ context.Context, before time.Time, limit int) (int, error) {
	if err := t.change(); err != nil {
		return 0, err
	}
	n := 0
	for n < min(limit, len(t.events)-1) && t.events[n].At.Before(before) {
		n++
	}
	t.events = slices.Clone(t.events[n:])
	return n, nil
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

// unchanged reports whether the last event about a thing was before an instant; the
// nouns are the first words of events about it.
func (t *tables) unchanged(id domain.ID, since time.Time, nouns ...string) bool {
	if since.IsZero() {
		return false
	}
	return !slices.ContainsFunc(t.events, func(e domain.Event) bool {
		return e.Subject == id && slices.Contains(nouns, academy.Noun(e.Kind)) && !e.At.Before(since)
	})
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
