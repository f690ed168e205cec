//go:build linux

package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/jackc/pgx/v5"
)

// pgbenchProgram finds pgbench, which Debian keeps beside the server.
func pgbenchProgram() (string, error) {
	if path, err := exec.LookPath("pgbench"); err == nil {
		return path, nil
	}
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/pgbench")
	if len(found) == 0 {
		return "", errors.New("no pgbench in PATH or in /usr/lib/postgresql/*/bin; install it (Debian: apt-get install postgresql)")
	}
	return found[len(found)-1], nil
}

// written is a row that an upload left behind.
type written struct {
	table  string
	key    []string          // columns of the primary key
	names  []string          // all columns
	values map[string]string // as SQL writes them, with their types
	plain  map[string]string // as text
}

// rowsSince reads the rows of all tables that transactions from one number on
// have written.
func rowsSince(ctx context.Context, conn *pgx.Conn, from int64) (all []written, err error) {
	type column struct{ table, name, kind string }
	rows, err := conn.Query(ctx, `SELECT c.relname, a.attname, format_type(a.atttypid, a.atttypmod)
		FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum > 0 AND NOT a.attisdropped AND a.attgenerated = ''
		WHERE c.relkind = 'r' AND c.relnamespace = 'public'::regnamespace ORDER BY c.oid, a.attnum`)
	if err != nil {
		return nil, err
	}
	columns, err := pgx.CollectRows(rows, func(r pgx.CollectableRow) (c column, err error) {
		err = r.Scan(&c.table, &c.name, &c.kind)
		return c, err
	})
	if err != nil {
		return nil, err
	}
	keyRows, err := conn.Query(ctx, `SELECT c.relname, a.attname FROM pg_index i JOIN pg_class c ON c.oid = i.indrelid
		JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum = ANY (i.indkey)
		WHERE i.indisprimary AND c.relnamespace = 'public'::regnamespace`)
	if err != nil {
		return nil, err
	}
	keys := map[string][]string{}
	var table, name string
	if _, err := pgx.ForEachRow(keyRows, []any{&table, &name}, func() error {
		keys[table] = append(keys[table], name)
		return nil
	}); err != nil {
		return nil, err
	}
	for len(columns) > 0 {
		table := columns[0].table
		n := slices.IndexFunc(columns, func(c column) bool { return c.table != table })
		if n < 0 {
			n = len(columns)
		}
		var ask []string
		for _, c := range columns[:n] {
			ask = append(ask, fmt.Sprintf("quote_nullable(%q::text) || '::%s', COALESCE(%q::text, '')", c.name, c.kind, c.name))
		}
		// xmin is the transaction that wrote the row.
		got, err := conn.Query(ctx, fmt.Sprintf("SELECT %s FROM %q WHERE xmin::text::bigint >= $1", strings.Join(ask, ", "), table), from)
		if err != nil {
			return nil, err
		}
		found, err := pgx.CollectRows(got, func(r pgx.CollectableRow) (written, error) {
			texts := make([]string, 2*n)
			into := make([]any, len(texts))
			for i := range texts {
				into[i] = &texts[i]
			}
			w := written{table: table, key: keys[table], values: map[string]string{}, plain: map[string]string{}}
			for _, c := range columns[:n] {
				w.names = append(w.names, c.name)
			}
			err := r.Scan(into...)
			for i, c := range columns[:n] {
				w.values[c.name], w.plain[c.name] = texts[2*i], texts[2*i+1]
			}
			return w, err
		})
		if err != nil {
			return nil, err
		}
		all = append(all, found...)
		columns = columns[n:]
	}
	return all, nil
}

// What the scripts call a fresh UUIDv7: the instant at which the transaction
// began, and chance. It is the same all through a transaction.
const freshID = `(SELECT substr(h, 1, 8) || '-' || substr(h, 9, 4) || '-7000-8000-' || lpad(to_hex(:load_chance::bigint), 12, '0')` +
	` FROM (SELECT lpad(to_hex((extract(epoch FROM now()) * 1000)::bigint), 12, '0') AS h) AS t)`

// script writes the rows of an upload as pgbench runs them, again and again,
// each time for a fresh session: what the session's identity or the log's next
// number keeps apart is inserted, the rest is updated.
func script(rows []written, session string) (text string, inserts, updates int, err error) {
	value := func(w written, column string) string {
		v := w.values[column]
		if w.plain[column] == session {
			_, kind, _ := cutLast(v, "::")
			return freshID + "::" + kind
		}
		if w.table == "events" && column == "seq" {
			return ":last_event"
		}
		return uncoloned(v)
	}
	isFresh := func(w written) bool {
		return slices.ContainsFunc(w.key, func(k string) bool { return w.plain[k] == session })
	}
	out := &strings.Builder{}
	fmt.Fprint(out, "\\set load_chance random(0, 281474976710655)\nBEGIN;\n")
	insert := func(of []written) {
		names := of[0].names
		tuples := make([]string, len(of))
		for i, w := range of {
			values := make([]string, len(names))
			for j, c := range names {
				values[j] = value(w, c)
			}
			tuples[i] = "(" + strings.Join(values, ", ") + ")"
		}
		fmt.Fprintf(out, "INSERT INTO %s (%s) VALUES %s;\n", of[0].table, strings.Join(names, ", "), strings.Join(tuples, ", "))
		inserts += len(of)
	}
	var counter, event []written
	var later []written
	for len(rows) > 0 {
		n := slices.IndexFunc(rows, func(w written) bool { return w.table != rows[0].table })
		if n < 0 {
			n = len(rows)
		}
		same := rows[:n]
		rows = rows[n:]
		switch {
		case same[0].table == "academies":
			counter = same
		case same[0].table == "events":
			event = same
		default:
			fresh := slices.DeleteFunc(slices.Clone(same), func(w written) bool { return !isFresh(w) })
			if len(fresh) > 0 {
				insert(fresh)
			}
			later = append(later, slices.DeleteFunc(slices.Clone(same), isFresh)...)
		}
	}
	if inserts == 0 || len(counter) != 1 || len(event) != 1 {
		return "", 0, 0, fmt.Errorf("an upload left %d new rows, %d counters and %d events; this script knows a session's rows by its ID, the counter in academies and the event in events", inserts, len(counter), len(event))
	}
	for _, w := range later {
		var set, where []string
		for _, c := range w.names {
			if slices.Contains(w.key, c) {
				where = append(where, c+" = "+value(w, c))
			} else {
				set = append(set, c+" = "+value(w, c))
			}
		}
		fmt.Fprintf(out, "UPDATE %s SET %s WHERE %s;\n", w.table, strings.Join(set, ", "), strings.Join(where, " AND "))
		updates++
	}
	fmt.Fprintf(out, "UPDATE academies SET last_event = last_event + 1 WHERE id = %s RETURNING last_event \\gset\n", counter[0].values["id"])
	updates++
	insert(event)
	fmt.Fprint(out, "COMMIT;\n")
	return out.String(), inserts, updates, nil
}

// uncoloned writes a literal so that pgbench sees no variable in it.
func uncoloned(literal string) string {
	text, kind, typed := cutLast(literal, "::")
	if !typed || !strings.Contains(text, ":") {
		return literal
	}
	if strings.HasPrefix(text, "'") {
		text = "E" + text // it has no backslash: the server writes E itself where it has
	}
	return strings.ReplaceAll(text, ":", `\x3a`) + "::" + kind
}

func cutLast(s, sep string) (before, after string, found bool) {
	if i := strings.LastIndex(s, sep); i >= 0 {
		return s[:i], s[i+len(sep):], true
	}
	return s, "", false
}

var tps = regexp.MustCompile(`tps = ([0-9.]+)`)

// measurePgbench lets PostgreSQL's own tool write the rows that an upload
// writes, beside the service.
func measurePgbench(ctx context.Context, b *bench, engine string) (table, error) {
	t := table{title: "Uploads a second against pgbench writing the same rows, 4 clients, postgres", theirs: "pgbench"}
	program, err := pgbenchProgram()
	if err != nil {
		return t, err
	}
	a, ours, _, err := b.founded(ctx, engine, uploaders)
	if err != nil {
		return t, err
	}
	// A script for each of some students; more would spend the time preparing.
	const scripts = 12
	// Of the second upload, after which the practice week is there.
	if err := uploads(a, ours).round(ctx, 1, 0, uploaders); err != nil {
		return t, err
	}
	dir, err := os.MkdirTemp(b.dir, "pgbench")
	if err != nil {
		return t, err
	}
	args := []string{"-n", "-M", "prepared", "-c", "4", "-j", "2", "-T", strconv.Itoa(max(2, int(b.seconds)))}
	copied := strings.TrimSuffix(ours.database[strings.LastIndex(ours.database, "/")+1:], "?sslmode=disable") + "_copy"
	if err := ours.away(ctx, func() error { return copyDatabase(ctx, b.cluster.URL(), ours.database, copied) }); err != nil {
		return t, err
	}
	conn, err := pgx.Connect(ctx, ours.database)
	if err != nil {
		return t, err
	}
	defer conn.Close(ctx)
	inserts, updates := 0, 0
	for i, s := range a.students[:scripts] {
		var from int64
		if err := conn.QueryRow(ctx, "SELECT pg_current_xact_id()::text::bigint").Scan(&from); err != nil {
			return t, err
		}
		u := s.fresh(a.blocks[i%len(a.blocks)])
		if _, _, err := send(ctx, "PUT", ours.url+"/v1/sessions/"+string(u.id), u.token, u.body); err != nil {
			return t, err
		}
		rows, err := rowsSince(ctx, conn, from)
		if err != nil {
			return t, err
		}
		var text string
		if text, inserts, updates, err = script(rows, string(u.id)); err != nil {
			return t, err
		}
		name := filepath.Join(dir, fmt.Sprintf("%d.sql", i))
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			return t, err
		}
		args = append(args, "-f", name)
	}
	args = append(args, renamed(b.cluster.URL(), copied))
	bench := func() (float64, error) {
		out, err := exec.CommandContext(ctx, program, args...).CombinedOutput()
		m := tps.FindSubmatch(out)
		if err != nil || m == nil || strings.Contains(string(out), "ERROR") {
			return 0, fmt.Errorf("pgbench: %w\n%s", err, out)
		}
		return strconv.ParseFloat(string(m[1]), 64)
	}
	x := uploads(a, ours)
	var rates, theirs []float64
	err = b.profiled("pgbench", ours, func() error {
		for range 3 {
			before := len(x.rates)
			if err := b.duel(ctx, 4, x); err != nil {
				return err
			}
			rate, err := bench()
			if err != nil {
				return err
			}
			rates, theirs = append(rates, median(x.rates[before:])), append(theirs, rate)
		}
		return nil
	})
	t.rows = []row{{"uploads a second", number(median(rates)), number(median(theirs)), ratios(rates, theirs), atLeast(0.6)}}
	t.notes = []string{fmt.Sprintf("pgbench: %d rows inserted and %d updated in a transaction; prepared statements, one for a table's new rows and one for each changed row.", inserts, updates)}
	return t, errors.Join(err, execute(ctx, b.cluster.URL(), "DROP DATABASE IF EXISTS "+copied+" WITH (FORCE)"))
}
