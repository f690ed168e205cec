package repo

import (
	"archive/zip"
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"time"

	"fringework/domain"
	"fringework/migrations"
)

// An archive is a whole academy in one file, the same from both engines: a ZIP
// file with a part TABLE.ndjson for each of archivedTables, in that order, and
// manifest.json last. A part has one row to a line, in order of its key: an
// object of the table's columns in alphabetical order, without academy_id.
// Instants are milliseconds since 1970 in UTC, booleans 0 or 1, bytes base64
// (RFC 4648), documents texts of JSON; what is absent is null. Two archives of
// one state differ in nothing but made_at.

// Manifest describes an archive.
type Manifest struct {
	// Format is archiveFormat, and Version the form of this description.
	Format  string `json:"format"`
	Version int    `json:"version"`
	// Schema is the step of the migrations that the rows are of.
	Schema  int64     `json:"schema"`
	Academy domain.ID `json:"academy_id"`
	Name    string    `json:"academy_name"`
	MadeAt  time.Time `json:"made_at"`
	// Secrets says that the hashes of passwords are in it.
	Secrets bool   `json:"secrets"`
	Parts   []Part `json:"parts"`
}

// Part is the rows of one table in an archive.
type Part struct {
	Table string `json:"table"`
	Rows  int    `json:"rows"`
	// SHA256 is of the uncompressed lines, in hexadecimal.
	SHA256 string `json:"sha256"`
}

const (
	archiveFormat   = "fringework-academy"
	archiveVersion  = 1
	archiveManifest = "manifest.json"
	// archiveTime is how long the one transaction of an archive may take.
	archiveTime = 2 * time.Hour
	// archiveRows is how many rows are written at once.
	archiveRows = 100
)

// archiving gives a context time enough for an archive.
func archiving(ctx context.Context) (context.Context, context.CancelFunc) {
	if _, ok := ctx.Deadline(); ok {
		return ctx, func() {}
	}
	return context.WithTimeout(ctx, archiveTime)
}

// ExportAcademy writes an academy's archive as it stands at one moment, a row
// at a time. With secrets, the hashes of passwords are in it. An academy that
// is not there gives a domain.NotFound error, before anything is written.
func (db *DB) ExportAcademy(ctx context.Context, academy domain.ID, at time.Time, secrets bool, to io.Writer) (m Manifest, err error) {
	ctx, cancel := archiving(ctx)
	defer cancel()
	m = Manifest{Format: archiveFormat, Version: archiveVersion, Schema: migrations.Latest(db.engine), Academy: academy,
		MadeAt: at.UTC().Truncate(time.Millisecond), Secrets: secrets}
	written := errors.New("repo: the archive was begun")
	err = db.read(ctx, func(t *transaction) error {
		if m.Parts != nil {
			return written // what was written cannot be taken back for another try
		}
		name := t.tx.Raw("SELECT name FROM academies WHERE id = ?", academy).Scan(&m.Name)
		if name.Error != nil {
			return name.Error
		}
		if name.RowsAffected == 0 {
			return domain.ErrNotFound("academy")
		}
		m.Parts = []Part{}
		archive := zip.NewWriter(to)
		for _, table := range archivedTables {
			part, err := t.exportTable(ctx, academy, table, secrets, archive)
			if err != nil {
				return fmt.Errorf("repo: archive %s: %w", table.name, err)
			}
			m.Parts = append(m.Parts, part)
		}
		if err := writeManifest(archive, m); err != nil {
			return err
		}
		return archive.Close()
	})
	return m, err
}

func writeManifest(archive *zip.Writer, m Manifest) error {
	w, err := archive.CreateHeader(&zip.FileHeader{Name: archiveManifest, Method: zip.Deflate})
	if err != nil {
		return err
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	return enc.Encode(m)
}

// column is a column of a table.
type column struct {
	name string
	// kind is the engine's name of its type.
	kind string
}

// columns lists those of a table that are archived, in alphabetical order.
func (t *transaction) columns(ctx context.Context, a archived) (all []column, err error) {
	listing := "SELECT name, type FROM pragma_table_info(?)"
	if t.engine == migrations.Postgres {
		listing = "SELECT column_name, upper(udt_name) FROM information_schema.columns WHERE table_schema = current_schema() AND table_name = ?"
	}
	rows, err := t.sqlTx.QueryContext(ctx, spelled(listing, t.engine), a.name)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, rows.Close(), rows.Err()) }()
	for rows.Next() {
		var c column
		if err := rows.Scan(&c.name, &c.kind); err != nil {
			return nil, err
		}
		if _, left := a.left[c.name]; !left && c.name != "academy_id" {
			all = append(all, c)
		}
	}
	slices.SortFunc(all, func(a, b column) int { return strings.Compare(a.name, b.name) })
	return all, nil
}

func (t *transaction) exportTable(ctx context.Context, academy domain.ID, a archived, secrets bool, archive *zip.Writer) (Part, error) {
	part := Part{Table: a.name}
	columns, err := t.columns(ctx, a)
	if err != nil {
		return part, err
	}
	entry, err := archive.CreateHeader(&zip.FileHeader{Name: a.name + ".ndjson", Method: zip.Deflate})
	if err != nil {
		return part, err
	}
	digest := sha256.New()
	out := bufio.NewWriter(io.MultiWriter(entry, digest))
	names := make([]string, len(columns))
	for i, c := range columns {
		names[i] = c.name
	}
	which := a.rows
	if which == "" {
		which = "academy_id = ?"
	}
	rows, err := t.sqlTx.QueryContext(ctx, spelled("SELECT "+strings.Join(names, ", ")+" FROM "+a.name+
		" WHERE "+which+" ORDER BY "+strings.Join(a.key, ", "), t.engine), string(academy))
	if err != nil {
		return part, err
	}
	defer rows.Close()
	cells, into := make([]any, len(columns)), make([]any, len(columns))
	for i := range cells {
		into[i] = &cells[i]
	}
	for ; rows.Next(); part.Rows++ {
		if err := rows.Scan(into...); err != nil {
			return part, err
		}
		if err := writeRow(out, columns, cells, a, secrets); err != nil {
			return part, err
		}
	}
	if err := errors.Join(rows.Err(), out.Flush()); err != nil {
		return part, err
	}
	part.SHA256 = hex.EncodeToString(digest.Sum(nil))
	return part, nil
}

// writeRow writes one line.
func writeRow(out *bufio.Writer, columns []column, cells []any, a archived, secrets bool) error {
	for i, c := range columns {
		value := archivedValue(c.kind, cells[i])
		if instead, secret := a.secret[c.name]; secret && !secrets {
			value = instead
		}
		text, err := json.Marshal(value)
		if err != nil {
			return err
		}
		before := byte(',')
		if i == 0 {
			before = '{'
		}
		fmt.Fprintf(out, "%c%q:%s", before, c.name, text)
	}
	_, err := out.WriteString("}\n")
	return err
}

// archivedValue gives a value as both engines archive it.
func archivedValue(kind string, v any) any {
	switch x := v.(type) {
	case bool:
		return boolInt(x)
	case []byte:
		if kind != "BYTEA" && kind != "BLOB" {
			return string(x) // a document
		}
	}
	return v // []byte becomes base64
}

// Imported tells what came of an archive.
type Imported struct {
	Manifest
	// Joined is how many accounts were there already, by e-mail or by identity:
	// their members are theirs, and their passwords stay.
	Joined int
}

// ImportAcademy adds the academy of an archive, all of it or nothing. Its
// progress is to be made anew before it is served: Outdated names it. An
// academy that is there already gives a domain.Conflict error; an archive that
// is damaged, or of another schema, a domain.Invalid one.
func (db *DB) ImportAcademy(ctx context.Context, at time.Time, from io.ReaderAt, size int64) (done Imported, err error) {
	ctx, cancel := archiving(ctx)
	defer cancel()
	archive, err := zip.NewReader(from, size)
	if err != nil {
		return done, badArchive("this is no archive of an academy: %v", err)
	}
	m, err := readManifest(archive, migrations.Latest(db.engine))
	if err != nil {
		return done, err
	}
	err = db.write(ctx, func(t *transaction) error {
		done = Imported{Manifest: m}
		in := importing{transaction: t, academy: m.Academy, accounts: map[string]string{}}
		if err := in.refuseKnown(ctx); err != nil {
			return err
		}
		for i, a := range archivedTables {
			if err := in.table(ctx, a, m.Parts[i], archive); err != nil {
				return err
			}
		}
		done.Joined = len(in.accounts)
		// What clients hold of another installation's answers must not look fresh
		// here: the number in their entity tags goes on from one that rises.
		return t.batch(ctx, query{sql: "INSERT INTO priors (academy_id, changes, doc) VALUES (?, ?, '[]')",
			args: []any{m.Academy, at.UnixMilli()}, what: "academy"})
	})
	return done, err
}

func badArchive(format string, args ...any) *domain.Error {
	return domain.Errorf(domain.Invalid, "archive_invalid", "Nothing was imported: "+format+".", args...)
}

// readManifest reads what an archive says of itself, and refuses one that
// cannot be imported into a schema.
func readManifest(archive *zip.Reader, schema int64) (m Manifest, err error) {
	file, err := archive.Open(archiveManifest)
	if err != nil {
		return m, badArchive("this is no archive of an academy, or it was cut off: it has no %s", archiveManifest)
	}
	defer func() { _ = file.Close() }() // only read
	if err := json.NewDecoder(file).Decode(&m); err != nil {
		return m, badArchive("%s cannot be read: %v", archiveManifest, err)
	}
	switch {
	case m.Format != archiveFormat || m.Version != archiveVersion:
		return m, badArchive("it is %q of version %d, and this release reads %q of version %d", m.Format, m.Version, archiveFormat, archiveVersion)
	case m.Schema != schema:
		return m, badArchive("it was made by a release whose schema is at step %d, and this one's is at step %d; bring both installations to the same release and export again",
			m.Schema, schema)
	case !slices.EqualFunc(m.Parts, archivedTables, func(p Part, a archived) bool { return p.Table == a.name }):
		return m, badArchive("its parts are not those of this release; export again with the same release")
	}
	return m, nil
}

// importing is an import under way.
type importing struct {
	*transaction
	academy domain.ID
	// accounts are those of the archive that were there already, by what they
	// are called here.
	accounts map[string]string
}

func (in *importing) refuseKnown(ctx context.Context) error {
	return in.batch(ctx, query{sql: "SELECT name FROM academies WHERE id = ?", args: []any{in.academy}, what: "academy",
		row: func(scan func(...any) error) error {
			var name string
			if err := scan(&name); err != nil {
				return err
			}
			return domain.Errorf(domain.Conflict, "academy_exists", "Nothing was imported: this installation has the academy already, as %q (%s).", name, in.academy)
		}})
}

// table imports the rows of a table.
func (in *importing) table(ctx context.Context, a archived, part Part, archive *zip.Reader) error {
	columns, err := in.columns(ctx, a)
	if err != nil {
		return err
	}
	file, err := archive.Open(a.name + ".ndjson")
	if err != nil {
		return badArchive("it lacks its part %s", a.name)
	}
	defer func() { _ = file.Close() }() // only read
	digest := sha256.New()
	rows := json.NewDecoder(io.TeeReader(file, digest))
	rows.UseNumber()
	batch, later := []query{}, []query{}
	for n := 1; rows.More(); n++ {
		var row map[string]any
		if err := rows.Decode(&row); err != nil {
			return badArchive("row %d of %s cannot be read: %v", n, a.name, err)
		}
		add, after, err := in.row(ctx, a, columns, row)
		if err != nil {
			return badArchive("row %d of %s: %v", n, a.name, err)
		}
		batch, later = append(batch, add...), append(later, after...)
		if part.Rows--; len(batch) >= archiveRows {
			if err := in.batch(ctx, batch...); err != nil {
				return in.refused(err, a.name)
			}
			batch = batch[:0]
		}
	}
	if _, err := io.Copy(io.Discard, io.TeeReader(file, digest)); err != nil {
		return badArchive("its part %s is damaged: %v", a.name, err)
	}
	if part.Rows != 0 || hex.EncodeToString(digest.Sum(nil)) != part.SHA256 {
		return badArchive("its part %s is damaged: it is not what %s says", a.name, archiveManifest)
	}
	return in.refused(in.batch(ctx, append(batch, later...)...), a.name)
}

// refused words what the database will not take.
func (in *importing) refused(err error, table string) error {
	if domain.KindOf(err) == domain.Internal { // nil, too
		return err
	}
	return badArchive("a row of %s contradicts another, or what this installation has", table).Because(err)
}

// row makes the statements that add one row, and those that complete it once
// the whole table is there.
func (in *importing) row(ctx context.Context, a archived, columns []column, row map[string]any) (add, later []query, err error) {
	if a.name == "accounts" {
		known, err := in.knownAccount(ctx, row)
		if err != nil || known {
			return nil, nil, err
		}
	}
	names, values := []string{}, []any{}
	key := row[a.key[0]]
	for _, c := range columns {
		value, there := row[c.name]
		if !there {
			return nil, nil, fmt.Errorf("it has no %s", c.name)
		}
		delete(row, c.name)
		v, err := importedValue(c, value)
		if err != nil {
			return nil, nil, err
		}
		if c.name == "account_id" {
			if here, joined := in.accounts[fmt.Sprint(v)]; joined {
				v = here
			}
		}
		if slices.Contains(a.later, c.name) && v != nil {
			later = append(later, query{sql: "UPDATE " + a.name + " SET " + c.name + " = ? WHERE academy_id = ? AND " + a.key[0] + " = ?",
				args: []any{v, in.academy, key}, what: a.name})
			v = nil
		}
		names, values = append(names, c.name), append(values, v)
	}
	for name := range row {
		return nil, nil, fmt.Errorf("%s is not a column", name)
	}
	for _, name := range slices.Sorted(maps.Keys(a.left)) {
		names, values = append(names, name), append(values, a.left[name])
	}
	if a.rows == "" {
		names, values = append(names, "academy_id"), append(values, in.academy)
	}
	return []query{{sql: "INSERT INTO " + a.name + " (" + strings.Join(names, ", ") + ") VALUES " + places(1, len(names)), args: values, what: a.name}}, later, nil
}

// knownAccount reports whether an account is there already, by its e-mail
// address or else by its identity, and notes as which.
func (in *importing) knownAccount(ctx context.Context, row map[string]any) (known bool, err error) {
	id, email := fmt.Sprint(row["id"]), fmt.Sprint(row["email"])
	err = in.batch(ctx, query{sql: "SELECT id FROM accounts WHERE email = ? OR id = ? ORDER BY CASE WHEN email = ? THEN 0 ELSE 1 END LIMIT 1",
		args: []any{email, id, email}, what: "account",
		row: func(scan func(...any) error) error {
			var here string
			known = true
			err := scan(&here)
			in.accounts[id] = here
			return err
		}})
	return known, err
}

// importedValue gives an archived value as a column keeps it.
func importedValue(c column, v any) (any, error) {
	switch x := v.(type) {
	case nil:
		return nil, nil
	case string:
		if c.kind == "BYTEA" || c.kind == "BLOB" {
			return base64.StdEncoding.DecodeString(x)
		}
		return x, nil
	case json.Number:
		switch c.kind {
		case "BOOL":
			n, err := x.Int64()
			return n != 0, err
		case "FLOAT8", "REAL":
			return x.Float64()
		}
		return x.Int64()
	}
	return nil, fmt.Errorf("%s is neither a text, a number nor null", c.name)
}
