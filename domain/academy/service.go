package academy

import (
	"context"
	"math"
	"slices"
	"strings"

	"fringework/domain"
	"fringework/domain/advice"
)

// Service is what can be done with people. The edge has checked that the
// actor's role may try.
type Service struct {
	Store           domain.Transactor[Store]
	GroupStore      domain.Transactor[GroupStore]
	AssignmentStore domain.Transactor[AssignmentStore]
	Env             domain.Env
}

func (s Service) event(a domain.Actor, kind string, subject, student domain.ID, data map[string]any) domain.Event {
	return a.Event(s.Env.Now(), kind, subject, student, data)
}

// Academy reads the actor's academy.
func (s Service) Academy(ctx context.Context, a domain.Actor) (ac Academy, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx Store) error {
		ac, err = tx.Academy(ctx)
		return err
	})
	return ac, err
}

// SettingsChange is what may be changed of the academy; nil leaves as it is.
type SettingsChange struct {
	Name *string
	// TimeZone is the one that new members start with.
	TimeZone *string
	// Challenge is in whole per cent.
	Challenge *int
	// EraseRemoved and ForgetEvents are in days, from 30 to 3650; 0 for never.
	EraseRemoved *int
	ForgetEvents *int
}

func (c SettingsChange) check() error {
	var p domain.Problems
	if c.Name != nil {
		checkName(&p, "/name", *c.Name)
	}
	if c.TimeZone != nil {
		checkZone(&p, "/time_zone", *c.TimeZone)
	}
	if least, most := percent(advice.MinChallenge), percent(advice.MaxChallenge); c.Challenge != nil && (*c.Challenge < least || *c.Challenge > most) {
		p.Add("/challenge", "is %d %%; give a share of success from %d to %d %%", *c.Challenge, least, most)
	}
	checkDays(&p, "/erase_removed_days", c.EraseRemoved)
	checkDays(&p, "/forget_events_days", c.ForgetEvents)
	return p.Err("academy_invalid", "The academy was not saved.")
}

// checkDays notes a time to keep things that is too short to notice a mistake in, or
// absurdly long.
func checkDays(p *domain.Problems, at string, days *int) {
	const least, most = 30, 3650
	if days != nil && *days != 0 && (*days < least || *days > most) {
		p.Add(at, "is %d; give %d to %d days, or 0 to keep everything", *days, least, most)
	}
}

// percent gives a share in whole per cent.
func percent(share float64) int { return int(math.Round(100 * share)) }

// ChangeAcademy changes the academy.
func (s Service) ChangeAcademy(ctx context.Context, a domain.Actor, c SettingsChange) (ac Academy, err error) {
	if err := c.check(); err != nil {
		return Academy{}, err
	}
	err = s.Store.Write(ctx, a.Academy, func(tx Store) error {
		if ac, err = tx.Academy(ctx); err != nil || c == (SettingsChange{}) {
			return err
		}
		if c.Name != nil {
			ac.Name = *c.Name
		}
		if c.TimeZone != nil {
			ac.TimeZone = *c.TimeZone
		}
		if c.Challenge != nil {
			ac.Challenge = *c.Challenge
		}
		if c.EraseRemoved != nil {
			ac.EraseRemoved = *c.EraseRemoved
		}
		if c.ForgetEvents != nil {
			ac.ForgetEvents = *c.ForgetEvents
		}
		if err := tx.SaveAcademy(ctx, ac); err != nil {
			return err
		}
		return tx.Record(ctx, s.event(a, "academy.changed", ac.ID, "", map[string]any{"name": ac.Name, "time_zone": ac.TimeZone, "challenge": ac.Challenge,
			"erase_removed_days": ac.EraseRemoved, "forget_events_days": ac.ForgetEvents}))
	})
	return ac, err
}

func checkName(p *domain.Problems, at, name string) {
	const longest = 120
	switch n := len([]rune(strings.TrimSpace(name))); {
	case n == 0:
		p.Add(at, "is empty; give a name of 1 to %d characters", longest)
	case n > longest:
		p.Add(at, "has %d characters; use at most %d", n, longest)
	case strings.ContainsRune(name, 0):
		p.Add(at, "contains a NUL character; remove it")
	}
}

func checkText(p *domain.Problems, at, text string, longest int) {
	switch n := len([]rune(text)); {
	case n > longest:
		p.Add(at, "has %d characters; use at most %d", n, longest)
	case strings.ContainsRune(text, 0):
		p.Add(at, "contains a NUL character; remove it")
	}
}

func checkZone(p *domain.Problems, at, name string) {
	if _, err := domain.Zone(name); err != nil {
		p.Add(at, "%q is not a time zone; use an IANA name such as Europe/Lisbon", name)
	}
}

// Members lists the members whom the actor may see: an owner or a key all of
// them, a coach the staff and the students linked to them, a guardian the
// juniors linked to them, a student the student alone.
func (s Service) Members(ctx context.Context, a domain.Actor, f MemberFilter, page domain.Page) (ms []Member, err error) {
	f.VisibleTo, f.ForApps = Scope(a), a.ByApp()
	err = s.Store.Read(ctx, a.Academy, func(tx Store) error {
		ms, err = tx.Members(ctx, f, page)
		return err
	})
	return ms, err
}

// Member reads a member whom the actor may see.
func (s Service) Member(ctx context.Context, a domain.Actor, id domain.ID) (m Member, err error) {
	read := s.Store.Read
	if seesPlainly(a, id) {
		read = s.Store.ReadOnce
	}
	err = read(ctx, a.Academy, func(tx Store) error {
		m, err = visibleMember(ctx, tx, a, id)
		return err
	})
	return m, err
}

// visibleMember finds any member the actor may see: themselves, the staff when
// they are staff, and students by Student's rule. Nobody else can tell a member
// who is hidden from one who does not exist.
func visibleMember(ctx context.Context, tx Store, a domain.Actor, id domain.ID) (Member, error) {
	hidden := domain.ErrNotFound("member")
	m, err := tx.Member(ctx, id)
	switch {
	case err != nil:
	case m.ID == domain.Nobody || a.ByApp() && !m.ForApps():
		err = hidden
	case seesPlainly(a, id):
		return m, nil
	case m.Role == domain.Student:
		m, err = Student(ctx, tx, a, id)
	case a.Role == domain.Coach && (m.Role == domain.Owner || m.Role == domain.Coach) && m.Active():
		return m, nil
	default:
		err = hidden
	}
	if domain.KindOf(err) == domain.NotFound {
		return Member{}, hidden
	}
	return m, err
}

// seesPlainly reports whether the actor may see the member, whoever it is.
func seesPlainly(a domain.Actor, member domain.ID) bool { return a.SeesAll() || member == a.Member }

// MemberChange is what may be changed of a member; nil leaves as it is.
type MemberChange struct {
	Name     *string
	TimeZone *string
	Units    *Units
	// Role may be changed by an owner, between owner and coach.
	Role *domain.Role
	// Junior may be changed by an owner or a coach.
	Junior *bool
}

// ChangeMember changes a member: everybody their own name, time zone and
// units, an owner or a coach those of their students too.
func (s Service) ChangeMember(ctx context.Context, a domain.Actor, id domain.ID, revision int, c MemberChange) (m Member, err error) {
	err = s.Store.Write(ctx, a.Academy, func(tx Store) error {
		if m, err = visibleMember(ctx, tx, a, id); err != nil {
			return err
		}
		if err := domain.CheckRevision("member", revision, m.Revision); err != nil {
			return err
		}
		if err := mayChange(a, m, c); err != nil {
			return err
		}
		was := m.Junior
		if err := c.apply(&m); err != nil {
			return err
		}
		if err := keepsAnOwner(ctx, tx, m); err != nil {
			return err
		}
		if was != m.Junior {
			if err := tx.AskOfGuardians(ctx, id, askedAt(m, s.Env.Now())); err != nil {
				return err
			}
		}
		m.Revision++
		if err := tx.SaveMember(ctx, m); err != nil {
			return err
		}
		return tx.Record(ctx, s.event(a, "member.changed", id, studentOf(m), map[string]any{
			"name": m.Name, "role": m.Role, "time_zone": m.TimeZone, "junior": m.Junior,
		}))
	})
	return m, err
}

func studentOf(m Member) domain.ID {
	if m.Role == domain.Student {
		return m.ID
	}
	return ""
}

func mayChange(a domain.Actor, m Member, c MemberChange) error {
	own := m.ID == a.Member
	staff := a.Role == domain.Owner || a.Role == domain.Coach
	switch {
	case c.Role != nil && a.Role != domain.Owner:
		return domain.Errorf(domain.Forbidden, "owner_only", "Only an owner may change a member's role. Ask an owner.")
	case c.Junior != nil && !staff:
		return domain.Errorf(domain.Forbidden, "staff_only", "Only a coach or an owner may say whether a student is a junior. Ask your coach.")
	case c.Junior != nil && m.Junior && !*c.Junior && a.Role != domain.Owner:
		return domain.Errorf(domain.Forbidden, "owner_only", "Only an owner may say that %s is a junior no more, since no guardian is asked from then on. Ask an owner.", m.Name)
	case !own && a.Role != domain.Owner && !(a.Role == domain.Coach && m.Role == domain.Student):
		return domain.Errorf(domain.Forbidden, "not_yours", "You may only change yourself and your own students. Ask an owner.")
	}
	return nil
}

func (c MemberChange) apply(m *Member) error {
	var p domain.Problems
	if c.Name != nil {
		checkName(&p, "/name", *c.Name)
		m.Name = *c.Name
	}
	if c.TimeZone != nil {
		checkZone(&p, "/time_zone", *c.TimeZone)
		m.TimeZone = *c.TimeZone
	}
	if c.Units != nil {
		if *c.Units != FeetAndYards && *c.Units != InMetres {
			p.Add("/units", "is %q; use feet or metres", *c.Units)
		}
		m.Units = *c.Units
	}
	if c.Role != nil {
		staff := func(r domain.Role) bool { return r == domain.Owner || r == domain.Coach }
		if !staff(*c.Role) || !staff(m.Role) {
			p.Add("/role", "a member with the role %s cannot become %s; a coach can become an owner and an owner a coach, others need a new invitation", m.Role, *c.Role)
		}
		m.Role = *c.Role
	}
	if c.Junior != nil {
		if m.Role != domain.Student {
			p.Add("/junior", "only a student can be a junior; %s has the role %s, so leave it out", m.Name, m.Role)
		}
		m.grow(*c.Junior)
	}
	return p.Err("member_invalid", "The member was not changed.")
}

// keepsAnOwner refuses to leave an academy without an owner after m is saved.
func keepsAnOwner(ctx context.Context, tx Listing, m Member) error {
	if m.Role == domain.Owner && m.Active() {
		return nil
	}
	owners, err := tx.Members(ctx, MemberFilter{Role: domain.Owner}, domain.Page{Limit: 2})
	if err != nil {
		return err
	}
	if slices.ContainsFunc(owners, func(o Member) bool { return o.ID != m.ID }) {
		return nil
	}
	return domain.Errorf(domain.Conflict, "last_owner", "An academy needs an owner. Make somebody else an owner first.")
}

// RemoveMember takes a member out of the academy; access ends at once, what
// they did is kept.
func (s Service) RemoveMember(ctx context.Context, a domain.Actor, id domain.ID) error {
	return s.Store.Write(ctx, a.Academy, func(tx Store) error {
		m, err := visibleMember(ctx, tx, a, id)
		if err != nil {
			return err
		}
		if !m.Active() {
			return nil
		}
		m.RemovedAt = s.Env.Now()
		m.Revision++
		if err := keepsAnOwner(ctx, tx, m); err != nil {
			return err
		}
		if err := tx.SaveMember(ctx, m); err != nil {
			return err
		}
		return tx.Record(ctx, s.event(a, "member.removed", id, studentOf(m), map[string]any{"name": m.Name, "role": m.Role}))
	})
}

// Link makes a coach work with a student, or ends it; it takes effect at once.
func (s Service) Link(ctx context.Context, a domain.Actor, coach, student domain.ID, linked bool) error {
	return s.Store.Write(ctx, a.Academy, func(tx Store) error {
		if _, err := Student(ctx, tx, a, student); err != nil {
			return err
		}
		c, err := tx.Member(ctx, coach)
		if err != nil || !c.Active() || (c.Role != domain.Coach && c.Role != domain.Owner) {
			if err != nil && domain.KindOf(err) != domain.NotFound {
				return err
			}
			return domain.ErrNotFound("coach")
		}
		if err := tx.SetLink(ctx, coach, student, linked); err != nil {
			return err
		}
		kind := "coach.linked"
		if !linked {
			kind = "coach.unlinked"
		}
		return tx.Record(ctx, s.event(a, kind, coach, student, nil))
	})
}

// CoachesOf lists the coaches who work with a student.
func (s Service) CoachesOf(ctx context.Context, a domain.Actor, student domain.ID) (ids []domain.ID, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx Store) error {
		if _, err = Student(ctx, tx, a, student); err != nil {
			return err
		}
		ids, err = tx.CoachesOf(ctx, student)
		return err
	})
	return ids, err
}
