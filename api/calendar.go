package api

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"
	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
)

// CalendarLink tells of the secret address of your calendar.
type CalendarLink struct {
	CreatedAt time.Time `json:"created_at" binding:"required" format:"date-time"`
} // @name CalendarLink

// CalendarLinkCreated is a new address. It is shown only this once.
type CalendarLinkCreated struct {
	CalendarLink
	// Address is for a calendar app to subscribe to. Whoever has it can read it.
	Address string `json:"address" binding:"required" format:"uri" example:"https://fringework.example/calendars/fwl_EXAMPLEONLY.ics"`
} // @name CalendarLinkCreated

// createCalendar makes the address of one's own calendar.
//
//	@Summary		Make the address of your calendar
//	@Description	A calendar app that subscribes to it shows the weeks of your programmes. The address is secret, shown only this once, and replaces the one before, which shows nothing from then on. A junior's needs the guardian's consent.
//	@ID				createCalendar
//	@Tags			Me
//	@Produce		json
//	@Success		201	{object}	CalendarLinkCreated
//	@Failure		400,401,403,404,409,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/calendar [post]
func (s *Server) createCalendar(c echo.Context) error {
	token, digest, err := auth.NewLinkToken(actor(c).Academy)
	if err != nil {
		return err
	}
	l, err := s.Calendars.Make(c.Request().Context(), actor(c), digest)
	if err != nil {
		return err
	}
	noStore(c)
	return created(c, "/v1/me/calendar", 0, CalendarLinkCreated{
		CalendarLink: CalendarLink{CreatedAt: l.Created.UTC()}, Address: s.publicURL(c) + "/calendars/" + token + ".ics",
	})
}

// getCalendar tells whether there is an address.
//
//	@Summary		Look whether your calendar has an address
//	@Description	404 without one. The address itself is not kept: make a new one if you have lost it.
//	@ID				getCalendar
//	@Tags			Me
//	@Produce		json
//	@Success		200	{object}	CalendarLink
//	@Success		304	"Not modified"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/calendar [get]
func (s *Server) getCalendar(c echo.Context) error {
	l, err := s.Calendars.Link(c.Request().Context(), actor(c))
	if err != nil {
		return err
	}
	return ok(c, 0, CalendarLink{CreatedAt: l.Created.UTC()})
}

// withdrawCalendar ends the address.
//
//	@Summary		Withdraw the address of your calendar
//	@Description	It shows nothing from now on. Withdrawing twice changes nothing.
//	@ID				withdrawCalendar
//	@Tags			Me
//	@Produce		json
//	@Success		204	"Withdrawn"
//	@Failure		400,401,403,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/calendar [delete]
func (s *Server) withdrawCalendar(c echo.Context) error {
	if err := s.Calendars.Withdraw(c.Request().Context(), actor(c)); err != nil {
		return err
	}
	return noContent(c)
}

const mimeCalendar = "text/calendar; charset=utf-8"

// readCalendar shows a calendar to whoever has its address.
//
//	@Summary		Read a calendar
//	@Description	For calendar apps (RFC 5545). Needs no sign-in: the secret address is enough. It has one all-day event for each week of the student's programmes, from the present one on, with the week's sessions in its description, one for each competition of the season that is not over, one for each lesson, and nobody's name. Too many wrong addresses have to wait.
//	@ID				readCalendar
//	@Tags			Me
//	@Produce		text/calendar
//	@Param			file			path		string	true	"The end of the address"	example(fwl_EXAMPLEONLY.ics)
//	@Param			If-None-Match	header		string	false	"The ETag you already have"
//	@Success		200				{string}	string	"A calendar"
//	@Success		304				"Not modified"
//	@Failure		400,404,429,500,503	{object}	Problem
//	@Router			/calendars/{file} [get]
func (s *Server) readCalendar(c echo.Context) error {
	if err := refuseQuery(c); err != nil {
		return err
	}
	in, digest, _ := auth.ReadLinkToken(strings.TrimSuffix(c.Param("file"), ".ics"))
	ctx := c.Request().Context()
	var shown academy.StudentCalendar
	err := s.Auth.ByLink(ctx, c.RealIP(), func() (err error) {
		shown, err = s.Calendars.Shown(ctx, in, digest)
		return err
	})
	if domain.KindOf(err) == domain.NotFound && err != nil {
		return domain.Errorf(domain.NotFound, "no_calendar", "This address shows no calendar any more. Make a new one in your settings.")
	}
	if err != nil {
		return err
	}
	body := []byte(s.calendarOf(c, shown).Serialize(ics.WithNewLineWindows))
	tag := entityTag(0, body)
	h := c.Response().Header()
	h.Set("ETag", tag)
	h.Set("X-Robots-Tag", "noindex")
	if matches(c.Request().Header.Get("If-None-Match"), tag) {
		return c.NoContent(http.StatusNotModified)
	}
	return c.Blob(http.StatusOK, mimeCalendar, body)
}

// calendarOf writes the weeks and the competitions as all-day events. A junior's says
// nothing in anybody's own words, since those may name somebody.
func (s *Server) calendarOf(c echo.Context, shown academy.StudentCalendar) *ics.Calendar {
	cal := ics.NewCalendarFor("Fringework")
	cal.SetProductId("-//Fringework//Calendar//EN")
	cal.SetMethod(ics.MethodPublish)
	cal.SetName("Short-game practice")
	cal.SetXWRCalName("Short-game practice")
	cal.SetRefreshInterval("PT12H")
	for _, w := range shown.Weeks {
		e := cal.AddEvent(fmt.Sprintf("%s-week-%d@fringework", w.Assignment, w.Number))
		e.SetDtStampTime(w.Changed.UTC())
		e.SetAllDayStartAt(w.First.Start(time.UTC))
		e.SetAllDayEndAt(w.First.AddDays(7).Start(time.UTC))
		e.SetTimeTransparency(ics.TransparencyTransparent)
		e.SetSummary(weekSummary(w, shown.Student.Junior))
		e.SetDescription(weekText(w, shown.Student.Junior))
		e.SetURL(s.publicURL(c) + "/green")
	}
	for _, x := range shown.Competitions {
		e := cal.AddEvent(fmt.Sprintf("%s-competition@fringework", x.ID))
		e.SetDtStampTime(shown.Changed.UTC())
		e.SetAllDayStartAt(x.Date.Start(time.UTC))
		e.SetAllDayEndAt(x.Date.AddDays(x.Days).Start(time.UTC))
		e.SetTimeTransparency(ics.TransparencyTransparent)
		e.SetSummary(competitionSummary(x, shown.Student.Junior))
		e.SetURL(s.publicURL(c) + "/green")
	}
	for _, l := range shown.Lessons {
		e := cal.AddEvent(string(l.ID) + "-lesson@fringework")
		e.SetDtStampTime(l.UpdatedAt.UTC())
		e.SetSequence(l.Revision - 1)
		e.SetStartAt(l.StartsAt.UTC())
		e.SetEndAt(l.StartsAt.Add(time.Duration(l.Minutes) * time.Minute).UTC())
		e.SetSummary("Lesson") // and not a word of what is in it
		e.SetURL(s.publicURL(c) + "/green#/lesson/" + string(l.ID))
	}
	return cal
}

func competitionSummary(x academy.Competition, junior bool) string {
	if junior {
		return "Competition"
	}
	return "Competition: " + x.Name
}

func weekSummary(w academy.CalendarWeek, junior bool) string {
	about := w.SkillName
	if w.Week.Title != "" && !junior {
		about = w.Week.Title
	}
	n := w.Week.Sessions()
	if n == 1 {
		return about + ": 1 session"
	}
	return fmt.Sprintf("%s: %d sessions", about, n)
}

// weekText tells the week's plans, a line each.
func weekText(w academy.CalendarWeek, junior bool) string {
	lines := []string{fmt.Sprintf("Week %d of %d.", w.Number, w.Weeks)}
	if !junior {
		lines[0] = fmt.Sprintf("Week %d of %d of %s.", w.Number, w.Weeks, w.Programme)
	}
	for i, p := range w.Week.Plans {
		name := p.Name
		if name == "" || junior {
			name = fmt.Sprintf("Session %d", i+1)
		}
		if p.Times > 1 {
			name = fmt.Sprintf("%d × %s", p.Times, name)
		}
		var parts []string
		minutes := p.BlockSeconds()
		for j, b := range p.Blocks {
			parts = append(parts, fmt.Sprintf("%s %d min", blockWords[b.Kind], minutes[j]/60))
		}
		lines = append(lines, fmt.Sprintf("%s, %d min: %s.", name, p.Minutes, strings.Join(parts, ", ")))
	}
	return strings.Join(lines, "\n")
}

// blockWords are what people call the kinds of block.
var blockWords = map[curriculum.BlockKind]string{
	curriculum.Warmup: "warm-up", curriculum.Technique: "technique", curriculum.Stations: "stations",
	curriculum.Random: "random practice", curriculum.Test: "test", curriculum.Playout: "played out",
}
