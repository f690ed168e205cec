package repo

import (
	"context"
	"encoding/json"
	"slices"
	"strings"
	"time"

	"gorm.io/gorm"

	"fringework/domain"
	"fringework/domain/practice"
)

// Dossier gives all that an academy keeps about a member, whether they are still in it
// or not. Whoever asks for it has been found to be that member.
func (db *DB) Dossier(ctx context.Context, in, member domain.ID) (d practice.Dossier, err error) {
	err = db.read(ctx, func(t *transaction) error {
		d = practice.Dossier{}
		s := &scope{transaction: t, id: in}
		if d.Academy, err = (academies{s}).Academy(ctx); err != nil {
			return err
		}
		if d.Member, err = (viewing{s}).Member(ctx, member); err != nil {
			return err
		}
		if err := s.practice(ctx, member, &d); err != nil {
			return err
		}
		d.Records, err = s.records(ctx, member)
		return err
	})
	return d, err
}

// practice reads what a student did.
func (s *scope) practice(ctx context.Context, student domain.ID, d *practice.Dossier) error {
	var rows []sessionRow
	if err := s.forStudent(ctx, student).Order("started_at, id").Find(&rows).Error; err != nil {
		return err
	}
	var err error
	if d.Sessions, err = sessionsOf(rows, true); err != nil {
		return err
	}
	var comments []commentRow
	under := "session_id IN (SELECT id FROM sessions WHERE academy_id = ? AND student_id = ?)"
	if err := s.rows(ctx).Where(under, s.id, student).Order("id").Find(&comments).Error; err != nil {
		return err
	}
	d.Comments = each(comments, commentRow.comment)
	var rounds []roundRow
	if err := s.forStudent(ctx, student).Order("played_at, id").Find(&rounds).Error; err != nil {
		return err
	}
	if d.Rounds, err = tryEach(rounds, roundRow.round); err != nil {
		return err
	}
	return s.batch(ctx, s.statesOf(s.list([]string{string(student)}), &d.States))
}

// records reads every row that names a member, and the events about them.
func (s *scope) records(ctx context.Context, member domain.ID) (all []practice.Record, err error) {
	add := func(title string, q *gorm.DB) error {
		var rows []map[string]any
		if err := q.Find(&rows).Error; err != nil {
			return err
		}
		if len(rows) > 0 {
			all = append(all, practice.Record{Kind: title, Rows: each(rows, readable)})
		}
		return nil
	}
	for _, p := range personals {
		if p.title != "" {
			if err := add(p.title, s.rows(ctx).Table(p.table).Where(p.column+" = ?", member)); err != nil {
				return nil, err
			}
		}
	}
	about := s.rows(ctx).Table("events").Where("actor_id = ? OR subject_id = ? OR student_id = ?", member, member, member).Order("seq")
	return all, add("events", about)
}

// SignIns gives the sign-ins of an account, without what would sign anybody in.
func (db *DB) SignIns(ctx context.Context, account domain.ID) (rows []map[string]any, err error) {
	err = db.read(ctx, func(t *transaction) error {
		var found []map[string]any
		q := on(ctx, t.tx).Table("sign_ins").Select("created_at, rotated_at, expires_at, ended_at, ended_why").Where("account_id = ?", account).Order("created_at")
		if err := q.Find(&found).Error; err != nil {
			return err
		}
		rows = each(found, readable)
		return nil
	})
	return rows, err
}

// readable is a row as a person can read it: without digests and packed values, which
// say nothing or are told elsewhere, without secrets, which are shown once, and without
// whose academy it is.
func readable(row map[string]any) map[string]any {
	out := map[string]any{}
	for name, value := range row {
		switch v := value.(type) {
		case nil, []byte:
			continue
		case int64:
			if name == "at" || strings.HasSuffix(name, "_at") {
				value = instant(v).Format(time.RFC3339)
			}
		case string:
			var doc any
			if slices.Contains([]string{"{", "["}, v[:min(len(v), 1)]) && json.Unmarshal([]byte(v), &doc) == nil {
				value = doc
			}
			if v == "" {
				continue
			}
		}
		if !slices.Contains([]string{"academy_id", "secret", "old_secret"}, name) {
			out[name] = value
		}
	}
	return out
}
