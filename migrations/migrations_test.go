package migrations_test

import (
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	_ "github.com/jackc/pgx/v5/stdlib"
	_ "modernc.org/sqlite"

	"fringework/integration/postgres"
	"fringework/migrations"
)

func TestMain(m *testing.M) { postgres.Main(m) }

func openSQLite(t *testing.T) *sql.DB {
	return open(t, "sqlite", "file:"+filepath.Join(t.TempDir(), "academy.db")+"?_pragma=foreign_keys(1)&_pragma=synchronous(OFF)&_txlock=immediate")
}

func openPostgres(t *testing.T) *sql.DB { return open(t, "pgx", postgres.Database(t)) }

func open(t *testing.T, driver, name string) *sql.DB {
	t.Helper()
	db, err := sql.Open(driver, name)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

var engines = []struct {
	engine migrations.Engine
	open   func(*testing.T) *sql.DB
	read   func(*testing.T, *sql.DB) map[string]table
}{
	{migrations.SQLite, openSQLite, readSQLite},
	{migrations.Postgres, openPostgres, readPostgres},
}

// table is what both engines can say of a table, in the same words.
type table struct {
	Columns []string // in order: name, kind, NULL or not
	Key     string
	Foreign []string
	Indices []string
	Checks  int
}

func up(t *testing.T, e migrations.Engine, db *sql.DB) []string {
	t.Helper()
	applied, err := migrations.Up(t.Context(), e, db)
	if err != nil {
		t.Fatal(err)
	}
	return applied
}

// Both engines end in the same schema: tables, columns, what may be NULL, keys,
// foreign keys, indices, and as many checks.
func TestEnginesEndInTheSameSchema(t *testing.T) {
	schemas := map[migrations.Engine]map[string]table{}
	for _, e := range engines {
		db := e.open(t)
		up(t, e.engine, db)
		schemas[e.engine] = e.read(t, db)
	}
	if d := cmp.Diff(schemas[migrations.SQLite], schemas[migrations.Postgres]); d != "" {
		t.Errorf("(-sqlite +postgres)\n%s", d)
	}
	if n := len(schemas[migrations.SQLite]); n < 20 {
		t.Errorf("got %d tables; is the reading of the schema right?", n)
	}
}

// global are the tables that belong to no academy, and the unique keys that are
// looked up before the academy is known.
var (
	global     = []string{"accounts", "academies", "sign_ins", "attempts", "authenticators", "recovery_codes", "passkeys", "tickets", "letters"}
	globalKeys = []string{"invitations_code", "app_keys_id", "apps_id", "connections_id"}
)

// Primary keys, unique keys and foreign keys begin with the academy.
func TestKeysBeginWithTheAcademy(t *testing.T) {
	db := openPostgres(t)
	up(t, migrations.Postgres, db)
	for name, tab := range readPostgres(t, db) {
		if slices.Contains(global, name) {
			continue
		}
		if !strings.HasPrefix(tab.Key, "academy_id") {
			t.Errorf("%s: the key is (%s)", name, tab.Key)
		}
		for _, f := range tab.Foreign {
			if !strings.HasPrefix(f, "academy_id") && !strings.HasSuffix(f, "accounts(id)") {
				t.Errorf("%s: the foreign key %s can point across academies", name, f)
			}
		}
		for _, i := range tab.Indices {
			key, unique := strings.CutPrefix(i, "unique ")
			index, columns, _ := strings.Cut(key, " ")
			if unique && !strings.HasPrefix(columns, "(academy_id") && !slices.Contains(globalKeys, index) {
				t.Errorf("%s: the unique key %s", name, i)
			}
		}
	}
}

func TestUpDownUp(t *testing.T) {
	for _, e := range engines {
		t.Run(string(e.engine), func(t *testing.T) {
			db := e.open(t)
			have, want, err := migrations.Versions(t.Context(), e.engine, db)
			if have != 0 || want != migrations.Latest(e.engine) || err != nil {
				t.Errorf("before: got %d of %d and error %v", have, want, err)
			}
			steps := migrations.Steps(e.engine)
			if applied := up(t, e.engine, db); len(applied) != len(steps) || steps[len(steps)-1] != want {
				t.Errorf("applied %q, want the steps %d up to %d", applied, steps, want)
			}
			first := e.read(t, db)
			if applied := up(t, e.engine, db); len(applied) != 0 {
				t.Errorf("a second time: applied %q", applied)
			}
			for i := range steps {
				to := append([]int64{0}, steps...)[len(steps)-1-i]
				if err := migrations.Down(t.Context(), e.engine, db, to); err != nil {
					t.Fatal(err)
				}
				if have, _, err := migrations.Versions(t.Context(), e.engine, db); have != to || err != nil {
					t.Errorf("down to %d: got %d and error %v", to, have, err)
				}
			}
			if left := e.read(t, db); len(left) != 0 {
				t.Errorf("down to nothing leaves %v", left)
			}
			up(t, e.engine, db)
			if d := cmp.Diff(first, e.read(t, db)); d != "" {
				t.Errorf("down and up again (-first +again)\n%s", d)
			}
		})
	}
}

// The steps have the same numbers and names on both engines.
func TestSameSteps(t *testing.T) {
	names := map[migrations.Engine][]string{}
	for _, e := range engines {
		names[e.engine] = up(t, e.engine, e.open(t))
	}
	if d := cmp.Diff(names[migrations.SQLite], names[migrations.Postgres]); d != "" {
		t.Errorf("(-sqlite +postgres)\n%s", d)
	}
}

func TestNewerIsRefused(t *testing.T) {
	for _, e := range engines {
		db := e.open(t)
		up(t, e.engine, db)
		newer := fmt.Sprintf("INSERT INTO goose_db_version (version_id, is_applied) VALUES (%d, true)", migrations.Latest(e.engine)+1)
		if _, err := db.ExecContext(t.Context(), newer); err != nil {
			t.Fatal(err)
		}
		if _, err := migrations.Up(t.Context(), e.engine, db); !errors.Is(err, migrations.ErrNewer) {
			t.Errorf("%s: got error %v, want %v", e.engine, err, migrations.ErrNewer)
		}
	}
}

func TestUnknownEngine(t *testing.T) {
	db := openSQLite(t)
	_, upErr := migrations.Up(t.Context(), "oracle", db)
	if upErr == nil || migrations.Latest("oracle") != 0 {
		t.Errorf("got error %v and %d steps, want a refusal and none", upErr, migrations.Latest("oracle"))
	}
}

// Of replicas that start at once, one applies the steps and the others wait.
func TestReplicasStartAtOnce(t *testing.T) {
	url := postgres.Database(t)
	var mu sync.Mutex
	total := 0
	var starting sync.WaitGroup
	for range 4 {
		starting.Go(func() {
			db, err := sql.Open("pgx", url)
			if err != nil {
				t.Error(err)
				return
			}
			defer db.Close()
			applied, err := migrations.Up(t.Context(), migrations.Postgres, db)
			if err != nil {
				t.Error(err)
			}
			mu.Lock()
			total += len(applied)
			mu.Unlock()
		})
	}
	starting.Wait()
	if want := len(migrations.Steps(migrations.Postgres)); total != want {
		t.Errorf("%d steps were applied, want %d, each once", total, want)
	}
}

// rows runs a query and gives its rows as texts.
func rows(t *testing.T, db *sql.DB, query string, args ...any) [][]string {
	t.Helper()
	r, err := db.QueryContext(t.Context(), query, args...)
	if err != nil {
		t.Fatalf("%s: %v", query, err)
	}
	defer r.Close()
	columns, err := r.Columns()
	if err != nil {
		t.Fatal(err)
	}
	var all [][]string
	for r.Next() {
		values := make([]sql.NullString, len(columns))
		into := make([]any, len(columns))
		for i := range values {
			into[i] = &values[i]
		}
		if err := r.Scan(into...); err != nil {
			t.Fatal(err)
		}
		row := make([]string, len(columns))
		for i, v := range values {
			row[i] = v.String
		}
		all = append(all, row)
	}
	if err := r.Err(); err != nil {
		t.Fatal(err)
	}
	return all
}

func nullable(yes bool) string {
	if yes {
		return "NULL"
	}
	return "NOT NULL"
}

var checks = regexp.MustCompile(`CHECK \(`)

func readSQLite(t *testing.T, db *sql.DB) map[string]table {
	t.Helper()
	tables := map[string]table{}
	for _, r := range rows(t, db, "SELECT name, sql FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' AND name NOT LIKE 'goose_%'") {
		name, ddl := r[0], r[1]
		var tab table
		key := map[string]string{}
		documents := 0
		for _, c := range rows(t, db, "SELECT name, type, \"notnull\", pk FROM pragma_table_info(?) ORDER BY cid", name) {
			kind := map[string]string{"TEXT": "text", "INTEGER": "number", "BLOB": "bytes"}[c[1]]
			switch {
			case strings.Contains(ddl, "json_valid("+c[0]+")"):
				kind = "document"
				documents++
			case strings.Contains(ddl, "CHECK ("+c[0]+" IN (0, 1))"):
				kind = "truth"
				documents++
			}
			tab.Columns = append(tab.Columns, c[0]+" "+kind+" "+nullable(c[2] == "0"))
			if c[3] != "0" {
				key[c[3]] = c[0]
			}
		}
		var parts []string
		for i := range len(key) {
			parts = append(parts, key[fmt.Sprint(i+1)])
		}
		tab.Key = strings.Join(parts, ", ")
		tab.Foreign = sqliteForeign(t, db, name)
		tab.Indices = sqliteIndices(t, db, name)
		tab.Checks = len(checks.FindAllString(ddl, -1)) - documents // PostgreSQL has types for those
		tables[name] = tab
	}
	return tables
}

func sqliteForeign(t *testing.T, db *sql.DB, name string) []string {
	from, to := map[string][]string{}, map[string][]string{}
	target, then := map[string]string{}, map[string]string{}
	for _, f := range rows(t, db, "SELECT id, \"from\", \"to\", \"table\", on_delete FROM pragma_foreign_key_list(?) ORDER BY id, seq", name) {
		from[f[0]] = append(from[f[0]], f[1])
		to[f[0]] = append(to[f[0]], f[2])
		target[f[0]] = f[3]
		if f[4] != "NO ACTION" {
			then[f[0]] = " ON DELETE " + f[4]
		}
	}
	var all []string
	for id := range from {
		all = append(all, fmt.Sprintf("%s -> %s(%s)%s", strings.Join(from[id], ", "), target[id], strings.Join(to[id], ", "), then[id]))
	}
	slices.Sort(all)
	return all
}

func sqliteIndices(t *testing.T, db *sql.DB, name string) []string {
	var all []string
	for _, i := range rows(t, db, "SELECT l.name, l.\"unique\", m.sql FROM pragma_index_list(?) l JOIN sqlite_master m ON m.name = l.name WHERE l.origin = 'c'", name) {
		_, columns, _ := strings.Cut(i[2], " ON "+name+" ")
		all = append(all, strings.TrimPrefix(map[string]string{"1": "unique ", "0": ""}[i[1]]+i[0]+" "+columns, " "))
	}
	slices.Sort(all)
	return all
}

func readPostgres(t *testing.T, db *sql.DB) map[string]table {
	t.Helper()
	tables := map[string]table{}
	for _, r := range rows(t, db, "SELECT table_name FROM information_schema.tables WHERE table_schema = 'public' AND table_name NOT LIKE 'goose_%'") {
		name := r[0]
		var tab table
		for _, c := range rows(t, db, "SELECT column_name, data_type, is_nullable FROM information_schema.columns WHERE table_schema = 'public' AND table_name = $1 ORDER BY ordinal_position", name) {
			kind := map[string]string{"text": "text", "bigint": "number", "bytea": "bytes", "json": "document", "boolean": "truth"}[c[1]]
			tab.Columns = append(tab.Columns, c[0]+" "+kind+" "+nullable(c[2] == "YES"))
		}
		for _, c := range rows(t, db, "SELECT contype, pg_get_constraintdef(oid) FROM pg_constraint WHERE conrelid = $1::regclass", name) {
			c[1] = strings.ReplaceAll(c[1], `"`, "") // around names that are words of SQL
			switch c[0] {
			case "p":
				tab.Key = strings.TrimSuffix(strings.TrimPrefix(c[1], "PRIMARY KEY ("), ")")
			case "f":
				f := strings.NewReplacer("FOREIGN KEY (", "", ") REFERENCES ", " -> ").Replace(c[1])
				tab.Foreign = append(tab.Foreign, f)
			case "c":
				tab.Checks++
			}
		}
		slices.Sort(tab.Foreign)
		tab.Indices = postgresIndices(t, db, name)
		tables[name] = tab
	}
	return tables
}

func postgresIndices(t *testing.T, db *sql.DB, name string) []string {
	var all []string
	for _, i := range rows(t, db, "SELECT c.relname, i.indisunique, pg_get_indexdef(c.oid) FROM pg_index i JOIN pg_class c ON c.oid = i.indexrelid WHERE i.indrelid = $1::regclass AND NOT i.indisprimary", name) {
		_, columns, _ := strings.Cut(i[2], " USING btree ")
		columns, where, partial := strings.Cut(columns, " WHERE ")
		if partial {
			columns += " WHERE " + strings.Trim(where, "()")
		}
		all = append(all, map[string]string{"true": "unique ", "false": ""}[i[1]]+i[0]+" "+columns)
	}
	slices.Sort(all)
	return all
}
