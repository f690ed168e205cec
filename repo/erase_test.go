package repo

import (
	"bytes"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/domaintest"
	"fringework/migrations"
)

// TestEveryPersonalColumnHasAFate: whatever points at a member or an account is dealt
// with when they are erased.
func TestEveryPersonalColumnHasAFate(t *testing.T) {
	db := openAt(t, engines[0].url(t))
	if db.engine != migrations.SQLite {
		t.Fatal("the first engine is not SQLite, whose schema is asked here")
	}
	// What scope.account and scope.about deal with, and what the members themselves are.
	known := map[string]bool{
		"sign_ins.member_id": true, "sign_ins.account_id": true, "members.account_id": true,
		"events.actor_id": true, "events.subject_id": true, "events.student_id": true,
	}
	// Columns of these names are a person's also where no key says so.
	names := regexp.MustCompile(`^(account|actor|author|by|coach|guardian|member|student|subject)_id$|_by$`)
	for _, p := range personals {
		known[p.table+"."+p.column] = true
	}
	var tables []string
	if err := db.writer.Raw("SELECT name FROM sqlite_master WHERE type = 'table'").Scan(&tables).Error; err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, table := range tables {
		var keys []struct{ Table, From string }
		if err := db.writer.Raw("SELECT \"table\", \"from\" FROM pragma_foreign_key_list(?)", table).Scan(&keys).Error; err != nil {
			t.Fatal(err)
		}
		var columns []string
		if err := db.writer.Raw("SELECT name FROM pragma_table_info(?)", table).Scan(&columns).Error; err != nil {
			t.Fatal(err)
		}
		for _, c := range columns {
			if names.MatchString(c) {
				keys = append(keys, struct{ Table, From string }{"members", c})
			}
		}
		for _, k := range keys {
			if (k.Table != "members" && k.Table != "accounts") || k.From == "academy_id" {
				continue
			}
			seen++
			if name := table + "." + k.From; !known[name] {
				t.Errorf("%s points at a person, and nothing says what becomes of it when they are erased; add it to personals", name)
			}
		}
	}
	if seen < 30 {
		t.Errorf("only %d columns that point at people were found", seen)
	}
}

// allValues writes every value of every table, texts as they are and bytes in
// hexadecimal digits.
func allValues(t *testing.T, db *DB) string {
	t.Helper()
	list := "SELECT name FROM sqlite_master WHERE type = 'table'"
	if db.engine == migrations.Postgres {
		list = "SELECT table_name FROM information_schema.tables WHERE table_schema = current_schema()"
	}
	var tables []string
	if err := db.writer.Raw(list).Scan(&tables).Error; err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, table := range tables {
		var rows []map[string]any
		if err := db.writer.Table(table).Find(&rows).Error; err != nil {
			t.Fatal(err)
		}
		for _, row := range rows {
			for column, v := range row {
				if raw, ok := v.([]byte); ok {
					v = hex.EncodeToString(raw)
				}
				fmt.Fprintf(&b, "%s.%s=%v\n", table, column, v)
			}
		}
	}
	return b.String()
}

// known are words by which the fixture's student can be found.
func known(t *testing.T, db *DB, f *domaintest.Fixture, member domain.ID) []string {
	t.Helper()
	var m academy.Member
	err := db.People().Read(t.Context(), f.Academy, func(tx academy.Store) (err error) {
		m, err = tx.Member(t.Context(), member)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return []string{string(m.ID), strings.ReplaceAll(string(m.ID), "-", ""), m.Email, string(m.Account)}
}

// Nobody finds a person who was erased, wherever they look in the database; what was
// practised is counted all the same.
func TestErasedIsNowhere(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := domaintest.NewFixture(t, StoresOf(t.Context(), db))
		ctx := t.Context()
		account := auth.Account{}
		err := db.Auth().Write(ctx, func(tx auth.Tx) error {
			m, err := tx.Member(ctx, f.Academy, f.Student)
			if err != nil {
				return err
			}
			if account, err = tx.Account(ctx, m.Account); err != nil {
				return err
			}
			family := auth.Family{ID: domain.ID("0196b000-0000-7000-8000-00000000fa01"), Account: account.ID, Academy: f.Academy, Member: f.Student, Created: monday, Rotated: monday, Expires: monday.AddDate(0, 1, 0)}
			invitation := auth.Invitation{
				ID: "0196b000-0000-7000-8000-00000000fa02", Role: domain.Student, Email: account.Email, Name: "Ottoline", By: f.Coach, Coach: f.Coach, Group: f.Group,
				Code: auth.DigestOf("code"), Created: monday, Expires: monday.AddDate(0, 1, 0), Gives: auth.Gift{Programme: f.Programme, Version: 1, Start: someDay},
			}
			open := invitation
			open.ID, open.Code, open.Name = "0196b000-0000-7000-8000-00000000fa03", auth.DigestOf("other"), "Ottoline again"
			if err := errors.Join(tx.AddFamily(ctx, family), tx.AddInvitation(ctx, f.Academy, invitation), tx.AddInvitation(ctx, f.Academy, open)); err != nil {
				return err
			}
			_, err = tx.TakeInvitation(ctx, f.Academy, invitation.ID, f.Student, monday)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		words := append(known(t, db, f, f.Student), "Soft greens.", "Windy today.", "Well struck", "Once a week is enough.", "Keep going", "Away.", "My 57", "Ottoline")
		before := allValues(t, db)
		for _, w := range words {
			if !strings.Contains(before, w) {
				t.Errorf("%q is not in the database before; the test looks for nothing", w)
			}
		}
		if err := db.Rights().Write(ctx, f.Academy, func(tx academy.RightsStore) error { return tx.Erase(ctx, f.Student) }); err != nil {
			t.Fatal(err)
		}
		after := allValues(t, db)
		for _, w := range words {
			for line := range strings.Lines(after) {
				if strings.Contains(line, w) {
					t.Errorf("%q is still found: %s", w, line)
				}
			}
		}
		var counted int
		if err := db.writer.Raw("SELECT SUM(balls) FROM erased_practice WHERE academy_id = ?", f.Academy).Scan(&counted).Error; err != nil || counted == 0 {
			t.Errorf("%d balls are counted (%v); want what was practised", counted, err)
		}
	})
}

// On SQLite nothing is left in the files either, in which deleted rows would stay
// until something else is written over them.
func TestErasedIsNotInTheFiles(t *testing.T) {
	url := engines[0].url(t)
	db := openAt(t, url)
	f := domaintest.NewFixture(t, StoresOf(t.Context(), db))
	words := append(known(t, db, f, f.Student), "Soft greens.", "Windy today.")
	if err := db.Rights().Write(t.Context(), f.Academy, func(tx academy.RightsStore) error { return tx.Erase(t.Context(), f.Student) }); err != nil {
		t.Fatal(err)
	}
	if err := db.Scrub(t.Context()); err != nil {
		t.Fatal(err)
	}
	path := strings.TrimPrefix(url, "sqlite:")
	for _, file := range []string{path, path + "-wal"} {
		raw, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range words {
			if bytes.Contains(raw, []byte(w)) {
				t.Errorf("%q is still in %s", w, file)
			}
		}
	}
}
