package repo

import (
	"context"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"fringework/domain"
	"fringework/migrations"
)

// scope is one academy in one transaction, which every store of the domain is
// opened on: see transact.go.
type scope struct {
	*transaction
	id domain.ID
	// locked are the students whom this transaction has locked.
	locked map[domain.ID]bool
}

// on starts a statement of the transaction under a context. One that brings no
// deadline ends with the transaction.
func on(ctx context.Context, tx *gorm.DB) *gorm.DB {
	if _, ok := ctx.Deadline(); !ok {
		ctx = ending{tx.Statement.Context, ctx}
	}
	return tx.WithContext(ctx)
}

// ending is the end of one context with the values of another.
type ending struct {
	context.Context
	values context.Context
}

// Value implements context.Context. An observer is told under the transaction.
func (e ending) Value(key any) any {
	if key == (observedKey{}) {
		return e.Context.Value(key)
	}
	return e.values.Value(key)
}

// rows starts a statement on the academy's rows of one table.
func (s *scope) rows(ctx context.Context) *gorm.DB {
	return on(ctx, s.tx).Where("academy_id = ?", s.id)
}

// forStudent starts a statement on one student's rows of a table.
func (s *scope) forStudent(ctx context.Context, student domain.ID) *gorm.DB {
	return s.rows(ctx).Where("student_id = ?", student)
}

// forSkill starts a statement on one student's rows at one skill.
func (s *scope) forSkill(ctx context.Context, student, skill domain.ID) *gorm.DB {
	return s.forStudent(ctx, student).Where("skill_id = ?", skill)
}

// insert adds rows of one table. No rows are no statement.
func (s *scope) insert(ctx context.Context, rows any, n int, what string) error {
	if n == 0 {
		return nil
	}
	return fail(on(ctx, s.tx).Create(rows).Error, what)
}

// upsert adds rows, or replaces all but the key of those with their keys.
func (s *scope) upsert(ctx context.Context, row any, what string, key ...string) error {
	conflict := clause.OnConflict{UpdateAll: true}
	for _, k := range key {
		conflict.Columns = append(conflict.Columns, clause.Column{Name: k})
	}
	return fail(on(ctx, s.tx).Clauses(conflict).Create(row).Error, what)
}

// save keeps a row with a revision: a new one when it is 1, and otherwise the
// given columns of the row whose revision is one below.
func (s *scope) save(ctx context.Context, row any, id domain.ID, revision int, what string, columns ...string) error {
	if revision == 1 {
		known := clause.OnConflict{Columns: []clause.Column{{Name: "academy_id"}, {Name: "id"}}, DoNothing: true}
		r := on(ctx, s.tx).Clauses(known).Create(row)
		if r.Error == nil && r.RowsAffected == 0 {
			return stale(what)
		}
		return fail(r.Error, what)
	}
	r := s.rows(ctx).Model(row).Where("revision = ?", revision-1).Select(append(columns, "revision")).Updates(row)
	if r.Error != nil || r.RowsAffected > 0 {
		return fail(r.Error, what)
	}
	var there int64
	if err := s.rows(ctx).Model(row).Where("id = ?", id).Count(&there).Error; err != nil {
		return err
	}
	if there == 0 {
		return domain.ErrNotFound(what)
	}
	return stale(what)
}

// lockStudent makes other writing transactions that lock the same student wait
// until this one ends. Everything kept of a student is read and then written,
// so whoever does that locks the student first; SQLite has one writer anyway.
func (s *scope) lockStudent(ctx context.Context, student domain.ID) error {
	if !s.writing || s.locked[student] {
		return nil
	}
	if s.engine == migrations.Postgres {
		var id string
		err := on(ctx, s.tx).Raw("SELECT id FROM members WHERE academy_id = ? AND id = ? FOR NO KEY UPDATE", s.id, student).Scan(&id).Error
		if err != nil {
			return fail(err, "student")
		}
	}
	s.note(student)
	return nil
}

func (s *scope) note(locked domain.ID) {
	if s.locked == nil {
		s.locked = map[domain.ID]bool{}
	}
	s.locked[locked] = true
}

// forUpdate is the clause that locks the rows read until the transaction ends,
// in a writing one. Rows that point at them may still be added.
func (s *scope) forUpdate(table string) clause.Expression {
	if !s.writing || s.engine != migrations.Postgres {
		return clause.Where{}
	}
	return clause.Locking{Strength: "NO KEY UPDATE", Table: clause.Table{Name: table}}
}

// locking is forUpdate for a statement in SQL.
func (s *scope) locking(table string) string {
	if !s.writing || s.engine != migrations.Postgres {
		return ""
	}
	return " FOR NO KEY UPDATE OF " + table
}

// advisory makes other writing transactions that name the same thing wait
// until this one ends, also when no row of it exists yet.
func advisory(tx *gorm.DB, engine migrations.Engine, name string) error {
	if engine != migrations.Postgres {
		return nil
	}
	return tx.Exec("SELECT pg_advisory_xact_lock(hashtextextended(?, 0))", name).Error
}
