package repo

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/practice"
	"fringework/migrations"
)

// Every table of the schema is in the archive, or left out for a reason.
func TestArchiveHoldsEveryTable(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		listing := "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"
		if db.engine == migrations.Postgres {
			listing = "SELECT tablename FROM pg_tables WHERE schemaname = 'public' ORDER BY tablename"
		}
		var tables []string
		if err := db.reader.Raw(listing).Scan(&tables).Error; err != nil {
			t.Fatal(err)
		}
		for _, table := range tables {
			held := slices.ContainsFunc(archivedTables, func(a archived) bool { return a.name == table })
			why, left := notArchived[table]
			if held == left || left && why == "" {
				t.Errorf("the table %s must be in one list of repo/archive_tables.go: in archivedTables, after the tables that its rows point at,"+
					" if an academy would miss its rows in another installation; in notArchived otherwise, with the reason", table)
			}
		}
		for _, a := range archivedTables {
			if !slices.Contains(tables, a.name) {
				t.Errorf("archivedTables has %s, which is no table", a.name)
			}
		}
	})
}

// rarities are rows of the tables that fill leaves empty, in SQL, each with a ?
// for the academy and one for the student.
var rarities = []string{
	"INSERT INTO guardianships (academy_id, guardian_id, student_id) SELECT academy_id, consent_by, id FROM members WHERE academy_id = ? AND id = ?",
	"INSERT INTO invitations (academy_id, id, role, email, name, by_id, junior, code, created_at, expires_at)" +
		" SELECT m.academy_id, 'invitation', 'student', 'ada@sandhill.example', 'Ada \"é\" ⛳', m.id, m.junior, l.token, 5, 6" +
		" FROM members m JOIN report_links l ON l.academy_id = m.academy_id WHERE m.academy_id = ? AND m.id = ?",
	"INSERT INTO invitation_programmes (academy_id, invitation_id, programme_id, version, start_date)" +
		" SELECT v.academy_id, 'invitation', v.programme_id, v.number, '2026-05-05' FROM versions v JOIN members m ON m.academy_id = v.academy_id WHERE v.academy_id = ? AND m.id = ?",
	"INSERT INTO adjustments (academy_id, id, student_id, assignment_id, kind, doc, from_date, until_date, text, reason, revision, created_at)" +
		" SELECT academy_id, 'adjustment', student_id, id, 'shares', '{\"a\": 1.50}', '2026-05-05', '', 'More putts.', '', 1, 7 FROM assignments WHERE academy_id = ? AND student_id = ?",
	"INSERT INTO refusals (academy_id, student_id, skill_id, kind, until, chance_now, chance_then, at)" +
		" SELECT academy_id, student_id, skill_id, 'step', '2026-05-06', 0.1, 0.30000000000000004, 8 FROM tracks WHERE academy_id = ? AND student_id = ?",
	"INSERT INTO erased_practice (academy_id, skill_id, students, sessions, balls, inside, holed, seconds) SELECT academy_id, skill_id, 1, 2, 30, 4, 5, 600 FROM tracks WHERE academy_id = ? AND student_id = ?",
	"INSERT INTO rounds (academy_id, id, student_id, played_at, time_zone, course, note, shots, chances, saved, revision, received_at)" +
		" SELECT academy_id, 'round', id, 9, 'UTC', 'Links End', '=1+1', '[]', 2, 1, 1, 10 FROM members WHERE academy_id = ? AND id = ?",
	"INSERT INTO round_tallies (academy_id, student_id, rounds, chances, saved) SELECT academy_id, id, 1, 2, 1 FROM members WHERE academy_id = ? AND id = ?",
	"INSERT INTO bags (academy_id, student_id, doc) SELECT academy_id, id, '{\"clubs\":[]}' FROM members WHERE academy_id = ? AND id = ?",
	"INSERT INTO digests (academy_id, member_id, week, told, token, stopped_at) SELECT academy_id, id, '2026-05-04', '2026-04-27', 'fwl_x', 12 FROM members WHERE academy_id = ? AND id = ?",
	"INSERT INTO quiet_words (academy_id, student_id, at, side, agrees, by_id) SELECT academy_id, id, 12, 'student', (1 = 1), id FROM members WHERE academy_id = ? AND id = ?",
	"INSERT INTO seasons (academy_id, student_id, doc, changed_at) SELECT academy_id, id, '{\"goal\":\"Fewer putts\"}', 12 FROM members WHERE academy_id = ? AND id = ?",
	"INSERT INTO lessons (academy_id, id, student_id, coach_id, starts_at, minutes, cue, drill, notes, revision, created_at, updated_at)" +
		" SELECT academy_id, 'lesson', id, id, 12, 45, 'Soft \"hands\" ⛳', '', 'Two\nlines', 2, 13, 14 FROM members WHERE academy_id = ? AND id = ?",
	"INSERT INTO lesson_media (academy_id, id, lesson_id, student_id, type, size, keep_until, added_at)" +
		" SELECT academy_id, 'media', 'lesson', id, 'image/jpeg', 32, '2026-06-01', 15 FROM members WHERE academy_id = ? AND id = ?",
	"INSERT INTO lesson_parts (academy_id, media_id, part, student_id, data) SELECT academy_id, 'media', 0, student_id, token FROM report_links WHERE academy_id = ? AND student_id = ?",
	"INSERT INTO messages (academy_id, student_id, id, author_id, text, at) SELECT academy_id, id, 'message', id, 'Two\nlines & <more>', 11 FROM members WHERE academy_id = ? AND id = ?",
	"INSERT INTO message_reads (academy_id, student_id, member_id, read_to, marks) SELECT academy_id, id, id, 'message', 3 FROM members WHERE academy_id = ? AND id = ?",
}

// fillArchive fills an academy with a row of every table, and another beside it.
func fillArchive(t *testing.T, db *DB) *filled {
	f := fill(t, db)
	fill(t, db)
	exec := func(text string, args ...any) {
		t.Helper()
		if _, err := db.SQL().ExecContext(f.ctx, spell(text, db.engine), args...); err != nil {
			t.Fatalf("%s: %v", text, err)
		}
	}
	// Consent is given by somebody whose identity comes later.
	exec("UPDATE members SET junior = (1 = 1), consent_at = 4, consent_by = ? WHERE academy_id = ? AND id = ?", string(f.spare), string(f.academy), string(f.student))
	exec("INSERT INTO report_links (academy_id, id, student_id, token, words, by_id, created_at, expires_at) VALUES (?, 'link', ?, ?, '', ?, 1, 2)",
		string(f.academy), string(f.student), bytes.Repeat([]byte{0xff, 0}, 16), string(f.owner))
	for _, text := range rarities {
		exec(text, string(f.academy), string(f.student))
	}
	return f
}

func archiveOf(t *testing.T, db *DB, id domain.ID, secrets bool) ([]byte, Manifest) {
	t.Helper()
	var file bytes.Buffer
	m, err := db.ExportAcademy(t.Context(), id, monday, secrets, &file)
	if err != nil {
		t.Fatal(err)
	}
	return file.Bytes(), m
}

func importOf(t *testing.T, db *DB, file []byte) (Imported, error) {
	t.Helper()
	return db.ImportAcademy(t.Context(), monday, bytes.NewReader(file), int64(len(file)))
}

// An academy goes to the other engine and back with nothing lost, and the file
// is the same each time.
func TestArchiveMovesAcademies(t *testing.T) {
	t.Parallel()
	for i, from := range engines {
		t.Run("from "+from.name, func(t *testing.T) {
			t.Parallel()
			here, there := openAt(t, from.url(t)), openAt(t, engines[1-i].url(t))
			f := fillArchive(t, here)
			file, m := archiveOf(t, here, f.academy, true)
			for _, p := range m.Parts {
				if p.Rows == 0 {
					t.Errorf("the test has no row of %s: add one to rarities in repo/archive_test.go", p.Table)
				}
			}
			done, err := importOf(t, there, file)
			if err != nil {
				t.Fatal(err)
			}
			if done.Joined != 0 || done.Academy != f.academy {
				t.Errorf("imported %+v", done)
			}
			// Progress, too, is what it was.
			if outdated, err := there.Outdated(t.Context()); err != nil || !slices.Equal(outdated, []domain.ID{f.academy}) {
				t.Errorf("outdated %v, %v; want the academy", outdated, err)
			}
			r := practice.Rebuilder{Store: there.Rebuilding(), Env: env(monday)}
			if _, err := r.Renew(t.Context(), f.academy); err != nil {
				t.Fatal(err)
			}
			kept := func(db *DB) (k practice.Kept) {
				err := db.Rebuilding().Read(t.Context(), f.academy, func(tx practice.RebuildStore) (err error) {
					k, err = tx.Kept(t.Context(), f.student)
					return err
				})
				if err != nil {
					t.Fatal(err)
				}
				return k
			}
			same(t, "progress", kept(there), kept(here))
			again, _ := archiveOf(t, there, f.academy, true)
			if !bytes.Equal(file, again) {
				t.Errorf("the archive made there differs:\n%s", difference(t, file, again))
			}
			if _, err := importOf(t, there, file); domain.KindOf(err) != domain.Conflict {
				t.Errorf("imported twice: %v; want it refused", err)
			}
			fresh := func(db *DB) (f academy.Freshness) {
				err := db.Freshness().Read(t.Context(), done.Academy, func(tx academy.FreshStore) (err error) {
					f, err = tx.Freshness(t.Context(), "", "")
					return err
				})
				if err != nil {
					t.Fatal(err)
				}
				return f
			}
			if a, b := fresh(here), fresh(there); a.Priors == b.Priors {
				t.Errorf("both installations are at %d; an entity tag of one would be fresh in the other", a.Priors)
			}
		})
	}
}

// difference names the first lines that differ.
func difference(t *testing.T, a, b []byte) string {
	var out strings.Builder
	lines := func(file []byte, part string) []string { return strings.Split(string(partOf(t, file, part)), "\n") }
	for _, table := range archivedTables {
		x, y := lines(a, table.name+".ndjson"), lines(b, table.name+".ndjson")
		for i := range min(len(x), len(y)) {
			if x[i] != y[i] {
				return table.name + "\n" + x[i] + "\n" + y[i]
			}
		}
	}
	return out.String()
}

func partOf(t *testing.T, file []byte, name string) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatal(err)
	}
	r, err := z.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = r.Close() }() // only read
	text, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// An archive has one academy, and no password unless it was asked for; people
// who are there already keep their account.
func TestArchiveOfPeople(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		other := fill(t, db)
		file, m := archiveOf(t, db, f.academy, false)
		z, err := zip.NewReader(bytes.NewReader(file), int64(len(file)))
		if err != nil {
			t.Fatal(err)
		}
		for _, part := range z.File {
			text := string(partOf(t, file, part.Name))
			if strings.Contains(text, string(other.academy)) || strings.Contains(text, string(other.student)) {
				t.Errorf("%s tells of another academy", part.Name)
			}
		}
		if text := string(partOf(t, file, "accounts.ndjson")); m.Secrets || strings.Contains(text, `"hash"`) || !strings.Contains(text, `"password":""`) {
			t.Errorf("accounts without secrets are\n%s", text)
		}
		there := openAt(t, engines[0].url(t))
		taken := newID()
		_, err = there.SQL().ExecContext(f.ctx, spell("INSERT INTO accounts (id, email, name, password, created_at)"+
			" VALUES (?, ?, 'Robin', 'theirs', 1)", there.engine), string(taken), accountOf(t, db, f.student)+"@sandhill.example")
		if err != nil {
			t.Fatal(err)
		}
		done, err := importOf(t, there, file)
		if err != nil || done.Joined != 1 {
			t.Fatalf("joined %d, %v; want 1", done.Joined, err)
		}
		if got := accountOf(t, there, f.student); got != string(taken) {
			t.Errorf("the student's account is %s; want the one that was there, %s", got, taken)
		}
		var password string
		if err := there.reader.Raw("SELECT password FROM accounts WHERE id = ?", taken).Scan(&password).Error; err != nil || password != "theirs" {
			t.Errorf("its password is %q, %v; want it left alone", password, err)
		}
	})
}

func accountOf(t *testing.T, db *DB, member domain.ID) (id string) {
	t.Helper()
	if err := db.reader.Raw("SELECT account_id FROM members WHERE id = ?", member).Scan(&id).Error; err != nil {
		t.Fatal(err)
	}
	return id
}

// Nothing of a damaged archive is imported, and the refusal says why.
func TestDamagedArchiveIsRefused(t *testing.T) {
	t.Parallel()
	from := openAt(t, engines[0].url(t))
	f := fillArchive(t, from)
	file, _ := archiveOf(t, from, f.academy, true)
	if _, err := from.ExportAcademy(t.Context(), newID(), monday, true, io.Discard); domain.KindOf(err) != domain.NotFound {
		t.Errorf("no academy: %v", err)
	}
	manifest := func(change func(*Manifest)) func(map[string][]byte) {
		return func(parts map[string][]byte) {
			var m Manifest
			if err := json.Unmarshal(parts[archiveManifest], &m); err != nil {
				t.Fatal(err)
			}
			change(&m)
			parts[archiveManifest] = []byte(encode(m))
		}
	}
	replace := func(part, old, with string) func(map[string][]byte) {
		return func(parts map[string][]byte) {
			text := bytes.Replace(parts[part], []byte(old), []byte(with), 1)
			if bytes.Equal(text, parts[part]) {
				t.Fatalf("%s has no %s", part, old)
			}
			parts[part] = text
		}
	}
	there := openAt(t, engines[1].url(t))
	for _, c := range []struct {
		name   string
		damage func(map[string][]byte)
		want   string
	}{
		{"cut off", func(p map[string][]byte) { delete(p, archiveManifest) }, "it has no manifest.json"},
		{"another thing", manifest(func(m *Manifest) { m.Format = "photographs" }), `it is "photographs"`},
		{"another form", manifest(func(m *Manifest) { m.Version = 2 }), "of version 2"},
		{"another schema", manifest(func(m *Manifest) { m.Schema-- }), "bring both installations to the same release"},
		{"parts missing", manifest(func(m *Manifest) { m.Parts = m.Parts[1:] }), "its parts are not those"},
		{"no manifest", func(p map[string][]byte) { p[archiveManifest] = []byte("[") }, "cannot be read"},
		{"a part missing", func(p map[string][]byte) { delete(p, "events.ndjson") }, "lacks its part events"},
		{"a row fewer", manifest(func(m *Manifest) { m.Parts[2].Rows-- }), "its part members is damaged"},
		{"a word changed", replace("messages.ndjson", "Two", "Six"), "its part messages is damaged"},
		{"no JSON", replace("messages.ndjson", "{", ""), "row 1 of messages cannot be read"},
		{"a column missing", replace("messages.ndjson", `"at":11,`, ""), "row 1 of messages: it has no at"},
		{"a column more", replace("messages.ndjson", "{", `{"colour":1,`), "colour is not a column"},
		{"a list", replace("messages.ndjson", `"at":11`, `"at":[]`), "at is neither"},
		{"half a number", replace("messages.ndjson", `"at":11`, `"at":1.5`), "row 1 of messages"},
		{"no bytes", replace("report_links.ndjson", `"token":"`, `"token":"!`), "row 1 of report_links"},
		{"nobody's message", func(p map[string][]byte) {
			replace("messages.ndjson", `"author_id":"`, `"author_id":"x`)(p)
			sum := sha256.Sum256(p["messages.ndjson"])
			manifest(func(m *Manifest) {
				i := slices.IndexFunc(m.Parts, func(part Part) bool { return part.Table == "messages" })
				m.Parts[i].SHA256 = hex.EncodeToString(sum[:])
			})(p)
		}, "a row of messages contradicts"},
	} {
		parts := map[string][]byte{}
		var damaged bytes.Buffer
		for _, a := range archivedTables {
			parts[a.name+".ndjson"] = partOf(t, file, a.name+".ndjson")
		}
		parts[archiveManifest] = partOf(t, file, archiveManifest)
		c.damage(parts)
		z := zip.NewWriter(&damaged)
		for name, text := range parts {
			w, err := z.Create(name)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := w.Write(text); err != nil {
				t.Fatal(err)
			}
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
		_, err := importOf(t, there, damaged.Bytes())
		if domain.KindOf(err) != domain.Invalid || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v; want it refused with %q", c.name, err, c.want)
		}
	}
	if _, err := importOf(t, there, []byte("no archive")); domain.KindOf(err) != domain.Invalid {
		t.Errorf("no archive: %v", err)
	}
	if all, err := there.Academies(t.Context()); err != nil || len(all) != 0 {
		t.Errorf("after the refusals there is %v, %v; want nothing", all, err)
	}
	var accounts int
	if err := there.reader.Raw("SELECT COUNT(*) FROM accounts").Scan(&accounts).Error; err != nil || accounts != 0 {
		t.Errorf("%d accounts were left behind, %v", accounts, err)
	}
	ended, cancel := context.WithTimeout(t.Context(), -time.Second)
	defer cancel()
	if _, err := from.ExportAcademy(ended, f.academy, monday, true, io.Discard); err == nil {
		t.Error("an export that was ended says that it is whole")
	}
}
