package academy

import (
	"cmp"
	"context"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// QuietSide is whose word on quiet tests it is.
type QuietSide string

// The sides. A guardian speaks for a junior, whose own no stands all the same.
const (
	QuietStudent  QuietSide = "student"
	QuietGuardian QuietSide = "guardian"
	QuietCoach    QuietSide = "coach"
)

// QuietSides lists them.
func QuietSides() []QuietSide { return []QuietSide{QuietCoach, QuietStudent, QuietGuardian} }

// QuietWord is what one side said: whether the run and the odds may be hidden in tests
// that are drawn by lot.
type QuietWord struct {
	Student domain.ID
	Side    QuietSide
	Agrees  bool
	By      domain.ID
	At      time.Time
}

// QuietAgreement is what stands of both sides' words.
type QuietAgreement struct {
	// Student, Guardian and Coach are the last words of each side; nil where none was
	// said. A coach's may be an owner's.
	Student, Guardian, Coach *QuietWord
	// Agreed says whether tests are drawn now.
	Agreed bool
	// spans are when both agreed, oldest first.
	spans []quietSpan
}

// quietSpan is from an instant on until another, which is zero while it goes on.
type quietSpan struct{ from, until time.Time }

// covers reports whether both agreed when a session began.
func (q QuietAgreement) covers(at time.Time) bool {
	return slices.ContainsFunc(q.spans, func(s quietSpan) bool {
		return !at.Before(s.from) && (s.until.IsZero() || at.Before(s.until))
	})
}

// since is when both agreed first; zero when they never did.
func (q QuietAgreement) since() time.Time {
	if len(q.spans) == 0 {
		return time.Time{}
	}
	return q.spans[0].from
}

// agreementOf reads the words of a student's sides, oldest first, by what the student is
// today. Of one who is no junior any more a guardian's holds no longer, nor of a junior
// their own yes, and what was played under it is not compared.
func agreementOf(m Member, words []QuietWord) (q QuietAgreement) {
	for i := range words {
		w := &words[i]
		*q.last(w.Side) = w
		both := q.Coach.yes() && q.learner(m).yes()
		switch last := len(q.spans) - 1; {
		case both && !q.Agreed:
			q.spans = append(q.spans, quietSpan{from: w.At})
		case !both && q.Agreed:
			q.spans[last].until = w.At
		}
		q.Agreed = both
	}
	return q
}

// last is where a side's last word is kept.
func (q *QuietAgreement) last(side QuietSide) **QuietWord {
	switch side {
	case QuietStudent:
		return &q.Student
	case QuietGuardian:
		return &q.Guardian
	}
	return &q.Coach
}

// learner is the word for the student: their own, or for a junior a guardian's, unless
// the junior's own is a no.
func (q QuietAgreement) learner(m Member) *QuietWord {
	if !m.Junior || q.Student != nil && !q.Student.Agrees {
		return q.Student
	}
	return q.Guardian
}

func (w *QuietWord) yes() bool { return w != nil && w.Agrees }

// Quieting reads what was said about quiet tests.
type Quieting interface {
	// QuietWords gives all words on a student's quiet tests, oldest first.
	QuietWords(ctx context.Context, student domain.ID) ([]QuietWord, error)
}

// QuietStore keeps what is said about quiet tests.
type QuietStore interface {
	domain.EventLog
	Viewing
	Quieting
	SaveQuietWord(ctx context.Context, w QuietWord) error
}

// QuietService is where both sides agree to quiet tests, and withdraw.
type QuietService struct {
	Store domain.Transactor[QuietStore]
	Env   domain.Env
}

// Say records whether the asker agrees that the run and the odds are hidden in tests
// that are drawn by lot. It takes the student and a coach, and either may withdraw at
// any time; for a junior it takes a guardian in the student's place, and a no of the
// junior's own stands until they take it back. Saying the same again changes nothing.
func (s QuietService) Say(ctx context.Context, a domain.Actor, student domain.ID, agrees bool) (m Member, q QuietAgreement, err error) {
	err = s.Store.Write(ctx, a.Academy, func(tx QuietStore) error {
		if m, err = Student(ctx, tx, a, student); err != nil {
			return err
		}
		w := QuietWord{Student: student, Side: quietSide(a.Role), Agrees: agrees, By: a.Member, At: s.Env.Now().UTC().Truncate(time.Millisecond)}
		if err := w.allowed(m); err != nil {
			return err
		}
		words, err := tx.QuietWords(ctx, student)
		if err != nil {
			return err
		}
		q = agreementOf(m, words)
		if w.Side == QuietStudent && m.Junior && agrees && q.Student == nil {
			return domain.Errorf(domain.Conflict, "guardian_decides", "You are marked as a junior, so a guardian agrees to quiet tests. You may say no at any time, and take that back.")
		}
		if q.says(w) {
			return nil
		}
		if err := tx.SaveQuietWord(ctx, w); err != nil {
			return err
		}
		q = agreementOf(m, append(words, w))
		kind := "quiet-tests.withdrawn"
		if agrees {
			kind = "quiet-tests.agreed"
		}
		return tx.Record(ctx, a.Event(w.At, kind, student, student, map[string]any{"side": w.Side, "drawn": q.Agreed}))
	})
	return m, q, err
}

func quietSide(r domain.Role) QuietSide {
	switch r {
	case domain.Student:
		return QuietStudent
	case domain.Guardian:
		return QuietGuardian
	}
	return QuietCoach
}

// allowed refuses words that are not the asker's to say.
func (w QuietWord) allowed(m Member) error {
	if w.Side == QuietGuardian && !m.Junior {
		return domain.Errorf(domain.Conflict, "not_a_junior", "%s is not marked as a junior, and answers for themselves. Ask them.", m.Name)
	}
	return nil
}

// says reports whether the side's last word stands and is the same.
func (q QuietAgreement) says(w QuietWord) bool {
	last := *q.last(w.Side)
	return last != nil && last.Agrees == w.Agrees
}

// lotTests gives the tests of the plan that were begun while both agreed, in order,
// with their lots.
func (q QuietAgreement) lotTests(periods []progress.Period) []estimate.LotTest {
	var sessions []progress.SessionSummary
	for _, p := range periods {
		for _, s := range p.Sessions {
			if len(s.Tests) > 0 && q.covers(s.StartedAt) {
				s.Skill = p.Skill
				sessions = append(sessions, s)
			}
		}
	}
	slices.SortFunc(sessions, func(a, b progress.SessionSummary) int {
		return cmp.Or(a.StartedAt.Compare(b.StartedAt), cmp.Compare(a.Session, b.Session), cmp.Compare(a.Skill, b.Skill))
	})
	var tests []estimate.LotTest
	for _, s := range sessions {
		for _, t := range s.Tests {
			tests = append(tests, estimate.LotTest{
				Skill: s.Skill, Radius: t.Radius, Hidden: curriculum.Hidden(s.Session, t.PlanBlock), Balls: t.Balls, Inside: t.Inside,
			})
		}
	}
	return tests
}
