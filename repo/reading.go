package repo

import (
	"context"

	"gorm.io/gorm/clause"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/course"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/migrations"
)

// Each method here is a fixed number of statements, however many students it is
// asked for.

// rowParts is what rows of students are made of.
type rowParts struct{ *scope }

// Stored implements academy.Gathering.
func (s rowParts) Stored(ctx context.Context, students []domain.ID) (stored academy.Stored, err error) {
	list := s.list(texts(students))
	stored.Habits = make(map[domain.ID]progress.Habit, len(students))
	for _, id := range students {
		stored.Habits[id] = progress.Habit{Student: id}
	}
	stored.Course, stored.Seasons = map[domain.ID]course.Tally{}, map[domain.ID]academy.Season{}
	const skills = 4 // of most students, or fewer
	stored.States = make([]progress.State, 0, skills*len(students))
	err = s.batch(ctx, s.currentAssignments(list, &stored.Assignments), s.statesOf(list, &stored.States), s.readPriors(&stored.Priors),
		s.habitsOf(list, stored.Habits), s.acknowledgementsOf(list, &stored.Acknowledgements),
		s.readAdjustments(&stored.Adjustments, "student_id ~ AND ended_at IS NULL", list),
		s.talliesOf(list, stored.Course), s.seasonsOf(list, stored.Seasons))
	return stored, err
}

func (s *scope) habitsOf(students any, into map[domain.ID]progress.Habit) query {
	var r habitRow
	return query{
		sql:  "SELECT student_id, sessions, doc FROM habits WHERE academy_id = ? AND student_id ~",
		args: []any{s.id, students}, what: "student",
		row: func(scan func(...any) error) error {
			if err := scan(&r.StudentID, &r.Sessions, &r.Doc); err != nil {
				return err
			}
			h, err := r.habit()
			into[r.StudentID] = h
			return err
		},
	}
}

func (s *scope) currentAssignments(students any, into *[]academy.Assignment) query {
	var r assignmentRow
	return query{
		sql: "SELECT id, student_id, programme_id, version, start_date, pauses, credits, tests, sessions, revision, created_by, created_at FROM assignments" +
			" WHERE academy_id = ? AND student_id ~ AND ended_at IS NULL ORDER BY id",
		args: []any{s.id, students}, what: "student",
		row: func(scan func(...any) error) error {
			err := scan(&r.ID, &r.StudentID, &r.ProgrammeID, &r.Version, &r.StartDate, &r.Pauses, &r.Credits, &r.Tests, &r.Sessions, &r.Revision, &r.CreatedBy, &r.CreatedAt)
			if err != nil {
				return err
			}
			as, err := r.assignment()
			*into = append(*into, as)
			return err
		},
	}
}

func (s *scope) acknowledgementsOf(students any, into *[]academy.Acknowledgement) query {
	return query{
		sql: "SELECT student_id, skill_id, reason, until, note, by_id, at FROM acknowledgements" +
			" WHERE academy_id = ? AND student_id ~ ORDER BY student_id, skill_id, reason",
		args: []any{s.id, students}, what: "student",
		row: func(scan func(...any) error) error {
			var r acknowledgementRow
			if err := scan(&r.StudentID, &r.SkillID, &r.Reason, &r.Until, &r.Note, &r.ByID, &r.At); err != nil {
				return err
			}
			k, err := r.acknowledgement()
			*into = append(*into, k)
			return err
		},
	}
}

// VersionsOf implements academy.Gathering.
func (s rowParts) VersionsOf(ctx context.Context, as []academy.Assignment) (map[academy.VersionKey]curriculum.Version, error) {
	found := map[academy.VersionKey]curriculum.Version{}
	missing := map[academy.VersionKey]bool{}
	for _, x := range as {
		if v, ok := s.versions.get(s.id, x.Pins()); ok {
			found[x.Pins()] = v
		} else {
			missing[x.Pins()] = true
		}
	}
	if len(missing) == 0 {
		return found, nil
	}
	var rows []versionRow
	if err := s.rows(ctx).Where(s.pinned(missing)).Find(&rows).Error; err != nil {
		return nil, fail(err, "version")
	}
	for _, r := range rows {
		v, err := r.version()
		if err != nil {
			return nil, err
		}
		key := academy.VersionKey{Programme: v.Programme, Number: v.Number}
		found[key] = v
		s.versions.put(s.id, key, v)
	}
	return found, nil
}

// pinned is a condition on versions, one value to the statement like within.
func (s *scope) pinned(keys map[academy.VersionKey]bool) clause.Expr {
	var pairs [][2]any
	for k := range keys {
		pairs = append(pairs, [2]any{k.Programme, k.Number})
	}
	pick := "SELECT json_extract(value, '$[0]'), json_extract(value, '$[1]') FROM json_each(?)"
	if s.engine == migrations.Postgres {
		pick = "SELECT p ->> 0, CAST(p ->> 1 AS bigint) FROM json_array_elements(CAST(? AS json)) AS p"
	}
	return clause.Expr{SQL: "(programme_id, number) IN (" + pick + ")", Vars: []any{encode(pairs)}}
}

// DoneInWeek implements academy.ReadStore. Only an assignment that was moved has
// sessions of other weeks to count.
func (s readStore) DoneInWeek(ctx context.Context, as academy.Assignment, week int) (academy.WeekDone, error) {
	where, args := "", []any{s.id, as.ID}
	if len(as.Credits) == 0 {
		where, args = " AND week = ?", append(args, week)
	}
	done := academy.WeekDone{Sessions: map[int]int{}, Dealt: map[academy.PlanBlock]int{}}
	err := s.batch(ctx, query{
		sql:  "SELECT version, week, plan, counts, variant, blocks FROM sessions WHERE academy_id = ? AND assignment_id = ? AND deleted_at IS NULL" + where,
		args: args, what: "assignment",
		row: func(scan func(...any) error) error {
			var version, of, plan, counts int
			var variant *string
			var packed []byte
			if err := scan(&version, &of, &plan, &counts, &variant, &packed); err != nil {
				return err
			}
			if as.CountsFor(version, of) != week {
				return nil
			}
			if counts == 1 {
				done.Sessions[plan]++
			}
			blocks, err := unpackBlocks(packed, false)
			practice.Session{Plan: plan, Variant: curriculum.Variant(orEmpty(variant)), Blocks: blocks}.AddDealt(done.Dealt)
			return err
		},
	})
	return done, err
}

// Uncoached implements academy.ReadStore.
func (s readStore) Uncoached(ctx context.Context) (ids []domain.ID, err error) {
	err = s.batch(ctx, query{
		sql: "SELECT m.id FROM members m WHERE m.academy_id = ? AND m.role = 'student' AND m.removed_at IS NULL" +
			" AND EXISTS (SELECT 1 FROM members c WHERE c.academy_id = ? AND c.role = 'coach' AND c.removed_at IS NULL)" +
			" AND NOT EXISTS (SELECT 1 FROM coach_links l JOIN members c ON c.academy_id = l.academy_id AND c.id = l.coach_id" +
			" WHERE l.academy_id = m.academy_id AND l.student_id = m.id AND c.removed_at IS NULL) ORDER BY m.id",
		args: []any{s.id, s.id}, what: "student",
		row: func(scan func(...any) error) error {
			var id domain.ID
			err := scan(&id)
			ids = append(ids, id)
			return err
		},
	})
	return ids, err
}

// Freshness implements academy.FreshStore.
func (s freshStore) Freshness(ctx context.Context, student, member domain.ID) (f academy.Freshness, err error) {
	number := func(into *int64) func(func(...any) error) error {
		return func(scan func(...any) error) error { return scan(into) }
	}
	practice, args := "SELECT COALESCE(SUM(changes), 0) FROM habits WHERE academy_id = ?", []any{s.id}
	if student != "" {
		practice += " AND student_id = ?"
		args = append(args, student)
	}
	queries := []query{
		{sql: "SELECT last_event FROM academies WHERE id = ?", args: []any{s.id}, what: "academy", row: number(&f.Event)},
		{sql: "SELECT changes FROM priors WHERE academy_id = ?", args: []any{s.id}, what: "academy", row: number(&f.Priors)},
		{sql: practice, args: args, what: "student", row: number(&f.Practice)},
	}
	if student == "" {
		queries = append(queries, query{
			sql:  "SELECT DISTINCT time_zone FROM members WHERE academy_id = ? AND role = 'student' ORDER BY time_zone",
			args: []any{s.id}, what: "student",
			row: func(scan func(...any) error) error {
				var zone string
				err := scan(&zone)
				f.Zones = append(f.Zones, zone)
				return err
			},
		})
		if member != "" {
			queries = append(queries, query{sql: "SELECT COALESCE(SUM(marks), 0) FROM message_reads WHERE academy_id = ? AND member_id = ?",
				args: []any{s.id, member}, what: "member", row: number(&f.Reads)})
		}
		err = s.batch(ctx, queries...)
		return f, err
	}
	var r memberRow
	queries = append(queries, s.member(student, "student", &r))
	if member != "" {
		queries = append(queries, s.worksWith(member, student, &f.Linked))
	}
	err = s.batch(ctx, queries...)
	f.Student, f.Zones = r.member(), []string{r.TimeZone}
	return f, err
}
