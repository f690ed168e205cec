package domaintest

import (
	"context"
	"fmt"
	"reflect"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/webhook"
)

// Stores are the stores of the domain over one database, and the ways in which
// people come into it, which are not the domain's.
type Stores struct {
	People           domain.Transactor[academy.Store]
	Groups           domain.Transactor[academy.GroupStore]
	Assignments      domain.Transactor[academy.AssignmentStore]
	Adjustments      domain.Transactor[academy.AdjustmentStore]
	Acknowledgements domain.Transactor[academy.AcknowledgementStore]
	Messages         domain.Transactor[academy.MessageStore]
	Reports          domain.Transactor[academy.ReportStore]
	Rounds           domain.Transactor[academy.RoundStore]
	Bags             domain.Transactor[academy.BagStore]
	Quiet            domain.Transactor[academy.QuietStore]
	Seasons          domain.Transactor[academy.SeasonStore]
	Lessons          domain.Transactor[academy.LessonStore]
	Media            domain.Transactor[academy.MediaStore]
	Rights           domain.Transactor[academy.RightsStore]
	Guardians        domain.Transactor[academy.GuardianStore]
	Calendars        domain.Transactor[academy.CalendarStore]
	Digests          domain.Transactor[academy.DigestStore]
	Proposals        domain.Transactor[academy.ProposalStore]
	Reading          domain.Transactor[academy.ReadStore]
	Cohorts          domain.Transactor[academy.CohortStore]
	Learning         domain.Transactor[academy.LearnStore]
	Insights         domain.Transactor[academy.InsightStore]
	Events           domain.Transactor[academy.EventStore]
	Changes          domain.Transactor[academy.ChangeStore]
	Retention        domain.Transactor[academy.RetentionStore]
	Webhooks         domain.Transactor[webhook.Store]
	Watching         domain.Transactor[academy.WatchStore]
	Queue            domain.Transactor[webhook.QueueStore]
	Curriculum       domain.Transactor[curriculum.Store]
	Practice         domain.Transactor[practice.Store]
	Sessions         domain.Transactor[practice.ReadStore]
	Comments         domain.Transactor[practice.CommentStore]
	Matches          domain.Transactor[practice.MatchStore]
	Pauses           domain.Transactor[practice.PauseStore]
	Rebuilding       domain.Transactor[practice.RebuildStore]

	AddAcademy func(academy.Academy) error
	// AddMember lets a member join as of JoinedAt, with an account of the
	// member's e-mail.
	AddMember func(in domain.ID, m academy.Member) error
	// AddLink lets a coach or a guardian work with a student.
	AddLink func(in, member, student domain.ID) error
	// VerifyEmail shows an account's e-mail to be its holder's.
	VerifyEmail func(account domain.ID, at time.Time) error
	// Letters gives the weekly letters of an academy that wait to be sent.
	Letters func(in domain.ID) ([]academy.DigestLetter, error)
}

// Stores gives the stores in memory.
func (m *Memory) Stores() Stores {
	return Stores{
		People: opener[academy.Store]{m}, Groups: opener[academy.GroupStore]{m}, Assignments: opener[academy.AssignmentStore]{m},
		Adjustments:      opener[academy.AdjustmentStore]{m},
		Acknowledgements: opener[academy.AcknowledgementStore]{m}, Messages: opener[academy.MessageStore]{m}, Reports: opener[academy.ReportStore]{m}, Bags: opener[academy.BagStore]{m}, Quiet: opener[academy.QuietStore]{m}, Seasons: opener[academy.SeasonStore]{m},
		Lessons: opener[academy.LessonStore]{m}, Media: opener[academy.MediaStore]{m},
		Rights: opener[academy.RightsStore]{m}, Guardians: opener[academy.GuardianStore]{m}, Calendars: opener[academy.CalendarStore]{m}, Digests: opener[academy.DigestStore]{m},
		Reading: opener[academy.ReadStore]{m}, Cohorts: opener[academy.CohortStore]{m}, Learning: opener[academy.LearnStore]{m}, Insights: opener[academy.InsightStore]{m},
		Proposals: opener[academy.ProposalStore]{m}, Rounds: opener[academy.RoundStore]{m},
		Webhooks: opener[webhook.Store]{m}, Queue: opener[webhook.QueueStore]{m}, Watching: opener[academy.WatchStore]{m},
		Changes: opener[academy.ChangeStore]{m}, Retention: opener[academy.RetentionStore]{m},
		Events: opener[academy.EventStore]{m}, Curriculum: opener[curriculum.Store]{m},
		Practice: opener[practice.Store]{m}, Sessions: opener[practice.ReadStore]{m}, Comments: opener[practice.CommentStore]{m},
		Matches: opener[practice.MatchStore]{m}, Pauses: opener[practice.PauseStore]{m}, Rebuilding: opener[practice.RebuildStore]{m},
		AddAcademy:  func(a academy.Academy) error { m.AddAcademy(a); return nil },
		AddMember:   func(in domain.ID, member academy.Member) error { m.AddMember(in, member); return nil },
		AddLink:     func(in, member, student domain.ID) error { m.AddLink(in, member, student); return nil },
		VerifyEmail: func(account domain.ID, _ time.Time) error { m.VerifyEmail(account); return nil },
		Letters:     func(in domain.ID) ([]academy.DigestLetter, error) { return m.DigestLetters(in), nil },
	}
}

// Exercise holds stores to the contracts that the domain's store interfaces
// tell. open gives the stores of an empty database, and closes it when its test
// ends.
func Exercise(t *testing.T, open func(t *testing.T) Stores) {
	t.Helper()
	for name, check := range map[string]func(*exam){
		"as given":          (*exam).asGiven,
		"absent":            (*exam).absent,
		"revisions":         (*exam).revisions,
		"references":        (*exam).references,
		"members":           (*exam).members,
		"links":             (*exam).links,
		"groups":            (*exam).groups,
		"curriculum":        (*exam).curriculum,
		"assignments":       (*exam).assignments,
		"sessions":          (*exam).sessions,
		"session lists":     (*exam).sessionLists,
		"overlapping":       (*exam).overlapping,
		"opening":           (*exam).opening,
		"stale sessions":    (*exam).staleSessions,
		"another's session": (*exam).anothersSession,
		"periods":           (*exam).periods,
		"kept":              (*exam).kept,
		"everybody":         (*exam).everybody,
		"comments":          (*exam).comments,
		"pauses":            (*exam).pauses,
		"priors":            (*exam).priors,
		"insights":          (*exam).insights,
		"acknowledgements":  (*exam).acknowledgements,
		"messages":          (*exam).messages,
		"report links":      (*exam).reportLinks,
		"rounds":            (*exam).rounds,
		"adjustments":       (*exam).adjustments,
		"refusals":          (*exam).refusals,
		"log":               (*exam).log,
		"retention":         (*exam).retention,
		"updated since":     (*exam).updatedSince,
		"webhooks":          (*exam).webhooks,
		"told reasons":      (*exam).toldReasons,
		"another academy":   (*exam).anotherAcademy,
		"reading":           (*exam).reading,
		"task counts":       (*exam).taskCounts,
		"dealt":             (*exam).dealt,
		"played out":        (*exam).playedOut,
		"matches":           (*exam).matches,
		"session starts":    (*exam).sessionStarts,
		"periods of all":    (*exam).periodsOfAll,
		"bags":              (*exam).bags,
		"quiet tests":       (*exam).quiet,
		"seasons":           (*exam).seasons,
		"landed":            (*exam).landed,
		"lessons":           (*exam).lessonsKept,
		"written":           (*exam).written,
		"media":             (*exam).mediaKept,
		"guardians":         (*exam).guardians,
		"calendars":         (*exam).calendars,
		"digests":           (*exam).digests,
		"erasing":           (*exam).erasing,
		"erasing a coach":   (*exam).erasingACoach,
		"forgetting":        (*exam).forgetting,
		"for apps":          (*exam).forApps,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := open(t)
			check(&exam{T: t, Fixture: NewFixture(t, s), s: s, ctx: t.Context()})
		})
	}
}

// exam is one check of stores, with an academy at hand.
type exam struct {
	*testing.T
	*Fixture
	s   Stores
	ctx context.Context
}

// write runs fn on the fixture's academy.
func write[S any](e *exam, store domain.Transactor[S], fn func(S) error) {
	e.Helper()
	if err := store.Write(e.ctx, e.Academy, fn); err != nil {
		e.Fatal(err)
	}
}

// get gives what fn reads of the fixture's academy.
func get[S, V any](e *exam, store domain.Transactor[S], fn func(S) (V, error)) (v V) {
	e.Helper()
	err := store.Read(e.ctx, e.Academy, func(tx S) (err error) {
		v, err = fn(tx)
		return err
	})
	if err != nil {
		e.Fatal(err)
	}
	return v
}

// refuse wants a kind of error.
func refuse[S any](e *exam, what string, store domain.Transactor[S], kind domain.Kind, fn func(S) error) {
	e.Helper()
	if err := store.Write(e.ctx, e.Academy, fn); err == nil || domain.KindOf(err) != kind {
		e.Errorf("%s: got error %v of kind %d, want kind %d", what, err, domain.KindOf(err), kind)
	}
}

// same wants what came back to be what was put in.
func (e *exam) same(what string, got, want any) {
	e.Helper()
	if d := cmp.Diff(want, got, cmpopts.EquateEmpty()); d != "" {
		e.Errorf("%s (-want +got)\n%s", what, d)
	}
}

// idsOf gives identities of a list.
func idsOf[T any](all []T, id func(T) domain.ID) []domain.ID {
	var ids []domain.ID
	for _, x := range all {
		ids = append(ids, id(x))
	}
	return ids
}

var examIDs atomic.Uint64

// examID makes an identity that sorts behind all before it.
func examID() domain.ID {
	return domain.ID(fmt.Sprintf("01910000-0000-7000-8000-%012x", examIDs.Add(1)))
}

// examNow is a Monday morning in spring, in UTC and whole milliseconds.
var examNow = time.Date(2026, time.April, 13, 9, 30, 0, int(456*time.Millisecond), time.UTC)

var examEnv = domain.Env{Now: func() time.Time { return examNow }, NewID: examID}

// storeTypes lists the interfaces that Stores opens.
func storeTypes() []reflect.Type {
	var types []reflect.Type
	s := reflect.TypeFor[Stores]()
	for field := range s.Fields() {
		if write, ok := field.Type.MethodByName("Write"); ok {
			types = append(types, write.Type.In(2).In(0)) // Write(ctx, academy, func(S) error)
		}
	}
	return types
}
