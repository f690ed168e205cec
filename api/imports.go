package api

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"mime"
	"net/http"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// ImportReport tells what an import did, or with a dry run would do.
type ImportReport struct {
	// DryRun says that nothing was stored.
	DryRun bool `json:"dry_run" binding:"required"`
	// Rows and Sessions are what the table holds.
	Rows     int `json:"rows" binding:"required" example:"240"`
	Sessions int `json:"sessions" binding:"required" example:"6"`
	// Created sessions are new, Replaced ones had other content, and Unchanged ones
	// are stored already as they are in the table.
	Created   int `json:"created" binding:"required" example:"5"`
	Replaced  int `json:"replaced" binding:"required" example:"0"`
	Unchanged int `json:"unchanged" binding:"required" example:"1"`
} // @name ImportReport

// importPath is where tables are imported, which may be larger than other bodies.
const importPath = "/v1/imports/sessions"

// A table has so many rows at most, and so many bytes.
const (
	maxImportRows = 20_000
	importLimit   = 8 << 20
)

// importSessions stores the sessions of a table.
//
//	@Summary		Import sessions from a table
//	@Description	All sessions of the table, or none: an error names its line and column. With `dry_run` nothing is stored and the same is told. The same table twice changes nothing. A table holds at most 500 sessions and 20,000 rows.
//	@Description
//	@Description	CSV in UTF-8 (RFC 4180, commas or semicolons), with the names of its columns in the first line, in any order. A row is one ball, or a block of which a card has the counts. The table of `GET /v1/exports/balls` can be sent as it is.
//	@Description
//	@Description	Of the session: `started_at` (needed: RFC 3339, or `2026-05-04 17:30` in its time zone), `student_id` or `student` (the name; a student leaves both out), `time_zone` (an IANA name; the student's, if left out), `ended_at`, `note`, `assignment_id` with `week` and `plan` (and `version` and `variant`), `surface`, `match_id`, `session_id` (a UUIDv7; made from student and start, if left out), `revision` (needed only to replace a session that is stored: one more than it has).
//	@Description
//	@Description	Of the block: `kind`, `skill_id` or `skill` (the name), `radius_m` (metres), `seconds`, `plan_block`, `purpose`, `quiet` (`true` or `false`), and `block`, its number in the session. Without `block`, a new one begins wherever one of the other cells changes.
//	@Description
//	@Description	Of the ball: `outcome` (`out`, `in` or `holed`), `leave_m`, `distance_m` (metres), `after_s` (seconds since the start), `strokes`, `miss`, `contact`, `club`, `lie`, and `ball`, its number in the block. Or of a card: `card_balls`, `card_inside`, `card_holed`, `card_best_run`.
//	@ID				importSessions
//	@Tags			Exports
//	@Accept			text/csv
//	@Produce		json
//	@Param			dry_run	query		bool	false	"Only check the table"
//	@Param			table	body		string	true	"The table"
//	@Success		200		{object}	ImportReport
//	@Failure		400,401,403,413,415,422,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/imports/sessions [post]
func (s *Server) importSessions(c echo.Context) error {
	q := newQuery(c)
	dry := q.flag("dry_run")
	if err := q.done(); err != nil {
		return err
	}
	if t, _, err := mime.ParseMediaType(c.Request().Header.Get(echo.HeaderContentType)); err != nil || t != mediaTable {
		return &requestError{status: http.StatusUnsupportedMediaType, code: "media_type", detail: "Send the table as " + mediaTable + "."}
	}
	body, err := readAll(c.Request())
	if err != nil {
		return err
	}
	names, err := s.importNames(c)
	if err != nil {
		return err
	}
	t := readTable(body, names)
	report := ImportReport{DryRun: dry, Rows: t.rows, Sessions: len(t.sessions)}
	if len(t.faults) == 0 {
		sessions := each(t.sessions, func(x *importedSession) practice.Session { return x.Session })
		result, faults, err := s.Practice.Import(c.Request().Context(), actor(c), sessions, dry)
		if err != nil {
			return err
		}
		for _, f := range faults {
			t.place(t.sessions[f.Session], f.Field)
		}
		report.Created, report.Replaced, report.Unchanged = result.New, result.Replaced, result.Unchanged
	}
	if len(t.faults) > 0 {
		return t.problem()
	}
	return writeJSON(c, http.StatusOK, report)
}

// importNames are what a table may call things by.
type importNames struct {
	academy domain.ID
	// own is the asker's own identity, of a student.
	own domain.ID
	// students and skills are by name in lower case; several may have one name.
	students map[string][]domain.ID
	skills   map[string][]domain.ID
	zones    map[domain.ID]*time.Location
}

func (s *Server) importNames(c echo.Context) (n importNames, err error) {
	a := actor(c)
	n = importNames{academy: a.Academy, students: map[string][]domain.ID{}, skills: map[string][]domain.ID{}, zones: map[domain.ID]*time.Location{}}
	if a.Role == domain.Student {
		n.own = a.Member
	}
	skills, err := s.skillNames(c)
	if err != nil {
		return n, err
	}
	for id, name := range skills {
		n.skills[nameKey(name)] = append(n.skills[nameKey(name)], id)
	}
	for page := (domain.Page{Limit: maxLimit}); ; {
		members, err := s.Academy.Members(c.Request().Context(), a, academy.MemberFilter{Role: domain.Student}, page)
		if err != nil {
			return n, err
		}
		for _, m := range members {
			n.students[nameKey(m.Name)] = append(n.students[nameKey(m.Name)], m.ID)
			n.zones[m.ID] = m.Zone()
			page.After = m.ID
		}
		if len(members) < page.Limit {
			return n, nil
		}
	}
}

func nameKey(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

// importedSession is a session of a table, with the lines that it came from.
type importedSession struct {
	practice.Session
	line   int
	cells  map[string]string
	blocks []importedBlock
}

type importedBlock struct {
	number int
	line   int
	cells  map[string]string
	balls  []int
}

// importedTable is a table under way.
type importedTable struct {
	names    importNames
	rows     int
	sessions []*importedSession
	faults   []ProblemField
	byKey    map[string]*importedSession
	// row is the line being read, and its cells by column.
	line  int
	cells map[string]string
}

// The columns that are of the session and of the block; all others of
// ExportedBall are of the ball.
var (
	sessionColumns = []string{"session_id", "revision", "student_id", "student", "started_at", "ended_at", "time_zone", "assignment_id", "week", "plan", "version", "note", "surface", "variant", "match_id"}
	blockColumns   = []string{"plan_block", "kind", "skill_id", "skill", "radius_m", "seconds", "purpose", "quiet", "card_balls", "card_inside", "card_holed", "card_best_run"}
	ballColumns    = []string{"outcome", "leave_m", "miss", "contact", "club", "lie", "distance_m", "strokes", "after_s"}
)

func (t *importedTable) fault(line int, column, format string, args ...any) {
	t.faults = append(t.faults, ProblemField{Line: line, Column: column, Detail: fmt.Sprintf(format, args...)})
}

// wrong notes a fault in the row being read.
func (t *importedTable) wrong(column, format string, args ...any) {
	t.fault(t.line, column, format, args...)
}

// mostFaults are told at once.
const mostFaults = 100

func (t *importedTable) problem() error {
	slices.SortStableFunc(t.faults, func(a, b ProblemField) int { return a.Line - b.Line })
	detail := "Nothing was imported. Correct the table and send it again."
	if more := len(t.faults) - mostFaults; more > 0 {
		t.faults = t.faults[:mostFaults]
		detail = fmt.Sprintf("Nothing was imported. Correct the table and send it again; there are %d more errors than these.", more)
	}
	return &requestError{status: http.StatusUnprocessableEntity, code: "import_invalid", detail: detail, fields: t.faults}
}

// readTable reads a table as far as it can be read.
func readTable(body []byte, names importNames) *importedTable {
	t := &importedTable{names: names, byKey: map[string]*importedSession{}}
	body = bytes.TrimPrefix(body, []byte("\ufeff"))
	if !utf8.Valid(body) {
		t.fault(1, "", "the table is not in UTF-8; save it as CSV in UTF-8")
		return t
	}
	first, _, _ := bytes.Cut(body, []byte("\n"))
	r := csv.NewReader(bytes.NewReader(body))
	if !bytes.ContainsRune(first, ',') && bytes.ContainsRune(first, ';') {
		r.Comma = ';'
	}
	r.FieldsPerRecord = -1
	head, err := r.Read()
	if err != nil {
		t.unreadable(err, "the table is empty; its first line has the names of the columns")
		return t
	}
	if !t.head(head) {
		return t
	}
	for {
		record, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.unreadable(err, "")
			return t
		}
		if t.rows++; t.rows > maxImportRows {
			t.fault(0, "", "there are more than %d rows; send the table in parts", maxImportRows)
			return t
		}
		t.line, _ = r.FieldPos(0)
		if len(record) != len(head) {
			t.wrong("", "has %d cells and the first line %d; a text with the separator or a line break in it goes in quotation marks", len(record), len(head))
			continue
		}
		t.cells = map[string]string{}
		for i, cell := range record {
			t.cells[head[i]] = plain(cell)
		}
		t.row()
	}
	if t.rows == 0 {
		t.fault(1, "", "there is no row below the names of the columns")
	}
	if len(t.sessions) > practice.MaxImport {
		t.fault(0, "", "there are %d sessions; at most %d are imported at once, so send the table in parts", len(t.sessions), practice.MaxImport)
	}
	return t
}

// unreadable tells of what is no CSV.
func (t *importedTable) unreadable(err error, empty string) {
	if bad, ok := errors.AsType[*csv.ParseError](err); ok {
		t.fault(bad.Line, "", "is not CSV; put a text that has quotation marks in it in quotation marks, and double each of its own")
		return
	}
	t.fault(1, "", "%s", empty)
}

// head checks the names of the columns.
func (t *importedTable) head(head []string) bool {
	known := columnsOf(reflect.TypeFor[ExportedBall]())
	has := map[string]bool{}
	for i, name := range head {
		name = strings.ToLower(strings.TrimSpace(name))
		head[i] = name
		switch {
		case !slices.Contains(known, name):
			t.fault(1, short(name), "is not a column of this table; remove it or name it as one of %s", strings.Join(known, ", "))
		case has[name]:
			t.fault(1, name, "is there twice; remove one")
		}
		has[name] = true
	}
	for _, name := range []string{"started_at", "kind", "radius_m", "seconds"} {
		if !has[name] {
			t.fault(1, name, "is missing; the table needs this column")
		}
	}
	if !has["skill"] && !has["skill_id"] {
		t.fault(1, "skill", "is missing; the table needs it, or skill_id")
	}
	if !has["outcome"] && !has["card_balls"] {
		t.fault(1, "outcome", "is missing; the table needs it, or card_balls")
	}
	return len(t.faults) == 0
}

// short keeps a cell that is quoted in an answer to a line.
func short(text string) string {
	const most = 60
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return text
}

// row adds the row being read.
func (t *importedTable) row() {
	faults := len(t.faults)
	student := t.student()
	start := t.instant("started_at", student)
	if len(t.faults) > faults {
		return
	}
	if start.IsZero() {
		t.wrong("started_at", "is empty; give when the session started")
		return
	}
	key := t.cells["session_id"]
	if key == "" {
		key = string(student) + start.String()
	}
	session := t.byKey[key]
	if session == nil {
		session = t.session(student, start)
		t.byKey[key] = session
		t.sessions = append(t.sessions, session)
	} else {
		t.agrees(sessionColumns, session.cells, session.line)
	}
	t.ball(session)
}

// agrees refuses cells that are not those of an earlier line.
func (t *importedTable) agrees(columns []string, earlier map[string]string, line int) {
	for _, name := range columns {
		if cell := t.cells[name]; cell != "" && cell != earlier[name] {
			t.wrong(name, "is %q and was %q on line %d, of the same session or block; make them the same", short(cell), short(earlier[name]), line)
		}
	}
}

// student finds whose row it is.
func (t *importedTable) student() domain.ID {
	if id := t.cells["student_id"]; id != "" {
		return t.id("student_id")
	}
	name := t.cells["student"]
	if name == "" {
		if t.names.own == "" {
			t.wrong("student", "is empty; give the student's name, or student_id")
		}
		return t.names.own
	}
	return t.named("student", t.names.students, "student_id")
}

// named finds the one thing of a name.
func (t *importedTable) named(column string, all map[string][]domain.ID, instead string) domain.ID {
	name := t.cells[column]
	found := all[nameKey(name)]
	switch len(found) {
	case 0:
		t.wrong(column, "there is no %s named %q, or you may not see them; check the name", column, short(name))
	case 1:
		return found[0]
	default:
		t.wrong(column, "%d have the name %q; give %s instead", len(found), short(name), instead)
	}
	return ""
}

func (t *importedTable) session(student domain.ID, start time.Time) *importedSession {
	x := &importedSession{line: t.line, cells: t.cells}
	x.Session = practice.Session{
		Student: student, StartedAt: start, EndedAt: t.instant("ended_at", student), TimeZone: t.cells["time_zone"], Note: t.cells["note"],
		Assignment: t.id("assignment_id"), Week: t.whole("week"), Plan: t.whole("plan"), Version: t.whole("version"), Revision: t.whole("revision"),
		Surface: curriculum.Surface(t.cells["surface"]), Variant: curriculum.Variant(t.cells["variant"]), Match: t.id("match_id"),
	}
	if t.cells["session_id"] == "" {
		x.ID = sessionOf(t.names.academy, student, start)
		return x
	}
	x.ID = t.id("session_id")
	if id, err := uuid.Parse(string(x.ID)); err == nil && id.Version() != 7 {
		t.wrong("session_id", "is no UUID of version 7; leave it out, and one is made")
	}
	return x
}

// sessionOf makes the identity of a session from its student and start, a
// UUIDv7 (RFC 9562 §5.7) that is the same each time.
func sessionOf(academy, student domain.ID, start time.Time) domain.ID {
	sum := sha256.Sum256(fmt.Appendf(nil, "session of a table\n%s\n%s\n%d", academy, student, start.UnixMilli()))
	id := uuid.UUID(sum[:16])
	var ms [8]byte
	binary.BigEndian.PutUint64(ms[:], uint64(start.UnixMilli()))
	copy(id[:6], ms[2:])
	id[6], id[8] = id[6]&0x0f|0x70, id[8]&0x3f|0x80
	return domain.ID(id.String())
}

// ball adds the row's ball, or card, to its session.
func (t *importedTable) ball(x *importedSession) {
	if t.cells["kind"] == "" && t.cells["outcome"] == "" && t.cells["card_balls"] == "" {
		if t.cells["block"] != "" {
			t.wrong("kind", "is empty; say what kind of block it was")
		}
		return // a session without blocks
	}
	b := t.block(x)
	block, lines := &x.Blocks[b], &x.blocks[b]
	if t.cells["outcome"] == "" {
		for _, name := range append([]string{"ball"}, ballColumns[1:]...) {
			if t.cells[name] != "" {
				t.wrong("outcome", "is empty, and %s is not; give out, in or holed", name)
				return
			}
		}
		if lines.line != t.line {
			t.wrong("outcome", "is empty, and the row is like line %d; give out, in or holed or, if it is a block of its own, number the blocks in the column block", lines.line)
		}
		return
	}
	if len(block.Balls) == 0 && lines.line != t.line {
		t.fault(lines.line, "outcome", "is empty, and the rows below it have balls; give out, in or holed")
	}
	if n := t.whole("ball"); n != 0 && n != len(block.Balls)+1 {
		t.wrong("ball", "is %d where %d comes next in the block; list balls in the order they were struck", n, len(block.Balls)+1)
	}
	ball := Ball{Outcome: t.cells["outcome"], Miss: t.cells["miss"], Contact: t.cells["contact"], Club: t.cells["club"], Lie: t.cells["lie"],
		DistanceM: t.number("distance_m"), Strokes: t.whole("strokes"), AfterS: t.number("after_s")}
	if t.cells["leave_m"] != "" {
		leave := t.number("leave_m")
		ball.LeaveM = &leave
	}
	var p domain.Problems
	block.Balls = append(block.Balls, ball.read(&p, ""))
	lines.balls = append(lines.balls, t.line)
	for _, f := range p.Fields() {
		t.wrong(strings.TrimPrefix(f.Pointer, "/"), "%s", f.Detail)
	}
}

// block finds the block that the row is of, or begins it, and gives its place.
func (t *importedTable) block(x *importedSession) int {
	number, last := t.whole("block"), len(x.blocks)-1
	if last >= 0 && number == x.blocks[last].number {
		same := !slices.ContainsFunc(blockColumns, func(name string) bool { return t.cells[name] != x.blocks[last].cells[name] })
		if number != 0 {
			t.agrees(blockColumns, x.blocks[last].cells, x.blocks[last].line)
		}
		if number != 0 || same {
			return last
		}
	}
	if number != 0 && number != last+2 {
		t.wrong("block", "is %d where %d comes next in the session; keep the rows of a block together, in order", number, last+2)
	}
	b := practice.Block{Kind: curriculum.BlockKind(t.cells["kind"]), Seconds: t.whole("seconds"), PlanBlock: t.whole("plan_block"), Purpose: curriculum.Purpose(t.cells["purpose"]), Quiet: t.flag("quiet")}
	switch {
	case t.cells["skill_id"] != "":
		b.Skill = t.id("skill_id")
	case t.cells["skill"] == "":
		t.wrong("skill", "is empty; give the skill's name, or skill_id")
	default:
		b.Skill = t.named("skill", t.names.skills, "skill_id")
	}
	var p domain.Problems
	b.Radius = length(&p, "radius_m", t.number("radius_m"))
	for _, f := range p.Fields() {
		t.wrong(f.Pointer, "%s", f.Detail)
	}
	if t.cells["card_balls"] != "" {
		b.Attested = &progress.Attested{Balls: t.whole("card_balls"), Inside: t.whole("card_inside"), Holed: t.whole("card_holed"), BestRun: t.whole("card_best_run")}
	}
	x.Blocks = append(x.Blocks, b)
	x.blocks = append(x.blocks, importedBlock{number: number, line: t.line, cells: t.cells})
	return last + 1
}

// id reads an identity; empty when the cell is.
func (t *importedTable) id(column string) domain.ID {
	cell := t.cells[column]
	if cell == "" {
		return ""
	}
	id, err := uuid.Parse(cell)
	if err != nil || len(cell) != 36 {
		t.wrong(column, "is %q, which is not a UUID; check the ID", short(cell))
	}
	return domain.ID(id.String())
}

// flag reads true or false; false when the cell is empty.
func (t *importedTable) flag(column string) bool {
	switch cell := strings.ToLower(t.cells[column]); cell {
	case "", "false":
		return false
	case "true":
		return true
	default:
		t.wrong(column, "is %q; give true or false, or leave it empty", short(cell))
		return false
	}
}

// whole reads a whole number; 0 when the cell is empty.
func (t *importedTable) whole(column string) int {
	cell := t.cells[column]
	if cell == "" {
		return 0
	}
	n, err := strconv.ParseInt(cell, 10, 32)
	if err != nil || n < 0 {
		t.wrong(column, "is %q; give a whole number from 0", short(cell))
	}
	return int(n)
}

// number reads a number; 0 when the cell is empty.
func (t *importedTable) number(column string) float64 {
	cell := t.cells[column]
	if cell == "" {
		return 0
	}
	x, err := strconv.ParseFloat(cell, 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		t.wrong(column, "is %q; give a number with a point, such as 1.5", short(cell))
		return 0
	}
	return x
}

// localTimes are how a table may write a time of its time zone.
var localTimes = []string{"2006-01-02 15:04", "2006-01-02 15:04:05", "2006-01-02T15:04", "2006-01-02T15:04:05"}

// instant reads a time; zero when the cell is empty.
func (t *importedTable) instant(column string, student domain.ID) time.Time {
	cell := t.cells[column]
	if cell == "" {
		return time.Time{}
	}
	if at, err := time.Parse(time.RFC3339Nano, cell); err == nil {
		return at.UTC().Truncate(time.Millisecond)
	}
	zone := t.names.zones[student]
	if name := t.cells["time_zone"]; name != "" {
		var err error
		if zone, err = domain.Zone(name); err != nil {
			t.wrong("time_zone", "%q is not a time zone; use an IANA name such as Europe/Lisbon", short(name))
			return time.Time{}
		}
	}
	if zone == nil {
		zone = time.UTC // of a student whom the asker may not see, which is refused
	}
	for _, form := range localTimes {
		if at, err := time.ParseInLocation(form, cell, zone); err == nil {
			return at.UTC()
		}
	}
	t.wrong(column, "is %q; give a time such as 2026-05-04T17:30:00+02:00, or 2026-05-04 17:30 in the time zone", short(cell))
	return time.Time{}
}

// place notes what is wrong with a session where the table has it.
func (t *importedTable) place(x *importedSession, f domain.Field) {
	parts := strings.Split(strings.TrimPrefix(f.Pointer, "/"), "/")
	column, line := parts[len(parts)-1], x.line
	at := func(i int) int {
		n, err := strconv.Atoi(parts[i])
		if err != nil {
			return -1
		}
		return n
	}
	if len(parts) > 1 && parts[0] == "blocks" {
		if n := at(1); n >= 0 && n < len(x.blocks) {
			block := x.blocks[n]
			line = block.line
			if len(parts) > 3 && parts[2] == "attested" {
				column = "card_" + column
			}
			if len(parts) > 3 && parts[2] == "balls" {
				if m := at(3); m >= 0 && m < len(block.balls) {
					line = block.balls[m]
				}
			}
		}
	}
	known := slices.Concat(sessionColumns, blockColumns, ballColumns)
	if !slices.Contains(known, column) {
		column = ""
	}
	if column == "student_id" && t.cells["student_id"] == "" {
		column = "student"
	}
	t.fault(line, column, "%s", f.Detail)
}
