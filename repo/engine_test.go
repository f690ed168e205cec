package repo

import (
	"errors"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"gorm.io/gorm"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// The questions here are those that engines answer differently, or GORM hides.

// Instants are kept to the millisecond and in UTC, whatever they came as; what
// is finer is cut off in values and in bounds alike.
func TestInstants(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newFixture(t, db)
		auckland := must[*time.Location](t)(time.LoadLocation("Pacific/Auckland"))
		for _, c := range []struct{ given, want time.Time }{
			{time.Date(2026, 5, 4, 12, 0, 0, 123_999_999, auckland), time.Date(2026, 5, 4, 0, 0, 0, 123_000_000, time.UTC)},
			{time.Date(1, 1, 1, 0, 0, 0, 1_000_000, time.UTC), time.Date(1, 1, 1, 0, 0, 0, 1_000_000, time.UTC)},
			{time.Date(1969, 12, 31, 23, 59, 59, 999_500_000, time.UTC), time.Date(1969, 12, 31, 23, 59, 59, 999_000_000, time.UTC)},
			{time.Date(9999, 12, 31, 23, 59, 59, 999_000_000, time.UTC), time.Date(9999, 12, 31, 23, 59, 59, 999_000_000, time.UTC)},
		} {
			skill := curriculum.Skill{ID: newID(), Name: "Lob", Kind: curriculum.Lob, Revision: 1, CreatedAt: c.given, UpdatedAt: c.given, ArchivedAt: c.given}
			w.write(func(a *store) error { return a.SaveSkill(w.ctx, skill) })
			w.read(func(a *store) error {
				found, err := a.SkillsByID(w.ctx, []domain.ID{skill.ID})
				got := found[skill.ID]
				for _, at := range []time.Time{got.CreatedAt, got.UpdatedAt, got.ArchivedAt} {
					if at != c.want {
						t.Errorf("%v came back as %v, want %v", c.given, at, c.want)
					}
				}
				return err
			})
		}
	})
}

// Sessions are ordered by instant, not by how the instant was written.
func TestOrderAcrossZones(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newFixture(t, db)
		honolulu := must[*time.Location](t)(time.LoadLocation("Pacific/Honolulu"))
		later := practice.Session{ID: newID(), Student: w.student, StartedAt: time.Date(2026, 5, 3, 23, 0, 0, 0, honolulu), Revision: 1} // 4 May, 09:00 UTC
		earlier := practice.Session{ID: newID(), Student: w.student, StartedAt: time.Date(2026, 5, 4, 8, 0, 0, 0, time.UTC), Revision: 1}
		w.write(func(a *store) error {
			return errors.Join(a.Save(w.ctx, bare(later)), a.Save(w.ctx, bare(earlier)))
		})
		w.read(func(a *store) error {
			all, err := a.Sessions(w.ctx, practice.SessionFilter{Student: w.student, Limit: 9})
			if len(all) != 2 || all[0].ID != later.ID {
				t.Errorf("got %v, want the one from Honolulu first", all)
			}
			all, fromErr := a.Sessions(w.ctx, practice.SessionFilter{Student: w.student, From: later.StartedAt, Limit: 9})
			if len(all) != 1 || all[0].ID != later.ID {
				t.Errorf("from its start on: got %v, want the one from Honolulu", all)
			}
			return errors.Join(err, fromErr)
		})
	})
}

// Identities are ordered byte by byte on both engines, capitals before small
// letters and punctuation where ASCII has it.
func TestOrderOfIdentities(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newFixture(t, db)
		want := []domain.ID{"-", "0-a", "00", "0A", "0_", "0a", "A", "_", "a", "é"}
		for _, id := range slices.Backward(want) {
			w.write(func(a *store) error {
				return a.SaveSkill(w.ctx, curriculum.Skill{ID: id, Name: "Lob", Kind: curriculum.Lob, Revision: 1})
			})
		}
		w.read(func(a *store) error {
			var got []domain.ID
			for page := (domain.Page{Limit: 3}); ; {
				skills, err := a.Skills(w.ctx, page, false)
				if err != nil {
					return err
				}
				for _, s := range skills {
					got = append(got, s.ID)
				}
				if len(skills) < page.Limit {
					break
				}
				page.After = got[len(got)-1]
			}
			if !slices.Equal(got, want) {
				t.Errorf("got %q, want %q", got, want)
			}
			return nil
		})
	})
}

// A text that one engine cannot keep is refused on both, and a name that no row
// can have finds none.
func TestTextsThatCannotBeKept(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newFixture(t, db)
		for what, text := range map[string]string{"NUL": "a\x00b", "not UTF-8": "a\xffb"} {
			id := newID()
			wantKind(t, what+" in a new row", w.attempt(func(a *store) error {
				return a.SaveSkill(w.ctx, curriculum.Skill{ID: id, Name: text, Kind: curriculum.Lob, Revision: 1})
			}), domain.Invalid)
			wantKind(t, what+" in a changed row", w.attempt(func(a *store) error {
				m, err := a.Member(w.ctx, w.student)
				if err != nil {
					return err
				}
				m.Name = text
				m.Revision++
				return a.SaveMember(w.ctx, m)
			}), domain.Invalid)
			wantKind(t, what+" in a map of columns", db.Auth().Write(w.ctx, func(tx auth.Tx) error {
				_, err := tx.SetPassword(w.ctx, newID(), "hash", text)
				return err
			}), domain.Invalid)
			wantKind(t, what+" as an identity", everything(db).Read(w.ctx, w.academy, func(a *store) error {
				_, err := a.Member(w.ctx, domain.ID(text))
				return err
			}), domain.NotFound)
		}
		// Inside a document it is written as an escape, and survives.
		c := curriculum.Content{Name: "P", Weeks: []curriculum.Week{{Title: "NUL \x00, quote \", <tag> & \u2028 ⛳"}}}
		p := curriculum.Programme{ID: newID(), Draft: c, Revision: 1, CreatedAt: monday, UpdatedAt: monday}
		w.write(func(a *store) error { return a.SaveProgramme(w.ctx, p) })
		w.read(func(a *store) error {
			got, err := a.Programme(w.ctx, p.ID)
			if err == nil && got.Draft.Weeks[0].Title != c.Weeks[0].Title {
				t.Errorf("got %q, want %q", got.Draft.Weeks[0].Title, c.Weeks[0].Title)
			}
			return err
		})
	})
}

// One statement takes any number of identities, of any letters.
func TestManyIdentities(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newFixture(t, db)
		odd := domain.ID(`a,"b\c{d}'e`)
		w.write(func(a *store) error {
			return a.SaveSkill(w.ctx, curriculum.Skill{ID: odd, Name: "Lob", Kind: curriculum.Lob, Revision: 1})
		})
		ids := make([]domain.ID, 100_000) // more than either engine takes as values
		for i := range ids {
			ids[i] = newID()
		}
		ids[77_777] = odd
		ctx, count := countStatements(w.ctx, nil)
		w.read(func(a *store) error {
			found, err := a.SkillsByID(ctx, ids)
			if len(found) != 1 || found[odd].ID != odd {
				t.Errorf("got %v, want the one that exists", found)
			}
			return err
		})
		if count.count() != 1 {
			t.Errorf("got %d statements, want 1", count.count())
		}
	})
}

// The schema's constraints hold where the domain's rules should have.
func TestConstraintsAreABackstop(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		for what, write := range map[string]func(a *store) error{
			"count below zero": func(a *store) error {
				c := bare(practice.Session{ID: newID(), Student: f.student, StartedAt: start, Revision: 1})
				c.Counts = []practice.AssignmentCount{{Assignment: f.assignment, Sessions: -9}}
				return a.Save(f.ctx, c)
			},
			"more balls inside than judged": func(a *store) error {
				state := progress.State{Student: f.student, Skill: f.pitch, Recent: progress.RecentCounts{Judged: 1, Inside: 2}}
				return a.ReplaceRecord(f.ctx, progress.Record{Track: progress.Track{Student: f.student, Skill: f.pitch}, State: state})
			},
			"no such role": func(a *store) error {
				return a.SaveMember(f.ctx, academy.Member{ID: f.student, Role: "caddie", Units: academy.InMetres, Revision: 2})
			},
			"empty identity": func(a *store) error {
				return a.SaveSkill(f.ctx, curriculum.Skill{Name: "Lob", Kind: curriculum.Lob, Revision: 1})
			},
			"coach of oneself": func(a *store) error { return a.SetLink(f.ctx, f.coach, f.coach, true) },
		} {
			if err := f.attempt(write); !errors.Is(err, gorm.ErrCheckConstraintViolated) {
				t.Errorf("%s: got error %v, want %v", what, err, gorm.ErrCheckConstraintViolated)
			}
		}
		wantKind(t, "another student's assignment", f.attempt(func(a *store) error {
			return a.Save(f.ctx, bare(practice.Session{ID: newID(), Student: f.spare, Assignment: f.assignment, Week: 1, Plan: 1, StartedAt: start, Revision: 1}))
		}), domain.NotFound)
		wantKind(t, "the same programme twice at a time", f.attempt(func(a *store) error {
			return a.SaveAssignment(f.ctx, academy.Assignment{ID: newID(), Student: f.student, Programme: f.programme, Version: 1, Start: someDay, Revision: 1, CreatedAt: monday})
		}), domain.Conflict)
		wantKind(t, "a version that there is", f.attempt(func(a *store) error {
			return a.AddVersion(f.ctx, curriculum.Version{Programme: f.programme, Number: 1, PublishedAt: monday})
		}), domain.Conflict)
	})
}

// GORM puts the time of its own clock into columns named created_at unless it is
// told not to. A row writes every column of its table but the one that touch does.
func TestNoRowTakesGORMsClock(t *testing.T) {
	db := openAt(t, engines[0].url(t))
	for _, row := range []any{
		&academyRow{}, &accountRow{}, &memberRow{}, &groupRow{}, &groupStudentRow{}, &coachLinkRow{}, &guardianshipRow{}, &invitationRow{},
		&keyRow{}, &familyRow{}, &attemptRow{}, &eventRow{}, &skillRow{}, &programmeRow{}, &versionRow{}, &assignmentRow{}, &sessionRow{},
		&commentRow{}, &trackRow{}, &periodRow{}, &adjustmentRow{}, &acknowledgementRow{}, &refusalRow{},
		&authenticatorRow{}, &passkeyRow{}, &recoveryRow{}, &ticketRow{}, &letterRow{},
	} {
		stmt := &gorm.Statement{DB: db.writer}
		if err := stmt.Parse(row); err != nil {
			t.Fatal(err)
		}
		columns, err := db.writer.Migrator().ColumnTypes(row)
		if err != nil || len(columns) == 0 {
			t.Fatalf("%T: table %s: %v", row, stmt.Table, err)
		}
		var written, kept []string
		for _, field := range stmt.Schema.Fields {
			if field.AutoCreateTime != 0 || field.AutoUpdateTime != 0 || field.HasDefaultValue {
				t.Errorf("%T: GORM fills in %s", row, field.DBName)
			}
			if field.Creatable && field.DBName != "" {
				written = append(written, field.DBName)
			}
		}
		for _, table := range updated {
			if table == stmt.Table && !slices.Contains(written, "updated_at") {
				written = append(written, "updated_at")
			}
		}
		for _, c := range columns {
			kept = append(kept, c.Name())
		}
		slices.Sort(written)
		slices.Sort(kept)
		if d := cmp.Diff(kept, written); d != "" {
			t.Errorf("%T and touch do not write the columns of the table %s (-kept +written)\n%s", row, stmt.Table, d)
		}
	}
}
