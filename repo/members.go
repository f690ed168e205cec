package repo

import (
	"context"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"fringework/domain"
	"fringework/domain/academy"
)

type academyRow struct {
	ID        domain.ID
	Name      string
	TimeZone  string
	Challenge int
	// EraseRemoved and ForgetEvents are in days; 0 for never.
	EraseRemoved int
	ForgetEvents int
	CreatedAt    int64 `gorm:"autoCreateTime:false"`
	LastEvent    int64
	// ProgressForm is the form in which progress is kept; see DB.Outdated.
	ProgressForm int
	// SecondFactor says that owners and coaches must have one.
	SecondFactor bool
}

// TableName names the table.
func (academyRow) TableName() string { return "academies" }

func (r academyRow) academy() academy.Academy {
	return academy.Academy{
		ID: r.ID, Name: r.Name, TimeZone: r.TimeZone, Challenge: r.Challenge,
		EraseRemoved: r.EraseRemoved, ForgetEvents: r.ForgetEvents, CreatedAt: instant(r.CreatedAt),
	}
}

// academies are what several stores know of one.
type academies struct{ *scope }

// Academy implements academy.Store and its relatives.
func (s academies) Academy(ctx context.Context) (academy.Academy, error) {
	var r academyRow
	if err := on(ctx, s.tx).Where("id = ?", s.id).Take(&r).Error; err != nil {
		return academy.Academy{}, fail(err, "academy")
	}
	return r.academy(), nil
}

// SaveAcademy implements academy.Store. It keeps all but when it was made.
func (s peopleStore) SaveAcademy(ctx context.Context, ac academy.Academy) error {
	if ac.ID != s.id {
		return domain.ErrNotFound("academy")
	}
	r := on(ctx, s.tx).Model(&academyRow{}).Where("id = ?", s.id).Updates(map[string]any{"name": ac.Name, "time_zone": ac.TimeZone, "challenge": ac.Challenge,
		"erase_removed": ac.EraseRemoved, "forget_events": ac.ForgetEvents})
	if r.Error == nil && r.RowsAffected == 0 {
		return domain.ErrNotFound("academy")
	}
	return fail(r.Error, "academy")
}

type memberRow struct {
	AcademyID domain.ID `gorm:"primaryKey"`
	ID        domain.ID `gorm:"primaryKey"`
	AccountID domain.ID
	Role      domain.Role
	Name      string
	TimeZone  string
	Units     academy.Units
	Junior    bool
	ConsentAt *int64
	ConsentBy *domain.ID
	// ConsentEndedAt is when consent was withdrawn; ReportsAt, AppsAt, MediaAt and
	// MatchesAt when sharing, photos and clips, and matches were agreed to.
	ConsentEndedAt *int64
	ConsentEndedBy *domain.ID
	ReportsAt      *int64
	AppsAt         *int64
	MediaAt        *int64
	MatchesAt      *int64
	RemovedAt      *int64
	Revision       int
	JoinedAt       int64
	// Email is the account's, read beside the row.
	Email string `gorm:"->"`
}

// TableName names the table.
func (memberRow) TableName() string { return "members" }

func (r memberRow) member() academy.Member {
	return academy.Member{
		ID: r.ID, Account: r.AccountID, Role: r.Role, Name: r.Name, Email: r.Email, TimeZone: r.TimeZone, Units: r.Units,
		Junior: r.Junior, ConsentAt: maybeInstant(r.ConsentAt), ConsentBy: orEmpty(r.ConsentBy),
		ConsentEndedAt: maybeInstant(r.ConsentEndedAt), ConsentEndedBy: orEmpty(r.ConsentEndedBy),
		ReportsAt: maybeInstant(r.ReportsAt), AppsAt: maybeInstant(r.AppsAt), MediaAt: maybeInstant(r.MediaAt), MatchesAt: maybeInstant(r.MatchesAt),
		RemovedAt: maybeInstant(r.RemovedAt), Revision: r.Revision, JoinedAt: instant(r.JoinedAt),
	}
}

// memberColumns are what members are read from, with their e-mails.
const memberColumns = "members.id, members.account_id, members.role, members.name, members.time_zone, members.units, members.junior," +
	" members.consent_at, members.consent_by, members.consent_ended_at, members.consent_ended_by, members.reports_at, members.apps_at, members.media_at, members.matches_at, members.removed_at, members.revision, members.joined_at, accounts.email"

// fields are where the memberColumns are scanned to.
func (r *memberRow) fields() []any {
	return []any{&r.ID, &r.AccountID, &r.Role, &r.Name, &r.TimeZone, &r.Units, &r.Junior, &r.ConsentAt, &r.ConsentBy,
		&r.ConsentEndedAt, &r.ConsentEndedBy, &r.ReportsAt, &r.AppsAt, &r.MediaAt, &r.MatchesAt, &r.RemovedAt, &r.Revision, &r.JoinedAt, &r.Email}
}

// viewing finds members for deciding whom an asker may see.
type viewing struct{ *scope }

// Member implements academy.Viewing. When writing it locks the member: whoever
// changes what is kept of a student has found the student by it.
func (s viewing) Member(ctx context.Context, id domain.ID) (academy.Member, error) {
	var r memberRow
	if err := s.batch(ctx, s.member(id, "member", &r)); err != nil {
		return academy.Member{}, err
	}
	if s.writing {
		s.note(id)
	}
	return r.member(), nil
}

// member finds a member by what they are called if they are absent.
func (s *scope) member(id domain.ID, what string, into *memberRow) query {
	return query{
		sql: "SELECT " + memberColumns + " FROM members JOIN accounts ON accounts.id = members.account_id" +
			" WHERE members.academy_id = ? AND members.id = ?" + s.locking("members"),
		args: []any{s.id, id}, what: what, none: domain.ErrNotFound(what),
		row: func(scan func(...any) error) error { return scan(into.fields()...) },
	}
}

// listing lists members.
type listing struct{ *scope }

// Members implements academy.Listing. When writing it locks the owners if it is
// asked for them, so that the last two cannot both leave.
func (s listing) Members(ctx context.Context, f academy.MemberFilter, page domain.Page) ([]academy.Member, error) {
	q := on(ctx, s.tx).Model(&memberRow{}).Select(memberColumns).Joins("JOIN accounts ON accounts.id = members.account_id").
		Where("members.academy_id = ? AND members.id > ?", s.id, page.After).Order("members.id").Limit(page.Limit)
	q = since(q, "members.updated_at", page.UpdatedSince)
	if f.Role != "" {
		q = q.Where("members.role = ?", f.Role)
	}
	if f.Role == domain.Owner {
		q = q.Clauses(s.forUpdate("members"))
	}
	if !f.Removed {
		q = q.Where("members.removed_at IS NULL")
	} else {
		q = q.Where("members.id <> ?", domain.Nobody)
	}
	if f.ForApps {
		q = q.Where("(members.junior = ? OR members.apps_at IS NOT NULL)", false)
	}
	if f.NotForApps {
		q = q.Where("members.junior = ? AND members.apps_at IS NULL", true)
	}
	if f.Group != "" {
		q = q.Where("members.id IN (SELECT student_id FROM group_students WHERE academy_id = ? AND group_id = ?)", s.id, f.Group)
	}
	if f.VisibleTo != "" {
		q = q.Where("(members.id IN (?) OR members.role IN ('owner', 'coach') AND EXISTS (?))",
			s.linkedTo(f.VisibleTo), s.isCoach(f.VisibleTo))
	}
	return scanned(q, "member", (*memberRow).fields, func(r memberRow) (academy.Member, error) { return r.member(), nil })
}

// linkedTo is a query for the identities of the students whom a coach or a
// guardian works with, and of the member asked for.
func (s *scope) linkedTo(member domain.ID) clause.Expr {
	return clause.Expr{
		SQL: "SELECT student_id FROM coach_links WHERE academy_id = ? AND coach_id = ?" +
			" UNION ALL SELECT student_id FROM guardianships WHERE academy_id = ? AND guardian_id = ? AND asked_at IS NULL" +
			" UNION ALL SELECT id FROM members WHERE academy_id = ? AND id = ?",
		Vars: []any{s.id, member, s.id, member, s.id, member},
	}
}

// isCoach is a query that finds the member if they are a coach.
func (s *scope) isCoach(member domain.ID) clause.Expr {
	return clause.Expr{
		SQL:  "SELECT 1 FROM members v WHERE v.academy_id = ? AND v.id = ? AND v.role = 'coach'",
		Vars: []any{s.id, member},
	}
}

// SaveMember implements academy.Store.
func (s peopleStore) SaveMember(ctx context.Context, m academy.Member) error {
	return s.saveMember(ctx, m)
}

func (s *scope) saveMember(ctx context.Context, m academy.Member) error {
	row := memberRow{
		AcademyID: s.id, ID: m.ID, Role: m.Role, Name: m.Name, TimeZone: m.TimeZone, Units: m.Units, Junior: m.Junior,
		ConsentAt: maybeAt(m.ConsentAt), ConsentBy: maybeText(m.ConsentBy),
		ConsentEndedAt: maybeAt(m.ConsentEndedAt), ConsentEndedBy: maybeText(m.ConsentEndedBy), ReportsAt: maybeAt(m.ReportsAt), AppsAt: maybeAt(m.AppsAt), MediaAt: maybeAt(m.MediaAt), MatchesAt: maybeAt(m.MatchesAt),
		RemovedAt: maybeAt(m.RemovedAt), Revision: m.Revision,
	}
	if m.Revision == 1 { // members are made by accepting an invitation alone
		return stale("member")
	}
	return s.save(ctx, &row, m.ID, m.Revision, "member",
		"role", "name", "time_zone", "units", "junior", "consent_at", "consent_by",
		"consent_ended_at", "consent_ended_by", "reports_at", "apps_at", "media_at", "matches_at", "removed_at")
}

// WorksWith implements academy.Viewing.
func (s viewing) WorksWith(ctx context.Context, member, student domain.ID) (bool, error) {
	linked := false
	err := s.batch(ctx, s.worksWith(member, student, &linked))
	return linked, err
}

func (s *scope) worksWith(member, student domain.ID, into *bool) query {
	return query{
		sql: "SELECT EXISTS (SELECT 1 FROM coach_links WHERE academy_id = ? AND coach_id = ? AND student_id = ?" +
			" UNION ALL SELECT 1 FROM guardianships WHERE academy_id = ? AND guardian_id = ? AND student_id = ? AND asked_at IS NULL)",
		args: []any{s.id, member, student, s.id, member, student}, what: "member",
		row: func(scan func(...any) error) error { return scan(into) },
	}
}

type coachLinkRow struct {
	AcademyID domain.ID
	CoachID   domain.ID
	StudentID domain.ID
}

// TableName names the table.
func (coachLinkRow) TableName() string { return "coach_links" }

// CoachesOf implements academy.Store, in order of identity. Coaches who left
// are left out.
func (s peopleStore) CoachesOf(ctx context.Context, student domain.ID) ([]domain.ID, error) {
	var ids []domain.ID
	err := on(ctx, s.tx).Raw("SELECT l.coach_id FROM coach_links l JOIN members m ON m.academy_id = l.academy_id AND m.id = l.coach_id"+
		" WHERE l.academy_id = ? AND l.student_id = ? AND m.removed_at IS NULL ORDER BY l.coach_id", s.id, student).Scan(&ids).Error
	return ids, fail(err, "student")
}

// SetLink implements academy.Store.
func (s peopleStore) SetLink(ctx context.Context, coach, student domain.ID, linked bool) error {
	link := coachLinkRow{AcademyID: s.id, CoachID: coach, StudentID: student}
	if !linked {
		err := s.forStudent(ctx, student).Where("coach_id = ?", coach).Delete(&coachLinkRow{}).Error
		return fail(err, "member")
	}
	return addOnce(on(ctx, s.tx), &link)
}

// addOnce adds a row about a member unless it is there.
func addOnce(tx *gorm.DB, row any) error {
	return fail(tx.Clauses(clause.OnConflict{DoNothing: true}).Create(row).Error, "member")
}

type groupRow struct {
	AcademyID domain.ID `gorm:"primaryKey"`
	ID        domain.ID `gorm:"primaryKey"`
	Name      string
	Revision  int
	CreatedAt int64 `gorm:"autoCreateTime:false"`
	ByID      *domain.ID
}

// TableName names the table.
func (groupRow) TableName() string { return "student_groups" }

type groupStudentRow struct {
	AcademyID domain.ID
	GroupID   domain.ID
	StudentID domain.ID
}

// TableName names the table.
func (groupStudentRow) TableName() string { return "group_students" }

// groups finds groups.
type groups struct{ *scope }

// Groups implements academy.GroupStore and academy.CohortStore.
func (s groups) Groups(ctx context.Context, page domain.Page) ([]academy.Group, error) {
	var rows []groupRow
	err := s.rows(ctx).Where("id > ?", page.After).Order("id").Limit(page.Limit).Find(&rows).Error
	if err != nil {
		return nil, fail(err, "group")
	}
	return s.withStudents(ctx, rows)
}

// Group implements academy.GroupStore and academy.AssignmentStore.
func (s groups) Group(ctx context.Context, id domain.ID) (academy.Group, error) {
	var r groupRow
	if err := s.rows(ctx).Clauses(s.forUpdate("student_groups")).Where("id = ?", id).Take(&r).Error; err != nil {
		return academy.Group{}, fail(err, "group")
	}
	groups, err := s.withStudents(ctx, []groupRow{r})
	if err != nil {
		return academy.Group{}, err
	}
	return groups[0], nil
}

func (s *scope) withStudents(ctx context.Context, rows []groupRow) ([]academy.Group, error) {
	if len(rows) == 0 {
		return nil, nil
	}
	ids := make([]string, len(rows))
	for i, r := range rows {
		ids[i] = string(r.ID)
	}
	var students []groupStudentRow
	if err := s.rows(ctx).Where(s.within("group_id", ids)).Order("group_id, student_id").Find(&students).Error; err != nil {
		return nil, err
	}
	in := map[domain.ID][]domain.ID{}
	for _, s := range students {
		in[s.GroupID] = append(in[s.GroupID], s.StudentID)
	}
	return each(rows, func(r groupRow) academy.Group {
		return academy.Group{ID: r.ID, Name: r.Name, Students: in[r.ID], Revision: r.Revision, CreatedAt: instant(r.CreatedAt), By: orEmpty(r.ByID)}
	}), nil
}

// SaveGroup implements academy.GroupStore.
func (s groupStore) SaveGroup(ctx context.Context, g academy.Group) error {
	row := groupRow{AcademyID: s.id, ID: g.ID, Name: g.Name, Revision: g.Revision, CreatedAt: at(g.CreatedAt), ByID: maybeText(g.By)}
	if err := s.save(ctx, &row, g.ID, g.Revision, "group", "name"); err != nil {
		return err
	}
	if err := s.rows(ctx).Where("group_id = ?", g.ID).Delete(&groupStudentRow{}).Error; err != nil {
		return err
	}
	students := each(g.Students, func(id domain.ID) groupStudentRow {
		return groupStudentRow{AcademyID: s.id, GroupID: g.ID, StudentID: id}
	})
	return s.insert(ctx, students, len(students), "student")
}

// DeleteGroup implements academy.GroupStore. Invitations into the group stay, and
// lead into none.
func (s groupStore) DeleteGroup(ctx context.Context, id domain.ID) error {
	err := on(ctx, s.tx).Exec("UPDATE invitations SET group_id = NULL WHERE academy_id = ? AND group_id = ?", s.id, id).Error
	if err != nil {
		return fail(err, "group")
	}
	if err := s.rows(ctx).Where("group_id = ?", id).Delete(&groupStudentRow{}).Error; err != nil {
		return err
	}
	r := s.rows(ctx).Where("id = ?", id).Delete(&groupRow{})
	if r.Error == nil && r.RowsAffected == 0 {
		return domain.ErrNotFound("group")
	}
	return fail(r.Error, "group")
}
