package api

import (
	"bufio"
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"mime"
	"net/http"
	"path"
	"reflect"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// ExportedSession is one session of an export: one line, or one row of a table.
type ExportedSession struct {
	SessionID domain.ID `json:"session_id" binding:"required" format:"uuid"`
	StudentID domain.ID `json:"student_id" binding:"required" format:"uuid"`
	// Student is their name.
	Student   string    `json:"student" binding:"required" example:"Milo Ferrant"`
	StartedAt time.Time `json:"started_at" binding:"required" format:"date-time"`
	// EndedAt is absent while the session goes on.
	EndedAt  *time.Time `json:"ended_at,omitempty" format:"date-time"`
	TimeZone string     `json:"time_zone" binding:"required"`
	// Day is the local date of the start.
	Day          string    `json:"day" binding:"required" format:"date"`
	AssignmentID domain.ID `json:"assignment_id,omitempty" format:"uuid"`
	Week         int       `json:"week,omitempty"`
	Plan         int       `json:"plan,omitempty"`
	Version      int       `json:"version,omitempty"`
	// Surface is what was played on, absent for a green, and Variant which version of
	// the plan was played, absent for the plan itself. MatchID is the match whose cards
	// were played.
	Surface string    `json:"surface,omitempty" extensions:"x-words=surfaces"`
	Variant string    `json:"variant,omitempty" extensions:"x-words=variants"`
	MatchID domain.ID `json:"match_id,omitempty" format:"uuid"`
	// Counts says whether the session counts as one of its plan's.
	Counts         bool `json:"counts" binding:"required"`
	Seconds        int  `json:"seconds" binding:"required"`
	PlannedSeconds int  `json:"planned_seconds" binding:"required"`
	Balls          int  `json:"balls" binding:"required"`
	// Inside includes Holed.
	Inside int `json:"inside" binding:"required"`
	Holed  int `json:"holed" binding:"required"`
	// CardBalls, CardInside and CardHoled are counts from paper cards.
	CardBalls  int       `json:"card_balls,omitempty"`
	CardInside int       `json:"card_inside,omitempty"`
	CardHoled  int       `json:"card_holed,omitempty"`
	Note       string    `json:"note,omitempty"`
	Revision   int       `json:"revision" binding:"required"`
	ReceivedAt time.Time `json:"received_at" binding:"required" format:"date-time"`
} // @name ExportedSession

// ExportedBall is one ball of an export, with its session and its block. A block
// without balls, such as one from a paper card, has one row without a ball, and
// so has a session without blocks.
type ExportedBall struct {
	SessionID domain.ID `json:"session_id" binding:"required" format:"uuid"`
	Revision  int       `json:"revision" binding:"required"`
	StudentID domain.ID `json:"student_id" binding:"required" format:"uuid"`
	// Student is their name.
	Student   string    `json:"student" binding:"required" example:"Milo Ferrant"`
	StartedAt time.Time `json:"started_at" binding:"required" format:"date-time"`
	// EndedAt is absent while the session goes on.
	EndedAt      *time.Time `json:"ended_at,omitempty" format:"date-time"`
	TimeZone     string     `json:"time_zone" binding:"required"`
	AssignmentID domain.ID  `json:"assignment_id,omitempty" format:"uuid"`
	Week         int        `json:"week,omitempty"`
	Plan         int        `json:"plan,omitempty"`
	Version      int        `json:"version,omitempty"`
	Note         string     `json:"note,omitempty"`
	// Surface is what was played on, absent for a green, and Variant which version of
	// the plan was played, absent for the plan itself. MatchID is the match whose cards
	// were played.
	Surface string    `json:"surface,omitempty" extensions:"x-words=surfaces"`
	Variant string    `json:"variant,omitempty" extensions:"x-words=variants"`
	MatchID domain.ID `json:"match_id,omitempty" format:"uuid"`
	// Block counts the session's blocks from 1, and Ball the block's balls.
	Block int `json:"block,omitempty"`
	// PlanBlock is the number of the plan's block; absent without one.
	PlanBlock int       `json:"plan_block,omitempty"`
	Kind      string    `json:"kind,omitempty" extensions:"x-words=block_kinds"`
	SkillID   domain.ID `json:"skill_id,omitempty" format:"uuid"`
	// Skill is its name.
	Skill   string  `json:"skill,omitempty"`
	RadiusM float64 `json:"radius_m,omitempty"`
	Seconds int     `json:"seconds,omitempty"`
	// Purpose is what a test measures beside the steps, and Quiet says that the phone
	// showed no balls in a row.
	Purpose string `json:"purpose,omitempty" extensions:"x-words=purposes"`
	Quiet   bool   `json:"quiet,omitempty"`
	Ball    int    `json:"ball,omitempty"`
	// Outcome says where the ball stopped, against the circle of radius_m.
	Outcome string   `json:"outcome,omitempty" extensions:"x-words=outcomes"`
	LeaveM  *float64 `json:"leave_m,omitempty"`
	// Miss is which way it missed and Contact how it was struck, where the student
	// said so.
	Miss    string `json:"miss,omitempty" extensions:"x-words=misses"`
	Contact string `json:"contact,omitempty" extensions:"x-words=contacts"`
	Club    string `json:"club,omitempty"`
	Lie     string `json:"lie,omitempty"`
	// Strokes is how many it took until the ball was holed, where it was played out.
	Strokes int `json:"strokes,omitempty"`
	// DistanceM is how far the hole was, and AfterS the seconds since the
	// session's start.
	DistanceM float64 `json:"distance_m,omitempty"`
	AfterS    float64 `json:"after_s,omitempty"`
	// CardBalls, CardInside, CardHoled and CardBestRun are counts from a paper card.
	CardBalls   *int `json:"card_balls,omitempty"`
	CardInside  *int `json:"card_inside,omitempty"`
	CardHoled   *int `json:"card_holed,omitempty"`
	CardBestRun *int `json:"card_best_run,omitempty"`
} // @name ExportedBall

// ExportedMilestone is one tier that was passed, of an export.
type ExportedMilestone struct {
	StudentID domain.ID `json:"student_id" binding:"required" format:"uuid"`
	// Student and Skill are names.
	Student string    `json:"student" binding:"required"`
	SkillID domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	Skill   string    `json:"skill" binding:"required"`
	Run     int       `json:"run" binding:"required"`
	RadiusM float64   `json:"radius_m" binding:"required"`
	Holed   int       `json:"holed" binding:"required"`
	// SessionID, Block and Ball name the ball that passed it, At when that was.
	SessionID domain.ID `json:"session_id" binding:"required" format:"uuid"`
	Block     int       `json:"block" binding:"required"`
	Ball      int       `json:"ball" binding:"required"`
	At        time.Time `json:"at" binding:"required" format:"date-time"`
	// HeldAt is when the retest began that bore it out.
	HeldAt *time.Time `json:"held_at,omitempty" format:"date-time"`
} // @name ExportedMilestone

// ExportedProgress is where one student stands at one skill, of an export.
type ExportedProgress struct {
	StudentID domain.ID `json:"student_id" binding:"required" format:"uuid"`
	// Student and Skill are names.
	Student string    `json:"student" binding:"required"`
	SkillID domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	Skill   string    `json:"skill" binding:"required"`
	// Tiers is how many the ladder has, and Passed how many of them are passed, up
	// to the hardest one.
	Tiers  int `json:"tiers" binding:"required"`
	Passed int `json:"passed" binding:"required"`
	// Sessions, Balls, Inside, Holed and Seconds are of all that was practised.
	// Inside includes Holed.
	Sessions int `json:"sessions" binding:"required"`
	Balls    int `json:"balls" binding:"required"`
	Inside   int `json:"inside" binding:"required"`
	Holed    int `json:"holed" binding:"required"`
	Seconds  int `json:"seconds" binding:"required"`
	// CardBalls, CardInside and CardHoled are counts from paper cards.
	CardBalls  int `json:"card_balls,omitempty"`
	CardInside int `json:"card_inside,omitempty"`
	CardHoled  int `json:"card_holed,omitempty"`
	// NextRun, NextRadiusM and NextHoled are the tier to pass next, and BestRun the
	// most balls in a row so far in its circle.
	NextRun     int     `json:"next_run,omitempty"`
	NextRadiusM float64 `json:"next_radius_m,omitempty"`
	NextHoled   int     `json:"next_holed,omitempty"`
	BestRun     int     `json:"best_run" binding:"required"`
	// LastSessionAt is when the latest session with the skill started, and
	// LastMilestoneAt when the latest tier was passed.
	LastSessionAt   *time.Time `json:"last_session_at,omitempty" format:"date-time"`
	LastMilestoneAt *time.Time `json:"last_milestone_at,omitempty" format:"date-time"`
} // @name ExportedProgress

// exportSessions exports sessions.
//
//	@Summary		Export sessions
//	@Description	Every session of the students whom you may see, students in order of ID and each one's sessions latest first, as lines of JSON (`application/x-ndjson`, unless you ask for another) or as a table (`text/csv`, RFC 4180, whose columns have the names of the members). In a table, a text that begins with `=`, `+`, `-`, `@`, a tab, a carriage return or `'` has a `'` in front, so that no spreadsheet takes it for a formula.
//	@Description	Each export is noted in the log (export.made). The answer is sent while it is read, at no more than one export at a time for each member or key. If it ends without its last chunk, something failed and it is not whole. A session that is stored meanwhile is there or not.
//	@ID				exportSessions
//	@Tags			Exports
//	@Produce		application/x-ndjson,text/csv
//	@Param			student_id	query		string	false	"Only this student"	format(uuid)
//	@Param			from		query		string	false	"Only sessions that started at this time or later, RFC 3339"	format(date-time)
//	@Param			until		query		string	false	"Only sessions that started before this time, RFC 3339"	format(date-time)
//	@Success		200			{object}	ExportedSession	"One to a line"
//	@Failure		400,401,403,404,406,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/exports/sessions [get]
func (s *Server) exportSessions(c echo.Context) error {
	return exportPractice(s, c, func(m academy.Member, x practice.Session, give func(ExportedSession) error) error {
		return give(exportedSession(m, x))
	})
}

// exportBalls exports balls.
//
//	@Summary		Export balls
//	@Description	Every ball of the sessions of the students whom you may see, in the form and order of the export of sessions. `POST /v1/imports/sessions` takes the table as it is.
//	@ID				exportBalls
//	@Tags			Exports
//	@Produce		application/x-ndjson,text/csv
//	@Param			student_id	query		string	false	"Only this student"	format(uuid)
//	@Param			from		query		string	false	"Only sessions that started at this time or later, RFC 3339"	format(date-time)
//	@Param			until		query		string	false	"Only sessions that started before this time, RFC 3339"	format(date-time)
//	@Success		200			{object}	ExportedBall	"One to a line"
//	@Failure		400,401,403,404,406,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/exports/balls [get]
func (s *Server) exportBalls(c echo.Context) error {
	names, err := s.skillNames(c)
	if err != nil {
		return err
	}
	return exportPractice(s, c, func(m academy.Member, x practice.Session, give func(ExportedBall) error) error {
		return exportedBalls(m, x, names, give)
	})
}

// exportMilestones exports milestones.
//
//	@Summary		Export milestones
//	@Description	Every tier that the students whom you may see have passed, in the form of the export of sessions.
//	@ID				exportMilestones
//	@Tags			Exports
//	@Produce		application/x-ndjson,text/csv
//	@Param			student_id	query		string	false	"Only this student"	format(uuid)
//	@Success		200			{object}	ExportedMilestone	"One to a line"
//	@Failure		400,401,403,404,406,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/exports/milestones [get]
func (s *Server) exportMilestones(c echo.Context) error {
	return exportStates(s, c, func(m academy.Member, x progress.State, skill string, give func(ExportedMilestone) error) error {
		for _, hit := range x.Milestones() {
			err := give(ExportedMilestone{
				StudentID: m.ID, Student: m.Name, SkillID: x.Skill, Skill: skill, Run: hit.Tier.Run, RadiusM: hit.Tier.Radius.Metres(), Holed: hit.Tier.Holed,
				SessionID: hit.Session, Block: hit.Block, Ball: hit.Ball, At: hit.At.UTC(), HeldAt: instant(hit.HeldAt),
			})
			if err != nil {
				return err
			}
		}
		return nil
	})
}

// exportProgress exports progress.
//
//	@Summary		Export progress
//	@Description	Where the students whom you may see stand at each skill that they practised, in the form of the export of sessions.
//	@ID				exportProgress
//	@Tags			Exports
//	@Produce		application/x-ndjson,text/csv
//	@Param			student_id	query		string	false	"Only this student"	format(uuid)
//	@Success		200			{object}	ExportedProgress	"One to a line"
//	@Failure		400,401,403,404,406,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/exports/progress [get]
func (s *Server) exportProgress(c echo.Context) error {
	return exportStates(s, c, func(m academy.Member, x progress.State, skill string, give func(ExportedProgress) error) error {
		row := ExportedProgress{
			StudentID: m.ID, Student: m.Name, SkillID: x.Skill, Skill: skill, Tiers: len(x.Ladder.Tiers), Passed: x.Held,
			Sessions: x.Totals.Sessions, Balls: x.Totals.Balls, Inside: x.Totals.Inside, Holed: x.Totals.Holed, Seconds: x.Totals.Seconds,
			CardBalls: x.Totals.AttestedBalls, CardInside: x.Totals.AttestedInside, CardHoled: x.Totals.AttestedHoled,
			BestRun: x.Best().Length, LastSessionAt: instant(x.LastAt), LastMilestoneAt: instant(x.LastMilestoneAt),
		}
		if next, ok := x.Next(); ok {
			row.NextRun, row.NextRadiusM, row.NextHoled = next.Run, next.Radius.Metres(), next.Holed
		}
		return give(row)
	})
}

// archivePath is where an academy's archive is, which is compressed already.
const archivePath = "/v1/exports/academy"

// exportAcademy exports the academy's archive.
//
//	@Summary		Export the whole academy
//	@Description	An archive (ZIP) of all that the academy has, as it stands at one moment: a part of JSON lines for each kind, and a manifest with their numbers and digests. The operator of another installation of the same release imports it with `fringework admin import-academy`. There are no passwords, sign-ins and keys in it.
//	@ID				exportAcademy
//	@Tags			Exports
//	@Produce		application/zip
//	@Success		200	{string}	string	"The archive"
//	@Failure		400,401,403,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/exports/academy [get]
func (s *Server) exportAcademy(c echo.Context) error {
	if err := newQuery(c).done(); err != nil {
		return err
	}
	a := actor(c)
	leave, err := s.exports.enter(a.Academy, a.Member)
	if err != nil {
		return err
	}
	defer leave()
	if err := s.exported(c); err != nil {
		return err
	}
	h := c.Response().Header()
	h.Set(echo.HeaderContentType, "application/zip")
	h.Set(echo.HeaderContentDisposition, `attachment; filename="academy.zip"`)
	h.Set(echo.HeaderCacheControl, "no-store")
	if err := s.Archive(c.Request().Context(), a.Academy, unhurried{c.Response()}); err != nil {
		return s.cutOff(c, err)
	}
	return nil
}

// unhurried is an answer whose client has time to take each piece of it.
type unhurried struct{ http.ResponseWriter }

// Write implements io.Writer.
func (u unhurried) Write(b []byte) (int, error) {
	giveTime(u.ResponseWriter)
	return u.ResponseWriter.Write(b)
}

// giveTime lets the next piece of an answer take as long as exportWrite. Without a
// connection that can be told, as in a test, there is none to cut.
func giveTime(w http.ResponseWriter) {
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(exportWrite))
}

// cutOff ends an answer that failed: with a problem, or by cutting the connection
// where some of it was sent, so that nobody takes that for the whole.
func (s *Server) cutOff(c echo.Context, err error) error {
	if !c.Response().Committed {
		c.Response().Header().Del(echo.HeaderContentDisposition)
		return err
	}
	s.log.Warn("an export was cut off", "request_id", requestID(c), "route", c.Path(), "error", err)
	panic(http.ErrAbortHandler)
}

// exportPractice exports what rows makes of each session.
func exportPractice[R any](s *Server, c echo.Context, rows func(academy.Member, practice.Session, func(R) error) error) error {
	q := newQuery(c)
	f := practice.ExportFilter{Student: q.id("student_id"), From: q.instant("from"), Until: q.instant("until")}
	if err := q.done(); err != nil {
		return err
	}
	return export(s, c, func(ctx context.Context, out *exporting[R]) error {
		return s.Practice.Export(ctx, actor(c), f, func(m academy.Member, sessions []practice.Session) error {
			for _, x := range sessions {
				if err := rows(m, x, out.give); err != nil {
					return err
				}
			}
			return out.flush()
		})
	})
}

// exportStates exports what rows makes of where each student stands at a skill.
func exportStates[R any](s *Server, c echo.Context, rows func(academy.Member, progress.State, string, func(R) error) error) error {
	q := newQuery(c)
	student := q.id("student_id")
	if err := q.done(); err != nil {
		return err
	}
	names, err := s.skillNames(c)
	if err != nil {
		return err
	}
	return export(s, c, func(ctx context.Context, out *exporting[R]) error {
		return s.Practice.ExportStates(ctx, actor(c), student, func(m academy.Member, states []progress.State) error {
			for _, x := range states {
				if err := rows(m, x, names[x.Skill], out.give); err != nil {
					return err
				}
			}
			return out.flush()
		})
	})
}

// skillNames reads the names of all the academy's skills, archived ones as well.
func (s *Server) skillNames(c echo.Context) (map[domain.ID]string, error) {
	names := map[domain.ID]string{}
	for page := (domain.Page{Limit: maxLimit}); ; {
		skills, err := s.Curriculum.Skills(c.Request().Context(), actor(c), page, true)
		if err != nil {
			return nil, err
		}
		for _, k := range skills {
			names[k.ID] = k.Name
			page.After = k.ID
		}
		if len(skills) < page.Limit {
			return names, nil
		}
	}
}

// export answers with rows while they are read.
func export[R any](s *Server, c echo.Context, read func(context.Context, *exporting[R]) error) error {
	media, err := exportMedia(c.Request().Header.Get("Accept"))
	if err != nil {
		return err
	}
	a := actor(c)
	leave, err := s.exports.enter(a.Academy, a.Member+a.Key)
	if err != nil {
		return err
	}
	defer leave()
	out := &exporting[R]{c: c, media: media, record: func() error { return s.exported(c) }}
	if err := read(c.Request().Context(), out); err != nil {
		return s.cutOff(c, err)
	}
	return out.flush()
}

// exported notes in the log what is exported: the last word of the address.
func (s *Server) exported(c echo.Context) error {
	return s.Academy.Exported(c.Request().Context(), actor(c), path.Base(c.Path()))
}

// The media types of exports.
const (
	mediaLines = "application/x-ndjson"
	mediaTable = "text/csv"
)

// exportMedia chooses the media type by an Accept header (RFC 9110 §12.5.1):
// lines, unless a table is wanted more.
func exportMedia(accept string) (string, error) {
	if strings.TrimSpace(accept) == "" {
		return mediaLines, nil
	}
	weights := map[string]float64{}
	for part := range strings.SplitSeq(accept, ",") {
		media, params, err := mime.ParseMediaType(part)
		if err != nil {
			continue
		}
		weight := 1.0
		if q, given := params["q"]; given {
			if weight, err = strconv.ParseFloat(q, 64); err != nil {
				continue
			}
		}
		weights[media] = weight
	}
	weigh := func(media, group string) float64 {
		for _, name := range []string{media, group, "*/*"} {
			if weight, named := weights[name]; named {
				return weight
			}
		}
		return 0
	}
	lines, table := weigh(mediaLines, "application/*"), weigh(mediaTable, "text/*")
	switch {
	case lines <= 0 && table <= 0:
		return "", &requestError{status: http.StatusNotAcceptable, code: "not_acceptable",
			detail: "An export comes as " + mediaLines + " or as " + mediaTable + "; name one of them in Accept."}
	case table > lines:
		return mediaTable, nil
	}
	return mediaLines, nil
}

// exportWrite is how long one stretch of an export may take to be sent.
const exportWrite = time.Minute

// exporting is the rows R of an answer under way.
type exporting[R any] struct {
	c     echo.Context
	media string
	// record notes the export in the log, before anything is sent.
	record func() error
	out    *bufio.Writer
	table  *csv.Writer
}

// begin sends the head of the answer and, of a table, the names of its columns.
func (e *exporting[R]) begin() error {
	if err := e.record(); err != nil {
		return err
	}
	h := e.c.Response().Header()
	h.Set(echo.HeaderContentType, e.media+"; charset=utf-8")
	if e.media == mediaLines {
		h.Set(echo.HeaderContentType, e.media)
	}
	h.Set(echo.HeaderCacheControl, "no-store")
	h.Add(echo.HeaderVary, "Accept")
	e.c.Response().WriteHeader(http.StatusOK)
	e.out = bufio.NewWriterSize(e.c.Response(), 32<<10)
	if e.media == mediaTable {
		e.table = newTable(e.out)
		return e.table.Write(columnsOf(reflect.TypeFor[R]()))
	}
	return nil
}

func newTable(to io.Writer) *csv.Writer {
	table := csv.NewWriter(to)
	table.UseCRLF = true
	return table
}

func (e *exporting[R]) give(row R) error {
	if e.out == nil {
		if err := e.begin(); err != nil {
			return err
		}
	}
	if e.table != nil {
		return e.table.Write(cellsOf(reflect.ValueOf(row)))
	}
	return encoder(e.out).Encode(row)
}

// flush sends what was given, and gives the client time to take it.
func (e *exporting[R]) flush() error {
	if e.out == nil {
		if err := e.begin(); err != nil {
			return err
		}
	}
	if e.table != nil {
		e.table.Flush()
		if err := e.table.Error(); err != nil {
			return err
		}
	}
	giveTime(e.c.Response())
	return e.out.Flush()
}

// columnsOf names the columns of a row's table: its members.
func columnsOf(row reflect.Type) (names []string) {
	for field := range row.Fields() {
		name, _, _ := strings.Cut(field.Tag.Get("json"), ",")
		names = append(names, name)
	}
	return names
}

// cellsOf writes a row's cells; what JSON leaves out is empty.
func cellsOf(row reflect.Value) []string {
	cells := make([]string, row.NumField())
	for i := range cells {
		v := row.Field(i)
		if strings.Contains(row.Type().Field(i).Tag.Get("json"), ",omitempty") && v.IsZero() {
			continue
		}
		if v.Kind() == reflect.Pointer {
			v = v.Elem()
		}
		cells[i] = cellOf(v.Interface())
	}
	return cells
}

func cellOf(v any) string {
	switch x := v.(type) {
	case time.Time:
		return x.Format(time.RFC3339Nano)
	case string:
		return inert(x)
	case domain.ID:
		return inert(string(x))
	case float64:
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	return fmt.Sprint(v)
}

// dangerous are the first characters that make a spreadsheet take a cell for a
// formula (OWASP, CSV Injection), and the one that says it is a text.
const dangerous = "=+-@\t\r'"

// inert writes a text so that no spreadsheet takes it for a formula, and plain
// reads it back.
func inert(text string) string {
	if text != "" && strings.ContainsRune(dangerous, rune(text[0])) {
		return "'" + text
	}
	return text
}

func plain(cell string) string {
	if len(cell) > 1 && cell[0] == '\'' && strings.ContainsRune(dangerous, rune(cell[1])) {
		return cell[1:]
	}
	return cell
}

func exportedSession(m academy.Member, x practice.Session) ExportedSession {
	row := ExportedSession{
		SessionID: x.ID, StudentID: m.ID, Student: m.Name, StartedAt: x.StartedAt.UTC(), EndedAt: instant(x.EndedAt), TimeZone: x.TimeZone, Day: x.Day().String(),
		AssignmentID: x.Assignment, Week: x.Week, Plan: x.Plan, Version: x.Version, Counts: x.Counts(), Note: x.Note, Revision: x.Revision, ReceivedAt: x.ReceivedAt.UTC(),
		Surface: string(x.Surface), Variant: string(x.Variant), MatchID: x.Match,
	}
	for _, b := range x.Blocks {
		row.Seconds += b.Seconds
		row.PlannedSeconds += b.Planned
		row.Balls += b.Counts.Balls
		row.Inside += b.Counts.Inside
		row.Holed += b.Counts.Holed
		if card := b.Attested; card != nil {
			row.CardBalls += card.Balls
			row.CardInside += card.Inside
			row.CardHoled += card.Holed
		}
	}
	for _, missed := range x.Missed {
		row.PlannedSeconds += missed.Planned
	}
	return row
}

// exportedBalls gives a row for each ball of a session, and for each block
// without one.
func exportedBalls(m academy.Member, x practice.Session, skills map[domain.ID]string, give func(ExportedBall) error) error {
	session := ExportedBall{
		SessionID: x.ID, Revision: x.Revision, StudentID: m.ID, Student: m.Name, StartedAt: x.StartedAt.UTC(), EndedAt: instant(x.EndedAt), TimeZone: x.TimeZone,
		AssignmentID: x.Assignment, Week: x.Week, Plan: x.Plan, Version: x.Version, Note: x.Note,
		Surface: string(x.Surface), Variant: string(x.Variant), MatchID: x.Match,
	}
	if len(x.Blocks) == 0 {
		return give(session)
	}
	for i, b := range x.Blocks {
		block := session
		block.Block, block.PlanBlock, block.Kind, block.SkillID, block.Skill = i+1, b.PlanBlock, string(b.Kind), b.Skill, skills[b.Skill]
		block.RadiusM, block.Seconds, block.Purpose, block.Quiet = b.Radius.Metres(), b.Seconds, string(b.Purpose), b.Quiet
		if card := b.Attested; card != nil {
			block.CardBalls, block.CardInside, block.CardHoled, block.CardBestRun = &card.Balls, &card.Inside, &card.Holed, &card.BestRun
		}
		if len(b.Balls) == 0 {
			if err := give(block); err != nil {
				return err
			}
		}
		for j, ball := range b.Balls {
			row, e := block, encodeBall(ball)
			row.Ball, row.Outcome, row.LeaveM, row.Miss, row.Contact = j+1, e.Outcome, e.LeaveM, e.Miss, e.Contact
			row.Club, row.Lie, row.DistanceM, row.Strokes, row.AfterS = e.Club, e.Lie, e.DistanceM, e.Strokes, e.AfterS
			if err := give(row); err != nil {
				return err
			}
		}
	}
	return nil
}

// places lets each member or key have one of something at a time.
type places struct {
	mu    sync.Mutex
	taken map[[2]domain.ID]bool
}

// enter takes the place until leave.
func (p *places) enter(academy, who domain.ID) (leave func(), err error) {
	key := [2]domain.ID{academy, who}
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.taken[key] {
		return nil, &domain.Error{Kind: domain.TooMany, Code: "export_running", RetryAfter: 5,
			Detail: "An export of yours is running already. Wait until it has ended."}
	}
	if p.taken == nil {
		p.taken = map[[2]domain.ID]bool{}
	}
	p.taken[key] = true
	return func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		delete(p.taken, key)
	}, nil
}
