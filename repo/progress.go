package repo

import (
	"context"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

type trackRow struct {
	AcademyID domain.ID
	StudentID domain.ID
	SkillID   domain.ID
	Ladder    string
	Judged    string
}

// TableName names the table.
func (trackRow) TableName() string { return "tracks" }

func (r trackRow) track() (progress.Track, error) {
	t := progress.Track{Student: r.StudentID, Skill: r.SkillID}
	ladder, err := decode[ladderDoc](r.Ladder)
	if err != nil {
		return t, err
	}
	judged, err := decode[[]judgedDoc](r.Judged)
	t.Ladder, t.Judged = ladder.ladder(), each(judged, judgedDoc.judged)
	return t, err
}

// tracks reads what students are judged by.
type tracks struct{ *scope }

// Tracks implements progress.Keeper and practice.ReadStore. When writing it
// locks the student.
func (s tracks) Tracks(ctx context.Context, student domain.ID, skills []domain.ID) (map[domain.ID]progress.Track, error) {
	if err := s.lockStudent(ctx, student); err != nil {
		return nil, err
	}
	found := map[domain.ID]progress.Track{}
	if len(skills) == 0 {
		return found, nil
	}
	err := s.batch(ctx, s.tracksOf(student, skills, func(t progress.Track) { found[t.Skill] = t }))
	return found, err
}

// tracksOf reads what a student is judged by at some skills.
func (s *scope) tracksOf(student domain.ID, skills []domain.ID, found func(progress.Track)) query {
	return query{
		sql:  "SELECT skill_id, ladder, judged FROM tracks WHERE academy_id = ? AND student_id = ? AND skill_id ~",
		args: []any{s.id, student, s.list(texts(skills))}, what: "student",
		row: func(scan func(...any) error) error {
			r := trackRow{StudentID: student}
			if err := scan(&r.SkillID, &r.Ladder, &r.Judged); err != nil {
				return err
			}
			t, err := r.track()
			found(t)
			return err
		},
	}
}

// keeping keeps students' records.
type keeping struct {
	*scope
	tracks
}

// History implements progress.Keeper, oldest first.
func (s keeping) History(ctx context.Context, student, skill domain.ID) ([]progress.Play, error) {
	var rows []sessionRow
	if err := s.undeleted(ctx, student).Order("started_at, id").Find(&rows).Error; err != nil {
		return nil, fail(err, "student")
	}
	all, err := sessionsOf(rows, true)
	if err != nil {
		return nil, err
	}
	var plays []progress.Play
	for _, session := range all {
		for _, p := range session.Plays() {
			if p.Skill == skill {
				plays = append(plays, p)
			}
		}
	}
	return plays, nil
}

// ReplaceRecord implements progress.Keeper.
func (s keeping) ReplaceRecord(ctx context.Context, r progress.Record) error {
	t := r.Track
	row := trackRow{
		AcademyID: s.id, StudentID: t.Student, SkillID: t.Skill,
		Ladder: encode(ladderToDoc(t.Ladder)), Judged: encode(each(t.Judged, judgedToDoc)),
	}
	if err := s.upsert(ctx, &row, "student or skill", "academy_id", "student_id", "skill_id"); err != nil {
		return err
	}
	if err := s.forSkill(ctx, t.Student, t.Skill).Delete(&periodRow{}).Error; err != nil {
		return err
	}
	return s.batch(ctx, s.keepRecords(t.Student, []practice.SkillChange{{State: r.State, Periods: r.Periods}})...)
}

// stateRow is what is read of a row of states, without GORM.
type stateRow struct {
	StudentID    domain.ID
	SkillID      domain.ID
	Held         int
	RecentJudged int
	RecentInside int
	Doc          []byte
}

func (r stateRow) state() (progress.State, error) {
	st, err := read(stateForm, r.Doc, packState)
	st.Student, st.Skill = r.StudentID, r.SkillID
	return st, err
}

// states reads where students stand.
type states struct{ *scope }

// States implements practice.ReadStore.
func (s states) States(ctx context.Context, students []domain.ID) (found []progress.State, err error) {
	err = s.batch(ctx, s.statesOf(s.list(texts(students)), &found))
	return found, err
}

// statesOf reads where some students stand, in order of student and skill.
func (s *scope) statesOf(students any, into *[]progress.State) query {
	var r stateRow
	return query{
		sql:  "SELECT student_id, skill_id, doc FROM states WHERE academy_id = ? AND student_id ~ ORDER BY student_id, skill_id",
		args: []any{s.id, students}, what: "student",
		row: func(scan func(...any) error) error {
			if err := scan(&r.StudentID, &r.SkillID, &r.Doc); err != nil {
				return err
			}
			st, err := r.state()
			*into = append(*into, st)
			return err
		},
	}
}

// periodRow is thirty days of a student at a skill.
type periodRow struct {
	AcademyID domain.ID
	StudentID domain.ID
	SkillID   domain.ID
	Period    int
	// Said is how many of the sessions count for every tier of the track.
	Said int
	Doc  []byte
}

// TableName names the table.
func (periodRow) TableName() string { return "skill_periods" }

func (r periodRow) period() (progress.Period, error) {
	p, err := read(periodForm, r.Doc, packPeriod)
	p.Student, p.Skill, p.Number = r.StudentID, r.SkillID, r.Period
	for i := range p.Sessions {
		p.Sessions[i].Skill = r.SkillID
	}
	return p, err
}

// latestPeriods picks the periods of [progress.Latest] of some skills.
const latestPeriods = "SELECT skill_id, period, doc, whole FROM (SELECT skill_id, period, doc," +
	" SUM(said) OVER latest - said AS later, COUNT(*) OVER (PARTITION BY skill_id) AS whole" +
	" FROM skill_periods WHERE academy_id = ? AND student_id = ? AND skill_id IN (%s)" +
	" WINDOW latest AS (PARTITION BY skill_id ORDER BY period DESC ROWS UNBOUNDED PRECEDING)) AS p" +
	" WHERE later < ? OR period >= ? OR period = ? OR period = %s ORDER BY skill_id, period"

// recentSessions is what [progress.Record.Periods] asks for.
const recentSessions = estimate.Window + 1

// SkillRecord implements academy.ReadStore.
func (s readStore) SkillRecord(ctx context.Context, student, skill domain.ID, sessions, since int) (progress.Record, error) {
	r := progress.Record{Track: progress.Track{Student: student, Skill: skill}}
	found := map[domain.ID]*progress.Record{skill: &r}
	err := s.batch(ctx,
		s.tracksOf(student, []domain.ID{skill}, func(t progress.Track) { r.Track = t }),
		s.readPeriods(student, found, latestOf("?", "-1"), s.id, student, skill, sessions, since, -1))
	r.Whole = r.Whole || len(r.Periods) == 0
	return r, err
}

// readPeriods reads periods into the records of their skills.
func (s *scope) readPeriods(student domain.ID, into map[domain.ID]*progress.Record, sql string, args ...any) query {
	return query{sql: sql, args: args, what: "student", row: func(scan func(...any) error) error {
		row := periodRow{StudentID: student}
		var whole int
		if err := scan(&row.SkillID, &row.Period, &row.Doc, &whole); err != nil {
			return err
		}
		p, err := row.period()
		if r := into[row.SkillID]; r != nil && err == nil {
			r.Periods = append(r.Periods, p)
			r.Whole = len(r.Periods) == whole
		}
		return err
	}}
}

// keepRecords makes the statements that keep what changed of a student's
// records.
func (s *scope) keepRecords(student domain.ID, changes []practice.SkillChange) []query {
	var queries []query
	var held, periods []any
	for _, c := range changes {
		st := c.State
		if c.Forget {
			queries = append(queries, query{
				sql:  "DELETE FROM states WHERE academy_id = ? AND student_id = ? AND skill_id = ?",
				args: []any{s.id, student, st.Skill}, what: "student",
			})
		} else {
			held = append(held, s.id, student, st.Skill, st.Held, st.Recent.Judged, st.Recent.Inside, write(stateForm, &st, packState))
		}
		for _, p := range c.Periods {
			if len(p.Sessions) == 0 {
				queries = append(queries, query{
					sql:  "DELETE FROM skill_periods WHERE academy_id = ? AND student_id = ? AND skill_id = ? AND period = ?",
					args: []any{s.id, student, st.Skill, p.Number}, what: "student",
				})
				continue
			}
			periods = append(periods, s.id, student, st.Skill, p.Number, p.Said(), write(periodForm, &p, packPeriod))
		}
	}
	queries = append(queries, rowsInto("INSERT INTO states (academy_id, student_id, skill_id, held, recent_judged, recent_inside, doc) VALUES ",
		" ON CONFLICT (academy_id, student_id, skill_id) DO UPDATE SET held = excluded.held,"+
			" recent_judged = excluded.recent_judged, recent_inside = excluded.recent_inside, doc = excluded.doc",
		held, 7, "student or skill")...)
	return append(queries, rowsInto("INSERT INTO skill_periods (academy_id, student_id, skill_id, period, said, doc) VALUES ",
		" ON CONFLICT (academy_id, student_id, skill_id, period) DO UPDATE SET said = excluded.said, doc = excluded.doc",
		periods, 6, "student or skill")...)
}

// perInsert bounds the rows of one statement, so that statements stay few and
// below what either engine takes.
const perInsert = 100

// rowsInto makes statements that insert rows of so many values.
func rowsInto(into, then string, values []any, columns int, what string) []query {
	var queries []query
	for len(values) > 0 {
		part := values[:min(len(values), perInsert*columns)]
		queries = append(queries, query{sql: into + places(len(part)/columns, columns) + then, args: part, what: what})
		values = values[len(part):]
	}
	return queries
}

// priorDoc is the prior of a stage or, with Form alone, what was learned of form.
type priorDoc struct {
	Skill domain.ID `json:"skill"`
	Held  int       `json:"held"`
	A     float64   `json:"a"`
	B     float64   `json:"b"`
	Form  []float64 `json:"form,omitempty"`
}

// Priors implements academy.LearnStore.
func (s learnStore) Priors(ctx context.Context) (progress.Priors, error) {
	found := progress.Priors{}
	err := s.batch(ctx, s.readPriors(&found))
	return found, err
}

// readPriors reads what an academy's students teach about each other.
func (s *scope) readPriors(into *progress.Priors) query {
	return query{sql: "SELECT doc FROM priors WHERE academy_id = ?", args: []any{s.id}, what: "academy",
		row: func(scan func(...any) error) error {
			var doc string
			if err := scan(&doc); err != nil {
				return err
			}
			docs, err := decode[[]priorDoc](doc)
			into.Rates = map[progress.Stage]estimate.Prior{}
			for _, d := range docs {
				if len(d.Form) == len(into.Form) {
					copy(into.Form[:], d.Form)
					continue
				}
				into.Rates[progress.Stage{Skill: d.Skill, Held: d.Held}] = estimate.Prior{A: d.A, B: d.B}
			}
			return err
		}}
}

// SavePriors implements academy.LearnStore.
func (s learnStore) SavePriors(ctx context.Context, p progress.Priors) error {
	if !s.writing {
		return errReadOnly
	}
	docs := []priorDoc{}
	for stage, prior := range p.Rates {
		docs = append(docs, priorDoc{Skill: stage.Skill, Held: stage.Held, A: prior.A, B: prior.B})
	}
	if p.Form != (estimate.FormKinds{}) {
		docs = append(docs, priorDoc{Form: p.Form[:]})
	}
	return s.batch(ctx, query{
		sql: "INSERT INTO priors (academy_id, changes, doc) VALUES (?, 1, ?)" +
			" ON CONFLICT (academy_id) DO UPDATE SET changes = priors.changes + 1, doc = excluded.doc",
		args: []any{s.id, encode(docs)}, what: "academy",
	})
}

// StageCounts implements academy.LearnStore. The order is fixed, so that what
// is learned from it is.
func (s learnStore) StageCounts(ctx context.Context) ([]progress.StageCount, error) {
	var found []progress.StageCount
	err := s.batch(ctx, query{
		sql: "SELECT skill_id, held, recent_judged, recent_inside, doc FROM states WHERE academy_id = ?" +
			" ORDER BY skill_id, held, recent_judged, recent_inside, student_id",
		args: []any{s.id}, what: "academy",
		row: func(scan func(...any) error) error {
			var c progress.StageCount
			var doc []byte
			if err := scan(&c.Skill, &c.Held, &c.Balls, &c.Inside, &doc); err != nil {
				return err
			}
			state, err := read(stateForm, doc, packState)
			if c.Form = state.Assessment.Form.Kinds; c.Balls > 0 || c.Form != (estimate.FormKinds{}) {
				found = append(found, c)
			}
			return err
		},
	})
	return found, err
}

// habitRow is what is read of a row of habits, without GORM.
type habitRow struct {
	StudentID domain.ID
	Sessions  int
	Doc       []byte
}

func (r habitRow) habit() (progress.Habit, error) {
	recent, err := read(habitForm, r.Doc, packTimes)
	return progress.HabitOf(r.StudentID, r.Sessions, recent), err
}

// keepHabit makes the statement that keeps a habit.
func (s *scope) keepHabit(h progress.Habit) query {
	return query{
		sql: "INSERT INTO habits (academy_id, student_id, sessions, changes, doc) VALUES (?, ?, ?, 1, ?)" +
			" ON CONFLICT (academy_id, student_id) DO UPDATE SET sessions = excluded.sessions, changes = habits.changes + 1, doc = excluded.doc",
		args: []any{s.id, h.Student, h.Sessions, write(habitForm, &h.Recent, packTimes)}, what: "student",
	}
}
