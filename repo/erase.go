package repo

import (
	"context"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/progress"
	"fringework/migrations"
)

// fate is what becomes of rows that name somebody who is erased.
type fate int

const (
	// gone: the rows are deleted.
	gone fate = iota
	// unnamed: the rows stay, and name domain.Nobody instead.
	unnamed
	// emptied: the rows stay without their words, and name domain.Nobody.
	emptied
)

// personal is a column that names a member.
type personal struct {
	table, column string
	fate          fate
	// title heads the rows in an export; empty for what is only a copy, or is told
	// elsewhere.
	title string
}

// personals are all columns that name a member, in an order in which rows can be
// deleted. A table that is not here fails TestEveryPersonalColumnHasAFate.
var personals = []personal{
	{"adjustments", "student_id", gone, "changes_to_your_programme"},
	{"acknowledgements", "student_id", gone, "notes_of_coaches"},
	{"refusals", "student_id", gone, "proposals_refused"},
	{"messages", "student_id", gone, "messages"},
	{"messages", "author_id", gone, "messages_written"},
	{"message_reads", "student_id", gone, ""},
	{"message_reads", "member_id", gone, "messages_read_to"},
	{"report_links", "student_id", gone, "links_to_your_report"},
	{"calendars", "student_id", gone, "calendar"},
	{"digests", "member_id", gone, "weekly_letter"},
	{"told_reasons", "student_id", gone, ""},
	{"webhook_deliveries", "student_id", gone, ""},
	{"webhook_deliveries", "subject_id", gone, ""},
	{"rounds", "student_id", gone, ""},
	{"round_tallies", "student_id", gone, ""},
	{"bags", "student_id", gone, "clubs"},
	{"quiet_words", "student_id", gone, "words_on_quiet_tests"},
	{"seasons", "student_id", gone, "season"},
	{"lesson_parts", "student_id", gone, ""},
	{"lesson_media", "student_id", gone, "photos_and_clips_of_lessons"},
	{"lessons", "student_id", gone, "lessons"},
	{"skill_periods", "student_id", gone, ""},
	{"states", "student_id", gone, ""},
	{"tracks", "student_id", gone, "what_your_balls_are_judged_by"},
	{"habits", "student_id", gone, ""},
	{"sessions", "student_id", gone, ""},
	{"assignments", "student_id", gone, "programmes_given"},
	{"group_students", "student_id", gone, "groups"},
	{"coach_links", "student_id", gone, "coaches"},
	{"coach_links", "coach_id", gone, "students_coached"},
	{"guardianships", "student_id", gone, "guardians"},
	{"guardianships", "guardian_id", gone, "juniors_guarded"},
	{"connections", "member_id", gone, "apps_connected"},
	{"invitations", "student_id", gone, "invitations_of_guardians"},
	{"invitations", "accepted_by", gone, "invitations_accepted"},

	{"adjustments", "created_by", unnamed, "changes_made"},
	{"adjustments", "ended_by", unnamed, ""},
	{"acknowledgements", "by_id", unnamed, "notes_written"},
	{"refusals", "by_id", unnamed, ""},
	{"quiet_words", "by_id", unnamed, ""},
	{"report_links", "by_id", unnamed, "report_links_made"},
	{"rounds", "by_id", unnamed, ""},
	{"lessons", "coach_id", unnamed, "lessons_given"},
	{"lesson_media", "by_id", unnamed, ""},
	{"sessions", "by_id", unnamed, ""},
	{"comments", "author_id", emptied, "comments_written"},
	{"assignments", "created_by", unnamed, "programmes_given_by_you"},
	{"invitations", "by_id", unnamed, ""},
	{"invitations", "coach_id", unnamed, ""},
	{"programmes", "created_by", unnamed, ""},
	{"versions", "published_by", unnamed, ""},
	{"app_keys", "by_id", unnamed, "keys_made"},
	{"student_groups", "by_id", unnamed, ""},
	{"webhooks", "created_by", unnamed, "webhooks_made"},
	{"apps", "by_id", unnamed, "apps_registered"},
	{"members", "consent_by", unnamed, "consent_given"},
	{"members", "consent_ended_by", unnamed, "consent_withdrawn"},
}

// rightsStore takes members and what is kept of them apart.
type rightsStore struct {
	*scope
	viewing
	listing
	academies
}

// Rights opens the store of academy.RightsService.
func (db *DB) Rights() domain.Transactor[academy.RightsStore] {
	return transactor[academy.RightsStore]{db, func(s *scope) academy.RightsStore {
		return rightsStore{s, viewing{s}, listing{s}, academies{s}}
	}}
}

// SaveMember implements academy.RightsStore.
func (s rightsStore) SaveMember(ctx context.Context, m academy.Member) error {
	return s.saveMember(ctx, m)
}

// Erase implements academy.RightsStore.
func (s rightsStore) Erase(ctx context.Context, member domain.ID) error { return s.erase(ctx, member) }

// erase takes a member out of the academy's tables, as academy.RightsStore tells.
// The account goes too if it belongs to no other academy.
func (s *scope) erase(ctx context.Context, member domain.ID) error {
	if !s.writing {
		return errReadOnly
	}
	var row memberRow
	if err := s.batch(ctx, s.member(member, "member", &row)); err != nil {
		return err
	}
	var practised []progress.State
	if err := s.batch(ctx, s.statesOf(s.list([]string{string(member)}), &practised)); err != nil {
		return err
	}
	s.note(member)
	queries := append(s.count(practised), s.nobody()...)
	queries = append(queries, s.about(member)...)
	for _, p := range personals {
		queries = append(queries, s.take(p, member))
	}
	return s.batch(ctx, append(queries, s.account(member, row)...)...)
}

// count adds what was practised to what is kept without anybody.
func (s *scope) count(practised []progress.State) (queries []query) {
	for _, p := range practised {
		queries = append(queries, query{
			sql: "INSERT INTO erased_practice (academy_id, skill_id, students, sessions, balls, inside, holed, seconds) VALUES (?, ?, 1, ?, ?, ?, ?, ?)" +
				" ON CONFLICT (academy_id, skill_id) DO UPDATE SET students = erased_practice.students + 1," +
				" sessions = erased_practice.sessions + excluded.sessions, balls = erased_practice.balls + excluded.balls," +
				" inside = erased_practice.inside + excluded.inside, holed = erased_practice.holed + excluded.holed," +
				" seconds = erased_practice.seconds + excluded.seconds",
			args: []any{s.id, p.Skill, p.Totals.Sessions, p.Totals.Balls, p.Totals.Inside, p.Totals.Holed, p.Totals.Seconds}, what: "skill",
		})
	}
	return queries
}

// nobody makes the member who stands for those who were erased, who can neither
// sign in nor be listed.
func (s *scope) nobody() []query {
	return []query{
		{sql: "INSERT INTO accounts (id, email, name, password, created_at) SELECT ?, '', '', '', 0 FROM academies WHERE id = ? ON CONFLICT DO NOTHING",
			args: []any{domain.Nobody, s.id}, what: "academy"},
		{sql: "INSERT INTO members (academy_id, id, account_id, role, name, time_zone, units, junior, removed_at, revision, joined_at)" +
			" VALUES (?, ?, ?, 'guardian', '', 'UTC', 'feet', ?, 0, 1, 0) ON CONFLICT DO NOTHING",
			args: []any{s.id, domain.Nobody, domain.Nobody, false}, what: "academy"},
	}
}

// about takes away what is not a member's by a column: words under sessions that go,
// what invitations gave, and the details of events.
func (s *scope) about(member domain.ID) []query {
	invited := "SELECT id FROM invitations WHERE academy_id = ? AND (student_id = ? OR accepted_by = ? OR accepted_at IS NULL AND email <> '' AND email =" +
		" (SELECT email FROM accounts JOIN members ON members.account_id = accounts.id WHERE members.academy_id = ? AND members.id = ?))"
	named := "%" + string(member) + "%"
	return []query{
		{sql: "DELETE FROM comments WHERE academy_id = ? AND session_id IN (SELECT id FROM sessions WHERE academy_id = ? AND student_id = ?)",
			args: []any{s.id, s.id, member}, what: "session"},
		{sql: "DELETE FROM invitation_programmes WHERE academy_id = ? AND invitation_id IN (" + invited + ")",
			args: []any{s.id, s.id, member, member, s.id, member}, what: "invitation"},
		{sql: "DELETE FROM invitations WHERE academy_id = ? AND id IN (" + invited + ")",
			args: []any{s.id, s.id, member, member, s.id, member}, what: "invitation"},
		// Weekly letters that wait, to the member and about them.
		{sql: "DELETE FROM letters WHERE academy_id = ? AND doc LIKE ?", args: []any{s.id, named}, what: "academy"},
		// They tell of single students, and are learned anew within the hour.
		{sql: "DELETE FROM insights WHERE academy_id = ?", args: []any{s.id}, what: "academy"},
		{sql: "UPDATE events SET data = '{}', student_id = NULL, subject_id = CASE WHEN subject_id = ? OR student_id = ? THEN ? ELSE subject_id END" +
			" WHERE academy_id = ? AND (student_id = ? OR subject_id = ? OR CAST(data AS TEXT) LIKE ?)",
			args: []any{member, member, domain.Nobody, s.id, member, member, named}, what: "academy"},
		{sql: "UPDATE events SET actor_id = NULL WHERE academy_id = ? AND actor_id = ?", args: []any{s.id, member}, what: "academy"},
	}
}

// take deals with the rows that name the member in a column.
func (s *scope) take(p personal, member domain.ID) query {
	where := " WHERE academy_id = ? AND " + p.column + " = ?"
	args := []any{s.id, member}
	switch p.fate {
	case gone:
		return query{sql: "DELETE FROM " + p.table + where, args: args, what: p.table}
	case emptied:
		return query{sql: "UPDATE " + p.table + " SET " + p.column + " = ?, text = '', deleted_at = COALESCE(deleted_at, at)" + where,
			args: append([]any{domain.Nobody}, args...), what: p.table}
	}
	return query{sql: "UPDATE " + p.table + " SET " + p.column + " = ?" + where, args: append([]any{domain.Nobody}, args...), what: p.table}
}

// account lets the member go, and then the account, unless it belongs somewhere
// else.
func (s *scope) account(member domain.ID, row memberRow) []query {
	alone := " AND NOT EXISTS (SELECT academy_id FROM members WHERE members.account_id = ?)"
	mentioned := "REPLACE(doc, (SELECT '\"' || email || '\"' FROM accounts WHERE id = ?), '') <> doc"
	return []query{
		{sql: "UPDATE sign_ins SET academy_id = NULL, member_id = NULL WHERE academy_id = ? AND member_id = ?", args: []any{s.id, member}, what: "member"},
		{sql: "DELETE FROM members WHERE academy_id = ? AND id = ?", args: []any{s.id, member}, what: "member"},
		{sql: "DELETE FROM sign_ins WHERE account_id = ?" + alone, args: []any{row.AccountID, row.AccountID}, what: "account"},
		// What waits to be sent to the address, and what was begun with it.
		{sql: "DELETE FROM letters WHERE " + mentioned + alone, args: []any{row.AccountID, row.AccountID}, what: "account"},
		{sql: "DELETE FROM tickets WHERE " + mentioned + alone, args: []any{row.AccountID, row.AccountID}, what: "account"},
		{sql: "DELETE FROM accounts WHERE id = ?" + alone, args: []any{row.AccountID, row.AccountID}, what: "account"},
	}
}

// ForgetEvents implements academy.RightsStore.
func (s rightsStore) ForgetEvents(ctx context.Context, before time.Time) (n int, err error) {
	if !s.writing {
		return 0, errReadOnly
	}
	err = s.batch(ctx, query{
		sql: "UPDATE events SET data = '{}', actor_id = NULL, student_id = NULL, subject_id = ? WHERE academy_id = ? AND at < ?" +
			" AND (subject_id <> ? OR actor_id IS NOT NULL OR student_id IS NOT NULL OR CAST(data AS TEXT) <> '{}')",
		args: []any{domain.Nobody, s.id, at(before), domain.Nobody}, what: "academy",
		done: func(changed int64) error { n = int(changed); return nil },
	})
	return n, err
}

// Practised implements academy.RightsStore.
func (s rightsStore) Practised(ctx context.Context) ([]academy.Practised, error) {
	var standing []progress.State
	var r stateRow
	total := map[domain.ID]academy.Practised{}
	err := s.batch(ctx,
		query{sql: "SELECT student_id, skill_id, doc FROM states WHERE academy_id = ?", args: []any{s.id}, what: "academy",
			row: func(scan func(...any) error) error {
				if err := scan(&r.StudentID, &r.SkillID, &r.Doc); err != nil {
					return err
				}
				st, err := r.state()
				standing = append(standing, st)
				return err
			}},
		query{sql: "SELECT skill_id, students, sessions, balls, inside, holed, seconds FROM erased_practice WHERE academy_id = ?", args: []any{s.id}, what: "academy",
			row: func(scan func(...any) error) error {
				var p academy.Practised
				err := scan(&p.Skill, &p.Erased, &p.Sessions, &p.Balls, &p.Inside, &p.Holed, &p.Seconds)
				total[p.Skill] = p
				return err
			}})
	return academy.AddPractised(total, standing), err
}

// Erased reports whether anybody was ever erased, or any photo or clip deleted.
func (db *DB) Erased(ctx context.Context) bool {
	if _, _, err := db.Auth().Belonging(ctx, domain.Nobody); err == nil {
		return true
	}
	deleted := 0
	err := on(ctx, db.reader).Raw("SELECT COUNT(*) FROM (SELECT seq FROM events WHERE kind = ? LIMIT 1) AS one", academy.MediaDeleted).Scan(&deleted).Error
	return err == nil && deleted > 0
}

// Scrub leaves nothing in the files of what was deleted. On SQLite it writes the
// database anew, which takes seconds for each gigabyte, in which others wait to write;
// PostgreSQL's autovacuum frees deleted rows by itself.
func (db *DB) Scrub(ctx context.Context) error {
	if db.engine == migrations.Postgres {
		return nil
	}
	for _, statement := range []string{"VACUUM", "PRAGMA wal_checkpoint(TRUNCATE)"} {
		if _, err := db.SQL().ExecContext(ctx, statement); err != nil {
			return err
		}
	}
	return nil
}
