package academy

import (
	"context"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/progress"
)

// Store is what the academy's people need kept, seen for one academy. Lists are
// in order of identity. What is absent gives a domain.NotFound error; a save
// with a revision that is not one above the stored one gives domain.Stale. So
// do the other stores of this package.
type Store interface {
	domain.EventLog
	Viewing
	Listing

	Academy(ctx context.Context) (Academy, error)
	SaveAcademy(ctx context.Context, a Academy) error
	// SaveMember updates an existing member, all but account and e-mail.
	SaveMember(ctx context.Context, m Member) error
	// CoachesOf gives the coaches linked to a student.
	CoachesOf(ctx context.Context, student domain.ID) ([]domain.ID, error)
	// SetLink links a coach and a student, or unlinks them; doing it twice is
	// no error.
	SetLink(ctx context.Context, coach, student domain.ID, linked bool) error
	// AskOfGuardians marks all guardians of a student as read no more until the
	// student was asked, since an instant; the zero time lets all of them read.
	AskOfGuardians(ctx context.Context, student domain.ID, since time.Time) error
}

// GroupStore is what groups of students need kept.
type GroupStore interface {
	domain.EventLog
	Listing

	Groups(ctx context.Context, page domain.Page) ([]Group, error)
	Group(ctx context.Context, id domain.ID) (Group, error)
	// SaveGroup keeps a group and makes its students exactly those given.
	SaveGroup(ctx context.Context, g Group) error
	DeleteGroup(ctx context.Context, id domain.ID) error
}

// AssignmentStore is what assignments need kept. An assignment with other
// ladders judges the student's history anew, so it keeps progress as well.
type AssignmentStore interface {
	domain.EventLog
	progress.Keeper
	Viewing
	Listing
	Adjusting

	Group(ctx context.Context, id domain.ID) (Group, error)
	Version(ctx context.Context, programme domain.ID, number int) (curriculum.Version, error)
	Assignment(ctx context.Context, id domain.ID) (Assignment, error)
	Assignments(ctx context.Context, f AssignmentFilter, page domain.Page) ([]Assignment, error)
	SaveAssignment(ctx context.Context, a Assignment) error
}

// Listing lists members.
type Listing interface {
	// Members lists members; those who left only when asked for. VisibleTo
	// keeps a student themselves, for a coach the staff and their students, and
	// for a guardian the guardian and their juniors.
	Members(ctx context.Context, f MemberFilter, page domain.Page) ([]Member, error)
}

// Viewing is what deciding whom an asker may see needs.
type Viewing interface {
	// Member finds a member of any state.
	Member(ctx context.Context, id domain.ID) (Member, error)
	// WorksWith reports whether a coach or guardian is linked to a student.
	WorksWith(ctx context.Context, member, student domain.ID) (bool, error)
}

// AssignmentFilter narrows a list of assignments; zero values do not narrow.
type AssignmentFilter struct {
	Student   domain.ID
	Programme domain.ID
	// VisibleTo keeps those of students that this coach or guardian works with.
	VisibleTo domain.ID
	// Current leaves out those taken back.
	Current bool
	// ForApps leaves out those of juniors whom software may not read.
	ForApps bool
}

// Student finds a student whom the actor may see: an owner or a key sees all,
// a coach and a guardian those linked to them, a student the student alone.
// Anybody else gets domain.NotFound, whether the student exists or not.
func Student(ctx context.Context, v Viewing, a domain.Actor, id domain.ID) (Member, error) {
	m, err := v.Member(ctx, id)
	if err != nil {
		if domain.KindOf(err) == domain.NotFound {
			err = domain.ErrNotFound("student")
		}
		return Member{}, err
	}
	linked := false
	if needsLink(a) {
		if linked, err = v.WorksWith(ctx, a.Member, id); err != nil {
			return Member{}, err
		}
	}
	return m, MaySee(a, m, linked)
}

func needsLink(a domain.Actor) bool { return a.Role == domain.Coach || a.Role == domain.Guardian }

// MaySee is the rule of [Student] for a member at hand; linked says whether the
// actor works with them. Software sees a junior only if the guardian agreed to it.
func MaySee(a domain.Actor, m Member, linked bool) error {
	own := a.Role == domain.Student && a.Member == m.ID
	if a.ByApp() && !m.ForApps() {
		return domain.ErrNotFound("student")
	}
	if m.Role == domain.Student && m.Active() && (a.SeesAll() || own || needsLink(a) && linked) {
		return nil
	}
	return domain.ErrNotFound("student")
}

// maxStudents is how many students one answer may hold.
const maxStudents = 2000

// Students lists the active students whom the actor may see, by the same rule
// as Student, narrowed by f.
func Students(ctx context.Context, tx Listing, a domain.Actor, f MemberFilter) ([]Member, error) {
	f.Role, f.VisibleTo, f.Removed, f.ForApps = domain.Student, Scope(a), false, a.ByApp()
	return tx.Members(ctx, f, domain.Page{Limit: maxStudents})
}

// Scope gives a filter's VisibleTo for an actor: empty for those who see all.
func Scope(a domain.Actor) domain.ID {
	switch {
	case a.SeesAll():
		return ""
	case a.Member == "":
		return domain.Nobody // an empty filter would show everybody
	}
	return a.Member
}
