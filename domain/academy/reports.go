package academy

import (
	"context"
	"crypto/sha256"
	"slices"
	"time"

	"fringework/domain"
)

// ReportLink shows a student's report to whoever has the link, until it expires
// or is withdrawn. The report is of when it is looked at.
type ReportLink struct {
	ID      domain.ID
	Student domain.ID
	// Token is the digest of the link's token, which is shown once.
	Token [sha256.Size]byte
	// Words are the coach's own, at the top; up to 2000 characters.
	Words   string
	By      domain.ID
	Created time.Time
	Expires time.Time
	// Ended is when it was withdrawn; zero while it is not.
	Ended time.Time
}

// Open reports whether the link shows the report at an instant.
func (l ReportLink) Open(at time.Time) bool { return l.Ended.IsZero() && at.Before(l.Expires) }

// ReportStore keeps links to reports.
type ReportStore interface {
	domain.EventLog
	Viewing

	Academy(ctx context.Context) (Academy, error)
	AddReportLink(ctx context.Context, l ReportLink) error
	// ReportLinks gives a student's links, the latest first.
	ReportLinks(ctx context.Context, student domain.ID) ([]ReportLink, error)
	// ReportLink finds a link by the digest of its token.
	ReportLink(ctx context.Context, token [sha256.Size]byte) (ReportLink, error)
	// EndReportLink marks a link of a student as withdrawn. It reports false, and
	// changes nothing, when it is withdrawn already; an absent one is NotFound.
	EndReportLink(ctx context.Context, student, id domain.ID, at time.Time) (bool, error)
}

// ReportService is what can be done with links to reports.
type ReportService struct {
	Store   domain.Transactor[ReportStore]
	Reading domain.Transactor[ReadStore]
	Rounds  RoundService
	Env     domain.Env
}

// Bounds of a link.
const (
	maxReportDays  = 90
	maxReportWords = 2000
	// maxOpenLinks is how many links to one student's report may be open at once.
	maxOpenLinks = 20
)

// Share makes a link to a student's report for so many days, 1 to 90, with the
// digest of its token. A junior's report is shared only with a guardian's
// consent.
func (s ReportService) Share(ctx context.Context, a domain.Actor, student domain.ID, days int, words string, token [sha256.Size]byte) (l ReportLink, err error) {
	var p domain.Problems
	if days < 1 || days > maxReportDays {
		p.Add("/days", "is %d; give 1 to %d days", days, maxReportDays)
	}
	checkText(&p, "/words", words, maxReportWords)
	if err := p.Err("report_invalid", "The report was not shared."); err != nil {
		return ReportLink{}, err
	}
	err = s.Store.Write(ctx, a.Academy, func(tx ReportStore) error {
		m, err := Student(ctx, tx, a, student)
		if err != nil {
			return err
		}
		if !m.MayPractise() {
			return ErrConsent(ctx, tx, m, "the report was not shared", "Ask the guardian first.")
		}
		if !m.ForReports() {
			return domain.Errorf(domain.Conflict, "sharing_not_agreed", "%s is a junior whose guardian has not agreed to links to the report. Ask the guardian first.", m.Name)
		}
		before, err := tx.ReportLinks(ctx, student)
		if err != nil {
			return err
		}
		now := s.Env.Now()
		open := 0
		for _, b := range before {
			if b.Open(now) {
				open++
			}
		}
		if open >= maxOpenLinks {
			return domain.Errorf(domain.Conflict, "too_many_links", "There are %d open links to this report. Withdraw one first.", open)
		}
		l = ReportLink{
			ID: s.Env.NewID(), Student: student, Token: token, Words: words, By: a.Member,
			Created: now, Expires: now.AddDate(0, 0, days),
		}
		if err := tx.AddReportLink(ctx, l); err != nil {
			return err
		}
		return tx.Record(ctx, a.Event(now, "report.shared", l.ID, student, map[string]any{"days": days}))
	})
	return l, err
}

// Links lists the links to a student's report, the latest first.
func (s ReportService) Links(ctx context.Context, a domain.Actor, student domain.ID) (all []ReportLink, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx ReportStore) error {
		if _, err := Student(ctx, tx, a, student); err != nil {
			return err
		}
		all, err = tx.ReportLinks(ctx, student)
		return err
	})
	return all, err
}

// Withdraw ends a link at once. Doing it again changes nothing.
func (s ReportService) Withdraw(ctx context.Context, a domain.Actor, student, id domain.ID) error {
	return s.Store.Write(ctx, a.Academy, func(tx ReportStore) error {
		if _, err := Student(ctx, tx, a, student); err != nil {
			return err
		}
		now := s.Env.Now()
		ended, err := tx.EndReportLink(ctx, student, id, now)
		if err != nil || !ended {
			return err
		}
		return tx.Record(ctx, a.Event(now, "report.withdrawn", id, student, nil))
	})
}

// SharedReport is what a link shows.
type SharedReport struct {
	Academy Academy
	Link    ReportLink
	// By is the name of who shared it.
	By  string
	Row StudentRow
	// Work are the programmes under way or to come, as they stand today.
	Work []Work
	// Course is what the rounds tell by themselves.
	Course CourseReport
}

// errNoReport is the one answer about a link that shows nothing, whatever the
// reason.
func errNoReport() error {
	return domain.Errorf(domain.NotFound, "no_report", "This link shows no report any more. Ask your coach for a new one.")
}

// Shared gives what a link of an academy shows now. It is NotFound once the link
// has expired or was withdrawn, the student has left, or a junior's guardian has
// withdrawn consent, to this sharing or to all.
func (s ReportService) Shared(ctx context.Context, in domain.ID, token [sha256.Size]byte) (r SharedReport, err error) {
	err = s.Store.Read(ctx, in, func(tx ReportStore) error {
		if r.Link, err = tx.ReportLink(ctx, token); err != nil {
			return err
		}
		m, err := tx.Member(ctx, r.Link.Student)
		if err == nil && (!r.Link.Open(s.Env.Now()) || !m.Active() || m.Role != domain.Student || !m.ForReports()) {
			err = errNoReport()
		}
		if err != nil {
			return err
		}
		by, err := tx.Member(ctx, r.Link.By)
		if err != nil {
			return err
		}
		r.By = by.Name
		r.Academy, err = tx.Academy(ctx)
		return err
	})
	if domain.KindOf(err) == domain.NotFound && err != nil {
		return SharedReport{}, errNoReport()
	}
	if err != nil {
		return SharedReport{}, err
	}
	if r.Course, err = s.Rounds.shared(ctx, in, r.Link.Student); err != nil {
		return SharedReport{}, err
	}
	err = s.Reading.Read(ctx, in, func(tx ReadStore) error {
		m, err := tx.Member(ctx, r.Link.Student)
		if err != nil {
			return err
		}
		rows, err := studentRows(ctx, tx, domain.Actor{Academy: in}, []Member{m}, s.Env.Now())
		if err != nil {
			return err
		}
		r.Row = rows[0]
		stored, err := tx.Stored(ctx, []domain.ID{m.ID})
		if err != nil {
			return err
		}
		r.Work, err = works(ctx, tx, stored, domain.DateOf(s.Env.Now(), m.Zone()))
		r.Work = slices.DeleteFunc(r.Work, func(w Work) bool { return w.Position.Phase == Finished })
		return err
	})
	return r, err
}
