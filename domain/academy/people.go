// Package academy is the people and their time: members, groups, who works with
// whom, assignments, and the weeks they run in.
package academy

import (
	"time"

	"fringework/domain"
)

// Units is how a person prefers lengths shown.
type Units string

// The units.
const (
	FeetAndYards Units = "feet"
	InMetres     Units = "metres"
)

// Academy is the tenant.
type Academy struct {
	ID   domain.ID
	Name string
	// TimeZone is the IANA name that new members start with.
	TimeZone string
	// Challenge is the share of success that practice is set to, in whole per cent
	// from 50 to 90.
	Challenge int
	// EraseRemoved is after how many days members who left are erased, and
	// ForgetEvents after how many days events lose who and what; 0 for never.
	EraseRemoved int
	ForgetEvents int
	CreatedAt    time.Time
}

// Member is an account in an academy, with a role.
type Member struct {
	ID domain.ID
	// Account is the person who signs in.
	Account domain.ID
	Role    domain.Role
	Name    string
	// Email is the account's.
	Email string
	// TimeZone is an IANA name; a student's practice weeks are counted in it.
	TimeZone string
	Units    Units
	// Junior marks a student whose data needs a guardian's consent.
	Junior bool
	// ConsentAt is when a guardian gave consent; zero without.
	ConsentAt time.Time
	ConsentBy domain.ID
	// ConsentEndedAt is when consent was refused or withdrawn last, by whom; zero
	// while it is given, and before anybody was asked.
	ConsentEndedAt time.Time
	ConsentEndedBy domain.ID
	// ReportsAt and AppsAt are when a guardian agreed that the junior's report may be
	// shared by links, and that other software may read the junior's data; zero
	// without.
	ReportsAt time.Time
	AppsAt    time.Time
	// MediaAt is when a guardian agreed that photos and clips of the junior may be kept
	// with their lessons; zero without.
	MediaAt time.Time
	// MatchesAt is when a guardian agreed that the junior plays matches.
	MatchesAt time.Time
	// RemovedAt is when the member left; zero while in the academy. What the
	// member did is kept.
	RemovedAt time.Time
	Revision  int
	JoinedAt  time.Time
}

// Active reports whether the member is still in the academy.
func (m Member) Active() bool { return m.RemovedAt.IsZero() }

// MayPractise reports whether the student's sessions may be kept: a junior's
// only with a guardian's consent.
func (m Member) MayPractise() bool { return !m.Junior || !m.ConsentAt.IsZero() }

// ForApps reports whether software with a key may read the member's data: a
// junior's only if a guardian agreed.
func (m Member) ForApps() bool { return !m.Junior || !m.AppsAt.IsZero() }

// ForReports reports whether the student's report may be shared by links: a
// junior's only if a guardian agreed, and while they consent at all.
func (m Member) ForReports() bool { return !m.Junior || m.MayPractise() && !m.ReportsAt.IsZero() }

// ForMedia reports whether photos and clips of the student may be kept and shown: a
// junior's only if a guardian agreed, and while they consent at all.
func (m Member) ForMedia() bool { return !m.Junior || m.MayPractise() && !m.MediaAt.IsZero() }

// ForMatches reports whether those who play a match with the student see what the
// student did in it: of a junior only if a guardian agreed, and while they consent at all.
func (m Member) ForMatches() bool { return !m.Junior || m.MayPractise() && !m.MatchesAt.IsZero() }

// Group is some students, under a name.
type Group struct {
	ID        domain.ID
	Name      string
	Students  []domain.ID // in order of identity
	Revision  int
	CreatedAt time.Time
	// By is the member who made it; empty for software.
	By domain.ID
}

// MemberFilter narrows a list of members; zero values do not narrow.
type MemberFilter struct {
	Role domain.Role
	// Group keeps students of the group.
	Group domain.ID
	// VisibleTo keeps those whom this member may see; see Store.Members.
	VisibleTo domain.ID
	// Removed includes members who left.
	Removed bool
	// ForApps leaves out juniors whom software may not read, and NotForApps all others.
	ForApps, NotForApps bool
}

// Zone is the member's time zone; a name that the time zone database has lost
// since it was stored is read as UTC.
func (m Member) Zone() *time.Location {
	zone, err := domain.Zone(m.TimeZone)
	if err != nil {
		return time.UTC
	}
	return zone
}
