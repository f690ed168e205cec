package repo

import (
	"context"
	"fmt"
	"log/slog"
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/integration/postgres"
)

func TestMain(m *testing.M) { postgres.Main(m) }

// quiet keeps tests' slow statements to themselves.
var quiet = slog.New(slog.DiscardHandler)

// engines are the databases that sit the same exam.
var engines = []struct {
	name string
	url  func(testing.TB) string
}{
	{"sqlite", func(t testing.TB) string { return "sqlite:" + filepath.Join(t.TempDir(), "academy.db") }},
	{"postgres", func(t testing.TB) string { return postgres.Copy(t, migrated) }},
}

// migrated brings an empty database up to date.
func migrated(url string) error {
	db, err := Open(context.Background(), Config{URL: url, Relaxed: true, Log: quiet})
	if err != nil {
		return err
	}
	return db.Close()
}

// onEngines runs a test on a fresh database of each engine, beside others.
func onEngines(t *testing.T, test func(t *testing.T, db *DB)) {
	t.Helper()
	t.Parallel()
	for _, e := range engines {
		t.Run(e.name, func(t *testing.T) {
			t.Parallel()
			test(t, openAt(t, e.url(t)))
		})
	}
}

func openAt(t testing.TB, url string) *DB {
	t.Helper()
	db, err := Open(t.Context(), Config{URL: url, Relaxed: true, Log: quiet})
	if err != nil {
		t.Fatal(err)
	}
	db.UseVault(testVault)
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	})
	return db
}

// testVault seals with keys that all tests share.
var testVault = func() auth.Vault {
	keys, err := auth.Ephemeral()
	if err != nil {
		panic(err)
	}
	return auth.NewVault(func() *auth.Keyring { return keys }, func() time.Time { return monday })
}()

// monday is a Monday noon in spring, in UTC and whole milliseconds.
var monday = time.Date(2026, time.May, 4, 12, 0, 0, int(123*time.Millisecond), time.UTC)

// someDay is the date of that Monday.
var someDay = domain.Date{Year: 2026, Month: 5, Day: 4}

// ids makes identities in rising order, different in every call.
var ids atomic.Uint64

func newID() domain.ID {
	return domain.ID(fmt.Sprintf("019a0000-0000-7000-8000-%012x", ids.Add(1)))
}

// env is a clock that stands and identities that rise.
func env(now time.Time) domain.Env {
	return domain.Env{Now: func() time.Time { return now }, NewID: newID}
}

// fixture is an academy with people in it, made through the store of auth.
type fixture struct {
	t       testing.TB
	db      *DB
	ctx     context.Context
	academy domain.ID
	owner   domain.ID
	coach   domain.ID
	student domain.ID
}

func newFixture(t testing.TB, db *DB) *fixture {
	t.Helper()
	w := &fixture{t: t, db: db, ctx: t.Context(), academy: newID()}
	w.auth(func(tx auth.Tx) error {
		return tx.AddAcademy(w.ctx, auth.Academy{ID: w.academy, Name: "Sandhill Short Game", TimeZone: "Europe/Dublin", Created: monday})
	})
	w.owner, w.coach, w.student = w.member(domain.Owner), w.member(domain.Coach), w.member(domain.Student)
	w.auth(func(tx auth.Tx) error { return tx.Link(w.ctx, w.academy, w.coach, w.student, monday) })
	return w
}

func (w *fixture) auth(fn func(tx auth.Tx) error) {
	w.t.Helper()
	if err := w.db.Auth().Write(w.ctx, fn); err != nil {
		w.t.Fatal(err)
	}
}

func (w *fixture) member(role domain.Role) domain.ID {
	w.t.Helper()
	account, member := newID(), newID()
	w.auth(func(tx auth.Tx) error {
		a := auth.Account{ID: account, Email: string(account) + "@sandhill.example", Name: "Robin Ash", Password: "hash", Created: monday}
		if err := tx.AddAccount(w.ctx, a); err != nil {
			return err
		}
		return tx.AddMember(w.ctx, w.academy, auth.Member{
			ID: member, Account: account, Role: role, Name: "Robin " + string(role), TimeZone: "Europe/Dublin", Created: monday,
		})
	})
	return member
}

// write runs fn on its academy and fails the test if it fails.
func (w *fixture) write(fn func(*store) error) {
	w.t.Helper()
	if err := everything(w.db).Write(w.ctx, w.academy, fn); err != nil {
		w.t.Fatal(err)
	}
}

func (w *fixture) read(fn func(*store) error) {
	w.t.Helper()
	if err := everything(w.db).Read(w.ctx, w.academy, fn); err != nil {
		w.t.Fatal(err)
	}
}

// attempt runs fn and gives its error.
func (w *fixture) attempt(fn func(*store) error) error {
	return everything(w.db).Write(w.ctx, w.academy, fn)
}

// actor is one of its members.
func (w *fixture) actor(member domain.ID, role domain.Role) domain.Actor {
	return domain.Actor{Academy: w.academy, Member: member, Role: role}
}

func (w *fixture) asOwner() domain.Actor { return w.actor(w.owner, domain.Owner) }

func (w *fixture) practice(now time.Time) practice.Service {
	return practiceOf(w.db, env(now))
}

func (w *fixture) curriculum(now time.Time) curriculum.Service {
	return curriculum.Service{Store: w.db.Curriculum(), Env: env(now)}
}

func (w *fixture) people(now time.Time) academy.Service {
	return peopleOf(w.db, env(now))
}

// The services that package services wires, which cannot be imported here.

func practiceOf(db *DB, env domain.Env) practice.Service {
	return practice.Service{Store: db.Practice(), Importing: db.Importing(), Reading: db.Sessions(), Talking: db.Comments(), Env: env}
}

func peopleOf(db *DB, env domain.Env) academy.Service {
	return academy.Service{Store: db.People(), GroupStore: db.Groups(), AssignmentStore: db.Assignments(), Env: env}
}

// store is every store of the domain in one, for tests that look at several.
type store struct {
	*scope
	viewing
	listing
	groups
	keeping
	tracks
	versions
	adjustments
	assigned
	programmes
	skills
	states
	sessions
	events
	academies
	rowParts
	threads
	peopleStore
	groupStore
	assignmentStore
	adjustmentStore
	acknowledgementStore
	messageStore
	reportStore
	bagStore
	quietStore
	seasonStore
	proposalStore
	readStore
	learnStore
	changeStore
	curriculumStore
	practiceStore
	sessionStore
	commentStore
	pauseStore
	rebuildStore
}

// everything opens every store at once.
func everything(db *DB) domain.Transactor[*store] {
	return transactor[*store]{db, storeOf}
}

func storeOf(s *scope) *store {
	v, l, g, t, k, ac, parts, th := viewing{s}, listing{s}, groups{s}, tracks{s}, skills{s}, academies{s}, rowParts{s}, threads{s}
	return &store{
		s, v, l, g, keeping{s, t}, t, versions{s}, adjustments{s}, assigned{s}, programmes{s}, k, states{s}, sessions{s}, events{s}, ac, parts, th,
		peopleStore{s, v, l, ac}, groupStore{s, l, g}, assignmentStore{s, keeping{s, t}, v, l, g, versions{s}, adjustments{s}, assigned{s}},
		adjustmentStore{s, keeping{s, t}, v, versions{s}, adjustments{s}, assigned{s}},
		acknowledgementStore{s, v, k}, messageStore{s, v, l, g, th}, reportStore{s, v, ac}, bagStore{s, v, bags{s}}, quietStore{s, v, quieting{s}}, seasonStore{s, v}, proposalStore{s, v, l, k, parts, ac}, readStore{s, v, l, k, parts, th, bags{s}, quieting{s}}, learnStore{s}, changeStore{s, l, events{s}},
		curriculumStore{s, k, versions{s}, programmes{s}}, practiceStore{s, v}, sessionStore{s, v, l, sessions{s}, states{s}, t, comments{s}},
		commentStore{s, v, sessions{s}, comments{s}}, pauseStore{s, sessions{s}}, rebuildStore{s, sessions{s}, states{s}},
	}
}

// bare is what keeps a session by itself and nothing that follows from it.
func bare(s practice.Session) practice.Change {
	return practice.Change{Session: s, Fingerprint: s.Fingerprint(), Known: s.Revision > 1, Habit: progress.Habit{Student: s.Student}}
}

// must gives a value and fails the test on an error.
func must[T any](t testing.TB) func(v T, err error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// wantKind holds an error to a kind.
func wantKind(t testing.TB, what string, err error, want domain.Kind) {
	t.Helper()
	if err == nil || domain.KindOf(err) != want {
		t.Errorf("%s: got error %v of kind %d, want kind %d", what, err, domain.KindOf(err), want)
	}
}
