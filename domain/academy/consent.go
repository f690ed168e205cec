package academy

import (
	"context"
	"time"

	"fringework/domain"
)

// ConsentChange is what a guardian says about a junior. Nil leaves as it is.
type ConsentChange struct {
	// Given is whether the junior's practice may be kept.
	Given bool
	// Reports is whether the junior's report may be shared by links, Apps whether
	// software with a key of the academy may read the junior's data.
	Reports *bool
	Apps    *bool
	// Media is whether photos and clips of the junior may be kept with their lessons.
	Media *bool
	// Matches is whether the junior may play matches, in which those who play along see
	// the junior's name and balls.
	Matches *bool
}

// Consent records what a junior's guardian agrees to. Each sharing is asked for by
// itself; without consent there is none. A guardian may always withdraw, also what was
// never given. Sessions already kept stay until they are deleted.
func (s Service) Consent(ctx context.Context, a domain.Actor, student domain.ID, c ConsentChange) (m Member, err error) {
	err = s.Store.Write(ctx, a.Academy, func(tx Store) error {
		if m, err = Student(ctx, tx, a, student); err != nil {
			return err
		}
		if !m.Junior {
			return domain.Errorf(domain.Conflict, "not_a_junior", "%s is not marked as a junior, so no consent is needed. If they are one, mark them first.", m.Name)
		}
		now := s.Env.Now()
		kind := "consent.withdrawn"
		if c.Given {
			kind = "consent.given"
			m.consent(now, a.Member)
		} else {
			m.withdraw(now, a.Member)
		}
		agree(&m.ReportsAt, c.Reports, c.Given, now)
		agree(&m.AppsAt, c.Apps, c.Given, now)
		agree(&m.MediaAt, c.Media, c.Given, now)
		agree(&m.MatchesAt, c.Matches, c.Given, now)
		m.Revision++
		if err := tx.SaveMember(ctx, m); err != nil {
			return err
		}
		return tx.Record(ctx, s.event(a, kind, student, student, map[string]any{"reports": !m.ReportsAt.IsZero(), "apps": !m.AppsAt.IsZero(), "media": !m.MediaAt.IsZero(), "matches": !m.MatchesAt.IsZero()}))
	})
	return m, err
}

// consent keeps when it was given first, of what is given already.
func (m *Member) consent(at time.Time, by domain.ID) {
	if m.ConsentAt.IsZero() {
		m.ConsentAt, m.ConsentBy = at, by
	}
	m.ConsentEndedAt, m.ConsentEndedBy = time.Time{}, ""
}

func (m *Member) withdraw(at time.Time, by domain.ID) {
	m.ConsentAt, m.ConsentBy = time.Time{}, ""
	m.ConsentEndedAt, m.ConsentEndedBy = at, by
}

// agree notes when somebody agreed to a sharing.
func agree(at *time.Time, to *bool, given bool, now time.Time) {
	switch {
	case !given || to != nil && !*to:
		*at = time.Time{}
	case to != nil && at.IsZero():
		*at = now
	}
}

// grow marks a student as a junior or as one no more. Consent given before does not
// come alive again.
func (m *Member) grow(junior bool) {
	if m.Junior == junior {
		return
	}
	m.Junior = junior
	m.ConsentAt, m.ConsentBy, m.ConsentEndedAt, m.ConsentEndedBy = time.Time{}, "", time.Time{}, ""
	m.ReportsAt, m.AppsAt, m.MediaAt, m.MatchesAt = time.Time{}, time.Time{}, time.Time{}, time.Time{}
}

// askedAt is since when guardians wait for a student's word; zero for a junior's, who
// is not asked.
func askedAt(m Member, now time.Time) time.Time {
	if m.Junior {
		return time.Time{}
	}
	return now
}

// ErrConsent refuses what a junior's guardian has not agreed to; what says what was
// not done ("the session was not kept") and remedy what to do then. Whoever withdrew is
// named.
func ErrConsent(ctx context.Context, v Viewing, m Member, what, remedy string) error {
	if m.ConsentEndedAt.IsZero() {
		return domain.Errorf(domain.Conflict, "consent_missing", "%s is a junior, and no guardian has agreed yet: %s. %s", m.Name, what, remedy)
	}
	by, err := v.Member(ctx, m.ConsentEndedBy)
	if err != nil {
		return err
	}
	name := by.Name
	if name == "" {
		name = "a guardian who has left"
	}
	return domain.Errorf(domain.Conflict, "consent_withdrawn", "Consent for %s was withdrawn on %s by %s: %s. %s",
		m.Name, m.ConsentEndedAt.In(m.Zone()).Format("2 January 2006"), name, what, remedy)
}
