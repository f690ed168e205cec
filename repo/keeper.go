package repo

import (
	"cmp"
	"context"
	"slices"
	"time"

	"fringework/domain"
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

// Tracks implements progress.Keeper. When writing it locks the student.
func (a *Academy) Tracks(ctx context.Context, student domain.ID, skills []domain.ID) (map[domain.ID]progress.Track, error) {
	if err := a.lockStudent(ctx, student); err != nil {
		return nil, err
	}
	tracks := map[domain.ID]progress.Track{}
	if len(skills) == 0 {
		return tracks, nil
	}
	var rows []trackRow
	if err := a.forStudent(ctx, student).Where(a.within("skill_id", texts(skills))).Find(&rows).Error; err != nil {
		return nil, fail(err, "student")
	}
	for _, r := range rows {
		t, err := r.track()
		if err != nil {
			return nil, err
		}
		tracks[r.SkillID] = t
	}
	return tracks, nil
}

// AllTracks implements practice.RebuildStore. When writing it locks the
// student.
func (a *Academy) AllTracks(ctx context.Context, student domain.ID) ([]progress.Track, error) {
	if err := a.lockStudent(ctx, student); err != nil {
		return nil, err
	}
	var rows []trackRow
	if err := a.forStudent(ctx, student).Order("skill_id").Find(&rows).Error; err != nil {
		return nil, fail(err, "student")
	}
	return tryEach(rows, trackRow.track)
}

// SaveTrack implements progress.Keeper.
func (a *Academy) SaveTrack(ctx context.Context, t progress.Track) error {
	row := trackRow{
		AcademyID: a.id, StudentID: t.Student, SkillID: t.Skill,
		Ladder: encode(ladderToDoc(t.Ladder)), Judged: encode(each(t.Judged, judgedToDoc)),
	}
	return a.upsert(ctx, &row, "student or skill", "academy_id", "student_id", "skill_id")
}

// tally is the columns of a progress.Tally.
type tally struct {
	Sessions       int
	Balls          int
	Inside         int
	Holed          int
	Seconds        int
	AttestedBalls  int
	AttestedInside int
	AttestedHoled  int
}

type digestRow struct {
	AcademyID domain.ID
	SessionID domain.ID
	SkillID   domain.ID
	StudentID domain.ID
	StartedAt int64
	Week      string
	Tally     tally `gorm:"embedded"`
}

// TableName names the table.
func (digestRow) TableName() string { return "digests" }

func (r digestRow) digest() (progress.SessionSummary, error) {
	week, err := date(r.Week)
	return progress.SessionSummary{
		Session: r.SessionID, StartedAt: instant(r.StartedAt), Week: week, Skill: r.SkillID, Tally: progress.Tally(r.Tally),
	}, err
}

// ReplaceDigests implements progress.Keeper.
func (a *Academy) ReplaceDigests(ctx context.Context, student, session domain.ID, digests []progress.SessionSummary) error {
	// The readings go with their digests.
	if err := a.rows(ctx).Where("session_id = ?", session).Delete(&digestRow{}).Error; err != nil {
		return err
	}
	return a.addDigests(ctx, student, digests)
}

func (a *Academy) addDigests(ctx context.Context, student domain.ID, digests []progress.SessionSummary) error {
	var rows []digestRow
	var readings []readingRow
	for _, d := range digests {
		rows = append(rows, digestRow{
			AcademyID: a.id, SessionID: d.Session, SkillID: d.Skill, StudentID: student,
			StartedAt: at(d.StartedAt), Week: d.Week.String(), Tally: tally(d.Tally),
		})
		readings = append(readings, a.readingRows(student, d)...)
	}
	if err := a.insert(ctx, rows, len(rows), "session or skill"); err != nil {
		return err
	}
	return a.insertReadings(ctx, readings)
}

// ReplaceReadings implements progress.Keeper.
func (a *Academy) ReplaceReadings(ctx context.Context, student domain.ID, d progress.SessionSummary) error {
	if err := a.rows(ctx).Where("session_id = ? AND skill_id = ?", d.Session, d.Skill).Delete(&readingRow{}).Error; err != nil {
		return err
	}
	return a.insertReadings(ctx, a.readingRows(student, d))
}

// History implements progress.Keeper, oldest first.
func (a *Academy) History(ctx context.Context, student, skill domain.ID) ([]progress.Play, error) {
	var rows []sessionRow
	err := a.standingSessions(ctx, student).
		Where("id IN (SELECT session_id FROM digests WHERE academy_id = ? AND student_id = ? AND skill_id = ?)", a.id, student, skill).
		Order("started_at, id").Find(&rows).Error
	if err != nil {
		return nil, fail(err, "student")
	}
	sessions, err := a.withBlocks(ctx, rows, true)
	if err != nil {
		return nil, err
	}
	var plays []progress.Play
	for _, s := range sessions {
		for _, p := range s.Plays() {
			if p.Skill == skill {
				plays = append(plays, p)
			}
		}
	}
	return plays, nil
}

// DigestsOf implements progress.Keeper, in order of skill.
func (a *Academy) DigestsOf(ctx context.Context, session domain.ID) ([]progress.SessionSummary, error) {
	var rows []digestRow
	if err := a.rows(ctx).Where("session_id = ?", session).Order("skill_id").Find(&rows).Error; err != nil {
		return nil, fail(err, "session")
	}
	return tryEach(rows, digestRow.digest)
}

// LatestStart implements progress.Keeper.
func (a *Academy) LatestStart(ctx context.Context, student, skill domain.ID) (time.Time, error) {
	var last *int64
	err := a.forSkill(ctx, student, skill).Model(&digestRow{}).Select("MAX(started_at)").Scan(&last).Error
	return maybeInstant(last), fail(err, "student")
}

type weekRow struct {
	AcademyID domain.ID
	StudentID domain.ID
	Week      string
	SkillID   domain.ID
	Tally     tally `gorm:"embedded"`
}

// TableName names the table.
func (weekRow) TableName() string { return "practice_weeks" }

// The columns of a tally, for statements that add to them.
const (
	tallyColumns = "sessions, balls, inside, holed, seconds, attested_balls, attested_inside, attested_holed"
	addTally     = "sessions = practice_weeks.sessions + excluded.sessions, balls = practice_weeks.balls + excluded.balls," +
		" inside = practice_weeks.inside + excluded.inside, holed = practice_weeks.holed + excluded.holed," +
		" seconds = practice_weeks.seconds + excluded.seconds, attested_balls = practice_weeks.attested_balls + excluded.attested_balls," +
		" attested_inside = practice_weeks.attested_inside + excluded.attested_inside, attested_holed = practice_weeks.attested_holed + excluded.attested_holed"
	changeTally = "sessions = sessions + ?, balls = balls + ?, inside = inside + ?, holed = holed + ?," +
		" seconds = seconds + ?, attested_balls = attested_balls + ?, attested_inside = attested_inside + ?, attested_holed = attested_holed + ?"
)

func (t tally) values() []any {
	return []any{t.Sessions, t.Balls, t.Inside, t.Holed, t.Seconds, t.AttestedBalls, t.AttestedInside, t.AttestedHoled}
}

// AddToWeek implements progress.Keeper. A week without sessions is not kept.
func (a *Academy) AddToWeek(ctx context.Context, student, skill domain.ID, week domain.Date, delta progress.Tally) error {
	if delta.Sessions > 0 {
		vars := append([]any{a.id, student, week.String(), skill}, tally(delta).values()...)
		err := on(ctx, a.tx).Exec("INSERT INTO practice_weeks (academy_id, student_id, week, skill_id, "+tallyColumns+")"+
			" VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"+
			" ON CONFLICT (academy_id, student_id, week, skill_id) DO UPDATE SET "+addTally, vars...).Error
		return fail(err, "student or skill")
	}
	vars := append(tally(delta).values(), a.id, student, week.String(), skill)
	r := on(ctx, a.tx).Exec("UPDATE practice_weeks SET "+changeTally+
		" WHERE academy_id = ? AND student_id = ? AND week = ? AND skill_id = ?", vars...)
	if r.Error == nil && r.RowsAffected == 0 {
		return domain.ErrNotFound("practice week")
	}
	if r.Error != nil || delta.Sessions == 0 {
		return fail(r.Error, "practice week")
	}
	return a.forSkill(ctx, student, skill).Where("week = ? AND sessions = 0", week.String()).Delete(&weekRow{}).Error
}

type habitRow struct {
	AcademyID domain.ID
	StudentID domain.ID
	Sessions  int
	Planned   int
	Starts    string
	Times     string
}

// TableName names the table.
func (habitRow) TableName() string { return "habits" }

func (r habitRow) habit() (progress.Habit, error) {
	h := progress.Habit{Student: r.StudentID, Sessions: r.Sessions, Planned: r.Planned}
	starts, err := decode[[]int64](r.Starts)
	if err != nil {
		return h, err
	}
	times, err := decode[[]kindTimeDoc](r.Times)
	h.Starts, h.Times = each(starts, instant), kindTimesOf(times)
	return h, err
}

// SessionCount implements progress.HabitKeeper.
func (a *Academy) SessionCount(ctx context.Context, student domain.ID) (int, error) {
	var n int
	err := a.forStudent(ctx, student).Model(&habitRow{}).Select("sessions").Scan(&n).Error
	return n, fail(err, "student")
}

// SaveHabit implements progress.HabitKeeper.
func (a *Academy) SaveHabit(ctx context.Context, h progress.Habit) error {
	row := habitRow{
		AcademyID: a.id, StudentID: h.Student, Sessions: h.Sessions, Planned: h.Planned,
		Starts: encode(each(h.Starts, at)), Times: encode(kindTimeDocs(h.Times)),
	}
	return a.upsert(ctx, &row, "student", "academy_id", "student_id")
}

// outingRow is a block of a recent session; a session without blocks has one
// whose columns of a block are NULL.
type outingRow struct {
	ID        domain.ID
	StartedAt int64
	Missed    string
	Kind      *string
	Seconds   int
	Planned   int
}

// RecentOutings implements progress.HabitKeeper.
func (a *Academy) RecentOutings(ctx context.Context, student domain.ID, limit int) ([]progress.SessionTime, error) {
	var rows []outingRow
	err := on(ctx, a.tx).Raw("SELECT s.id, s.started_at, s.missed, b.kind, COALESCE(b.seconds, 0) AS seconds, COALESCE(b.planned, 0) AS planned"+
		" FROM (SELECT academy_id, id, started_at, missed FROM sessions WHERE academy_id = ? AND student_id = ? AND deleted_at IS NULL"+
		" ORDER BY started_at DESC, id DESC LIMIT ?) AS s"+
		" LEFT JOIN session_blocks b ON b.academy_id = s.academy_id AND b.session_id = s.id"+
		" ORDER BY s.started_at, s.id, b.position", a.id, student, limit).Scan(&rows).Error
	if err != nil {
		return nil, fail(err, "student")
	}
	var outings []progress.SessionTime
	for len(rows) > 0 {
		n := slices.IndexFunc(rows, func(r outingRow) bool { return r.ID != rows[0].ID })
		if n < 0 {
			n = len(rows)
		}
		o, err := outing(rows[:n])
		if err != nil {
			return nil, err
		}
		outings = append(outings, o)
		rows = rows[n:]
	}
	return outings, nil
}

// outing sums up the blocks of one session.
func outing(rows []outingRow) (progress.SessionTime, error) {
	missed, err := decode[[]kindTimeDoc](rows[0].Missed)
	s := practice.Session{ID: rows[0].ID, StartedAt: instant(rows[0].StartedAt), Missed: kindTimesOf(missed)}
	for _, r := range rows {
		if r.Kind != nil {
			s.Blocks = append(s.Blocks, practice.Block{Kind: blockKind(*r.Kind), Seconds: r.Seconds, Planned: r.Planned})
		}
	}
	return s.Time(), err
}

// byTier orders by the order of a track.
func byTier(x, y readingRow) int {
	return cmp.Or(cmp.Compare(x.SessionID, y.SessionID), cmp.Compare(x.SkillID, y.SkillID),
		progress.CompareTiers(x.Tier.tier(), y.Tier.tier()))
}
