package api

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/progress"
)

// ReportLinkRequest shares a student's report.
type ReportLinkRequest struct {
	// Days is how long the link shows the report.
	Days int `json:"days" validate:"required" minimum:"1" maximum:"90" example:"14"`
	// Words are your own, shown at the top.
	Words string `json:"words,omitempty" maxLength:"2000" example:"A good spring: the pitch has come on."`
} // @name ReportLinkRequest

// ReportLink shows a student's report to whoever has it.
type ReportLink struct {
	ID        domain.ID `json:"id" binding:"required" format:"uuid"`
	State     string    `json:"state" binding:"required" enums:"open,withdrawn,expired" example:"open"`
	Words     string    `json:"words,omitempty"`
	CreatedBy domain.ID `json:"created_by" binding:"required" format:"uuid"`
	CreatedAt time.Time `json:"created_at" binding:"required" format:"date-time"`
	ExpiresAt time.Time `json:"expires_at" binding:"required" format:"date-time"`
	// WithdrawnAt is when a coach withdrew it.
	WithdrawnAt *time.Time `json:"withdrawn_at,omitempty" format:"date-time"`
} // @name ReportLink

// ReportLinkCreated is a new link. Its address is shown only this once.
type ReportLinkCreated struct {
	ReportLink
	// Link opens the report. The token is in its fragment, which browsers do not
	// send to the server.
	Link string `json:"link" binding:"required" format:"uri" example:"https://fringework.example/report#fwl_EXAMPLEONLY"`
} // @name ReportLinkCreated

// ReportLinkList is the links to a student's report, the latest first.
type ReportLinkList struct {
	Items []ReportLink `json:"items" binding:"required"`
} // @name ReportLinkList

// ReportTokenRequest is the token of a link, from its fragment.
type ReportTokenRequest struct {
	// Token is the last part of the report's link.
	Token string `json:"token" validate:"required" maxLength:"200" example:"fwl_EXAMPLEONLY"`
} // @name ReportTokenRequest

// SharedReport is what a link shows: what was achieved and what comes next, with
// the first name alone. A junior's has no days.
type SharedReport struct {
	AcademyName string `json:"academy_name" binding:"required" example:"Links End Short Game"`
	// FirstName is the student's first name.
	FirstName string `json:"first_name" binding:"required" example:"Edda"`
	Junior    bool   `json:"junior" binding:"required"`
	// SharedBy is who made the link, Words are theirs.
	SharedBy string `json:"shared_by" binding:"required" example:"Ruben Ashgrove"`
	Words    string `json:"words,omitempty"`
	// Units is how the student prefers lengths.
	Units    string            `json:"units" binding:"required" enums:"feet,metres" example:"feet"`
	Sessions int               `json:"sessions" binding:"required" example:"18"`
	Passed   []SharedMilestone `json:"passed" binding:"required"`
	Skills   []SharedSkill     `json:"skills" binding:"required"`
	Work     []SharedWork      `json:"work" binding:"required"`
	// Course is play on the course; left out without a round.
	Course    *SharedCourse `json:"course,omitempty"`
	ExpiresAt time.Time     `json:"expires_at" binding:"required" format:"date-time"`
} // @name SharedReport

// SharedCourse is play around the green on the course.
type SharedCourse struct {
	UpAndDown     UpAndDown     `json:"up_and_down" binding:"required"`
	Recent        CourseChange  `json:"recent" binding:"required"`
	Baseline      string        `json:"baseline" binding:"required"`
	StrokesGained StrokesGained `json:"strokes_gained" binding:"required"`
} // @name SharedCourse

// SharedMilestone is a step that was passed, the latest first.
type SharedMilestone struct {
	SkillName string `json:"skill_name" binding:"required" example:"Pitch"`
	Tier      Tier   `json:"tier" binding:"required"`
	// On is the day; absent for a junior.
	On string `json:"on,omitempty" format:"date" example:"2026-05-04"`
} // @name SharedMilestone

// SharedSkill is where the student stands at a skill.
type SharedSkill struct {
	Name string `json:"name" binding:"required" example:"Pitch"`
	// Tiers are the steps of the ladder; Held of them are passed.
	Tiers []Tier `json:"tiers" binding:"required"`
	Held  int    `json:"held" binding:"required" example:"2"`
	// Rate is absent without balls to go by.
	Rate *Rate `json:"rate,omitempty"`
	// Change is from the first test to the end test; absent without both.
	Change *TestChange `json:"change,omitempty"`
} // @name SharedSkill

// SharedWork is a programme that is under way or to come.
type SharedWork struct {
	ProgrammeName string   `json:"programme_name" binding:"required" example:"Six weeks around the green"`
	Weeks         int      `json:"weeks" binding:"required" example:"6"`
	Position      Position `json:"position" binding:"required"`
	// Done is how many sessions of the programme were done.
	Done int `json:"done" binding:"required" example:"5"`
	// ThisWeek and NextWeek are what they are about: title and skill.
	ThisWeek *SharedWeek `json:"this_week,omitempty"`
	NextWeek *SharedWeek `json:"next_week,omitempty"`
} // @name SharedWork

// SharedWeek is a week of a programme in short.
type SharedWeek struct {
	Title     string `json:"title,omitempty" example:"Pitching from the fairway"`
	SkillName string `json:"skill_name" binding:"required" example:"Pitch"`
	Sessions  int    `json:"sessions" binding:"required" example:"3"`
} // @name SharedWeek

func (s *Server) encodeReportLink(l academy.ReportLink) ReportLink {
	state := "open"
	switch {
	case !l.Ended.IsZero():
		state = "withdrawn"
	case !l.Open(s.Now()):
		state = "expired"
	}
	return ReportLink{
		ID: l.ID, State: state, Words: l.Words, CreatedBy: l.By, CreatedAt: l.Created.UTC(), ExpiresAt: l.Expires.UTC(), WithdrawnAt: instant(l.Ended),
	}
}

// createReportLink shares a student's report.
//
//	@Summary		Share a student's report by a link
//	@Description	Whoever has the link reads the first name, the steps passed and what comes next, as they are when it is opened, until it expires or is withdrawn. A junior's report needs the guardian's consent. The link is shown only this once.
//	@ID				createReportLink
//	@Tags			Reports
//	@Accept			json
//	@Produce		json
//	@Param			student_id	path		string				true	"The student"	format(uuid)
//	@Param			link		body		ReportLinkRequest	true	"For how long, and your own words"
//	@Success		201			{object}	ReportLinkCreated
//	@Failure		400,401,403,404,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/report-links [post]
func (s *Server) createReportLink(c echo.Context) error {
	id, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	var r ReportLinkRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	token, digest, err := auth.NewLinkToken(actor(c).Academy)
	if err != nil {
		return err
	}
	l, err := s.Reports.Share(c.Request().Context(), actor(c), id, r.Days, r.Words, digest)
	if err != nil {
		return err
	}
	noStore(c)
	return created(c, "/v1/students/"+string(id)+"/report-links", 0, ReportLinkCreated{
		ReportLink: s.encodeReportLink(l), Link: s.publicURL(c) + "/report#" + token,
	})
}

// listReportLinks lists the links to a student's report.
//
//	@Summary	List the links to a student's report
//	@ID			listReportLinks
//	@Tags		Reports
//	@Produce	json
//	@Param		student_id	path		string	true	"The student"	format(uuid)
//	@Success	200			{object}	ReportLinkList
//	@Success	304			"Not modified"
//	@Failure	400,401,403,404,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/students/{student_id}/report-links [get]
func (s *Server) listReportLinks(c echo.Context) error {
	id, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	all, err := s.Reports.Links(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return ok(c, 0, ReportLinkList{Items: each(all, s.encodeReportLink)})
}

// withdrawReportLink ends a link.
//
//	@Summary		Withdraw a link to a student's report
//	@Description	It shows nothing from now on. Withdrawing twice changes nothing.
//	@ID				withdrawReportLink
//	@Tags			Reports
//	@Produce		json
//	@Param			student_id	path	string	true	"The student"	format(uuid)
//	@Param			link_id		path	string	true	"The link"		format(uuid)
//	@Success		204			"Withdrawn"
//	@Failure		400,401,403,404,409,413,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/report-links/{link_id} [delete]
func (s *Server) withdrawReportLink(c echo.Context) error {
	id, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	link, err := pathID(c, "link_id")
	if err != nil {
		return err
	}
	if err := s.Reports.Withdraw(c.Request().Context(), actor(c), id, link); err != nil {
		return err
	}
	return noContent(c)
}

// readSharedReport shows what a link shows.
//
//	@Summary		Read a shared report
//	@Description	Needs no sign-in: the token from the link's fragment is enough. It is sent in the body, so that no log keeps it. Too many wrong tokens have to wait.
//	@ID				readSharedReport
//	@Tags			Reports
//	@Accept			json
//	@Produce		json
//	@Param			token	body		ReportTokenRequest	true	"The token"
//	@Success		200		{object}	SharedReport
//	@Failure		400,404,413,415,429,500,503	{object}	Problem
//	@Router			/v1/shared-reports [post]
func (s *Server) readSharedReport(c echo.Context) error {
	var r ReportTokenRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	in, digest, _ := auth.ReadLinkToken(r.Token)
	ctx := c.Request().Context()
	var report academy.SharedReport
	err := s.Auth.ByLink(ctx, c.RealIP(), func() (err error) {
		report, err = s.Reports.Shared(ctx, in, digest)
		return err
	})
	if err != nil {
		return err
	}
	noStore(c)
	c.Response().Header().Set("X-Robots-Tag", "noindex")
	return writeJSON(c, http.StatusOK, encodeSharedReport(report))
}

func encodeSharedReport(r academy.SharedReport) SharedReport {
	m := r.Row.Student
	first, _, _ := strings.Cut(strings.TrimSpace(m.Name), " ")
	out := SharedReport{
		AcademyName: r.Academy.Name, FirstName: first, Junior: m.Junior, SharedBy: r.By, Words: r.Link.Words, Units: string(m.Units),
		Sessions: r.Row.Habit.Sessions, Passed: []SharedMilestone{}, Skills: []SharedSkill{}, ExpiresAt: r.Link.Expires.UTC(),
		Work: each(r.Work, encodeSharedWork),
	}
	if len(r.Course.Rounds) > 0 {
		c := encodeCourseReport(r.Course)
		out.Course = &SharedCourse{UpAndDown: c.UpAndDown, Recent: c.Recent, Baseline: c.Baseline, StrokesGained: c.StrokesGained}
	}
	var passed []progress.Milestone
	names := map[domain.ID]string{}
	for _, sk := range r.Row.Skills {
		names[sk.Skill.ID] = sk.Skill.Name
		passed = append(passed, sk.Milestones...)
		skill := SharedSkill{Name: sk.Skill.Name, Tiers: each(sk.State.Ladder.Tiers, encodeTier), Held: sk.State.Held}
		if focus, ok := sk.State.Focus(); ok {
			skill.Rate = encodeRate(sk.State.Assessment.Rate, focus.Radius, sk.State.Recent)
		}
		if first, end, change, both := sk.State.Change(); both {
			if m.Junior {
				first.Day, end.Day = domain.Date{}, domain.Date{}
			}
			told := encodeChange(inUnitsOf(m), first, end, change)
			skill.Change = &told
		}
		out.Skills = append(out.Skills, skill)
	}
	slices.SortStableFunc(passed, func(a, b progress.Milestone) int { return b.At.Compare(a.At) })
	for _, p := range passed {
		one := SharedMilestone{SkillName: names[p.Skill], Tier: encodeTier(p.Tier)}
		if !m.Junior {
			one.On = domain.DateOf(p.At, m.Zone()).String()
		}
		out.Passed = append(out.Passed, one)
	}
	return out
}

func encodeSharedWork(w academy.Work) SharedWork {
	week := func(number int) *SharedWeek {
		if number < 1 || number > len(w.Weeks) {
			return nil
		}
		of := w.Weeks[number-1]
		skill, _ := w.Version.SkillByID(of.Skill)
		return &SharedWeek{Title: of.Title, SkillName: skill.Name, Sessions: of.Sessions()}
	}
	return SharedWork{
		ProgrammeName: w.Version.Content.Name, Weeks: len(w.Weeks), Position: encodePosition(w.Position, w.Assignment.Start), Done: w.Assignment.Sessions,
		ThisWeek: week(w.Position.Week), NextWeek: week(w.Position.Week + 1),
	}
}
