package api

import (
	"context"
	"fmt"
	"html/template"
	"maps"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/course"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// guardianChange is a use case on a student and a guardian.
type guardianChange func(ctx context.Context, a domain.Actor, student, guardian domain.ID) error

// AccountDeletion confirms that an account is to be deleted.
type AccountDeletion struct {
	Password string `json:"password" validate:"required" format:"password" maxLength:"128" example:"seventeen brass kettles"`
} // @name AccountDeletion

// LeaveRequest confirms which academy you leave.
type LeaveRequest struct {
	// AcademyID is that of your access token.
	AcademyID domain.ID `json:"academy_id" validate:"required" format:"uuid"`
} // @name LeaveRequest

// Practised is how much an academy's students practised a skill, ever.
type Practised struct {
	SkillID domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	// Students practised it; Erased of them were erased, and nothing else is left of
	// them.
	Students int `json:"students" binding:"required" example:"24"`
	Erased   int `json:"erased" binding:"required" example:"2"`
	Sessions int `json:"sessions" binding:"required" example:"310"`
	// Balls are those logged one by one; Inside of them came to rest inside the circle
	// or were holed, Holed were holed.
	Balls   int `json:"balls" binding:"required" example:"18400"`
	Inside  int `json:"inside" binding:"required" example:"9100"`
	Holed   int `json:"holed" binding:"required" example:"730"`
	Seconds int `json:"seconds" binding:"required" example:"540000"`
} // @name Practised

// PractisedList is how much an academy's students practised, by skill.
type PractisedList struct {
	Items []Practised `json:"items" binding:"required"`
} // @name PractisedList

// Export is all that is held on the person who asks.
type Export struct {
	// ExportedAt is when it was written.
	ExportedAt time.Time `json:"exported_at" binding:"required" format:"date-time"`
	Account    Account   `json:"account" binding:"required"`
	// SignIns are the devices that were signed in.
	SignIns []map[string]any `json:"sign_ins" binding:"required"`
	// Academies are those that the account belongs to or has left.
	Academies []ExportedAcademy `json:"academies" binding:"required"`
} // @name Export

// ExportedAcademy is all that an academy holds on one member.
type ExportedAcademy struct {
	Name   string `json:"name" binding:"required" example:"Links End Short Game"`
	Member Member `json:"member" binding:"required"`
	// Sessions are complete, deleted ones included; Comments are those under them.
	Sessions []Session       `json:"sessions" binding:"required"`
	Comments []Comment       `json:"comments" binding:"required"`
	Rounds   []Round         `json:"rounds" binding:"required"`
	Skills   []ExportedSkill `json:"skills" binding:"required"`
	// Records are the rest, as they are kept: lengths in them are tenths of a
	// millimetre.
	Records []ExportedRecords `json:"records" binding:"required"`
} // @name ExportedAcademy

// ExportedSkill is what was worked out of your sessions at a skill.
type ExportedSkill struct {
	SkillID    domain.ID   `json:"skill_id" binding:"required" format:"uuid"`
	Total      Tally       `json:"total" binding:"required"`
	Milestones []Milestone `json:"milestones" binding:"required"`
} // @name ExportedSkill

// ExportedRecords are entries of one kind.
type ExportedRecords struct {
	// Kind says what they are.
	Kind string `json:"kind" binding:"required" example:"messages"`
	// Items are the entries, by the names of what is kept.
	Items []map[string]any `json:"items" binding:"required"`
} // @name ExportedRecords

// leaveAcademy takes the asker out of the academy.
//
//	@Summary		Leave the academy
//	@Description	You leave the academy of your access token at once. What you did is kept there until an owner erases it, or the academy's own period is over; to have it erased now, ask an owner, or delete your account. The only owner cannot leave: make somebody else an owner first.
//	@ID				leaveAcademy
//	@Tags			Me
//	@Accept			json
//	@Produce		json
//	@Param			confirmation	body	LeaveRequest	true	"The academy"
//	@Success		204				"You have left"
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/leave [post]
func (s *Server) leaveAcademy(c echo.Context) error {
	var r LeaveRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	if r.AcademyID != actor(c).Academy {
		var p domain.Problems
		p.Add("/academy_id", "is not the academy that you are signed in to; move there first")
		return p.Err("academy_other", "You have not left.")
	}
	if err := s.Rights.Leave(c.Request().Context(), actor(c)); err != nil {
		return err
	}
	return noContent(c)
}

// deleteAccount deletes the asker's account.
//
//	@Summary		Delete your account
//	@Description	Your account, and all that its academies hold on you, is erased at once and for good; they keep how much was practised, without you. Export first what you want to keep. Where you are the only owner, make somebody else an owner first.
//	@ID				deleteAccount
//	@Tags			Me
//	@Accept			json
//	@Produce		json
//	@Param			confirmation	body	AccountDeletion	true	"Your password"
//	@Success		204				"Deleted"
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/deletion [post]
func (s *Server) deleteAccount(c echo.Context) error {
	var r AccountDeletion
	if err := decode(c, &r); err != nil {
		return err
	}
	if err := s.Auth.DeleteAccount(c.Request().Context(), identity(c), r.Password, c.RealIP()); err != nil {
		return err
	}
	return noContent(c)
}

// eraseMember erases somebody who was removed.
//
//	@Summary		Erase a member who was removed
//	@Description	Everything about the member goes: the name, sessions, rounds, messages, comments, and the details of events. The academy keeps how much was practised, without the member; what they wrote into programmes and students' plans stays without their name. It cannot be undone. The event member.erased tells by a SHA-256 whose copies are to be erased elsewhere.
//	@ID				eraseMember
//	@Tags			Members
//	@Produce		json
//	@Param			member_id	path	string	true	"The member"	format(uuid)
//	@Success		204			"Erased"
//	@Failure		400,401,403,404,409,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/members/{member_id}/erase [post]
func (s *Server) eraseMember(c echo.Context) error {
	id, err := pathID(c, "member_id")
	if err != nil {
		return err
	}
	if err := s.Rights.Erase(c.Request().Context(), actor(c), id); err != nil {
		return err
	}
	return noContent(c)
}

// getPractised counts all practice.
//
//	@Summary		Count all practice of the academy
//	@Description	By skill, over all time, students who left or were erased included.
//	@ID				getPractised
//	@Tags			Academy
//	@Produce		json
//	@Success		200	{object}	PractisedList
//	@Success		304	"Not modified"
//	@Failure		400,401,403,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/academy/practised [get]
func (s *Server) getPractised(c echo.Context) error {
	all, err := s.Rights.Practised(c.Request().Context(), actor(c))
	if err != nil {
		return err
	}
	return ok(c, 0, PractisedList{Items: each(all, func(p academy.Practised) Practised {
		return Practised{
			SkillID: p.Skill, Students: p.Students, Erased: p.Erased, Sessions: p.Sessions,
			Balls: p.Balls, Inside: p.Inside, Holed: p.Holed, Seconds: p.Seconds,
		}
	})})
}

// export gathers all that is held on the asker.
func (s *Server) export(c echo.Context) (out Export, err error) {
	ctx, id := c.Request().Context(), identity(c)
	account, _, err := s.Auth.Me(ctx, id.Account)
	if err != nil {
		return out, err
	}
	out = Export{ExportedAt: s.Now().UTC(), Account: encodeAccount(account), Academies: []ExportedAcademy{}}
	if out.SignIns, err = s.SignIns(ctx, id.Account); err != nil {
		return out, err
	}
	in, err := s.Auth.Everywhere(ctx, id.Account)
	if err != nil {
		return out, err
	}
	for _, m := range in {
		d, err := s.Dossier(ctx, m.Academy, m.Member)
		if err != nil {
			return out, err
		}
		out.Academies = append(out.Academies, s.encodeDossier(d))
	}
	return out, nil
}

func (s *Server) encodeDossier(d practice.Dossier) ExportedAcademy {
	return ExportedAcademy{
		Name: d.Academy.Name, Member: encodeMember(d.Member),
		Sessions: each(d.Sessions, encodeSession), Comments: each(d.Comments, encodeComment),
		Rounds: each(d.Rounds, func(r course.Round) Round {
			return s.encodeRound(academy.RoundResult{Round: r, Tally: course.TallyOf(r), Gained: s.Rounds.Baseline.Of(r)})
		}),
		Skills: each(d.States, func(st progress.State) ExportedSkill {
			return ExportedSkill{SkillID: st.Skill, Total: encodeTally(st.Totals), Milestones: each(st.Milestones(), encodeMilestone)}
		}),
		Records: each(d.Records, func(r practice.Record) ExportedRecords { return ExportedRecords{Kind: r.Kind, Items: r.Rows} }),
	}
}

// exportMe hands out all that is held on the asker.
//
//	@Summary		Download all that is held on you
//	@Description	One JSON document over all your academies, those you have left included. Words that others wrote about you are in it; what would sign somebody in is not.
//	@ID				exportMe
//	@Tags			Me
//	@Produce		json
//	@Success		200	{object}	Export
//	@Failure		400,401,403,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/export [get]
func (s *Server) exportMe(c echo.Context) error {
	if err := refuseQuery(c); err != nil {
		return err
	}
	out, err := s.export(c)
	if err != nil {
		return err
	}
	noStore(c)
	c.Response().Header().Set(echo.HeaderContentDisposition, `attachment; filename="fringework.json"`)
	return ok(c, 0, out)
}

// exportMePage is the same to read.
//
//	@Summary		Read all that is held on you
//	@Description	The same as the JSON document, as one page to read or print.
//	@ID				exportMePage
//	@Tags			Me
//	@Produce		html
//	@Success		200	{string}	string	"A page"
//	@Failure		400,401,403,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/export/page [get]
func (s *Server) exportMePage(c echo.Context) error {
	if err := refuseQuery(c); err != nil {
		return err
	}
	out, err := s.export(c)
	if err != nil {
		return err
	}
	var page strings.Builder
	if err := exportPage.Execute(&page, out); err != nil {
		return err
	}
	noStore(c)
	c.Response().Header().Set(echo.HeaderContentDisposition, `attachment; filename="fringework.html"`)
	return c.HTML(http.StatusOK, page.String())
}

// plainText writes a value of a record for people: members by name, lists one after the
// other.
func plainText(v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case bool:
		if v {
			return "yes"
		}
		return "no"
	case map[string]any:
		var parts []string
		for _, name := range slices.Sorted(maps.Keys(v)) {
			if text := plainText(v[name]); text != "" {
				parts = append(parts, strings.ReplaceAll(name, "_", " ")+": "+text)
			}
		}
		return strings.Join(parts, ", ")
	case []any:
		var parts []string
		for _, x := range v {
			parts = append(parts, plainText(x))
		}
		return strings.Join(parts, "; ")
	}
	return fmt.Sprint(v)
}

// exportPage escapes everything that people wrote.
var exportPage = template.Must(template.New("export").Funcs(template.FuncMap{
	"heading": func(kind string) string {
		text := strings.ReplaceAll(kind, "_", " ")
		return strings.ToUpper(text[:1]) + text[1:]
	},
	"names": func(rows []map[string]any) (names []string) {
		for _, r := range rows {
			for name := range r {
				if !slices.Contains(names, name) {
					names = append(names, name)
				}
			}
		}
		slices.Sort(names)
		return names
	},
	"text": plainText,
	"day":  func(t time.Time) string { return t.Format("2 January 2006, 15:04 MST") },
}).Parse(`<!doctype html>
<html lang="en">
<head><meta charset="utf-8"><title>What is held on {{.Account.Name}}</title></head>
<body>
<h1>What is held on {{.Account.Name}}</h1>
<p>Written on {{day .ExportedAt}}. The JSON download has every ball as well.</p>
<h2>Account</h2>
<p>{{.Account.Name}}, {{.Account.Email}}, since {{day .Account.CreatedAt}}.</p>
{{template "rows" .SignIns}}
{{range .Academies}}
<h2>{{.Name}}</h2>
<p>{{.Member.Name}}, {{.Member.Role}}, since {{day .Member.JoinedAt}}{{if .Member.RemovedAt}}, left {{day .Member.RemovedAt}}{{end}}. Time zone {{.Member.TimeZone}}.{{if .Member.Junior}} A junior.{{end}}</p>
{{if .Sessions}}<h3>Sessions</h3>
<table border="1"><tr><th>Started</th><th>Blocks</th><th>Balls</th><th>Note</th></tr>
{{range .Sessions}}<tr><td>{{day .StartedAt}}</td><td>{{len .Blocks}}</td><td>{{range .Blocks}}{{len .Balls}} {{end}}</td><td>{{.Note}}</td></tr>
{{end}}</table>{{end}}
{{if .Comments}}<h3>Comments</h3>
{{range .Comments}}<p>{{day .CreatedAt}}: {{.Text}}</p>
{{end}}{{end}}
{{if .Rounds}}<h3>Rounds</h3>
<table border="1"><tr><th>Started</th><th>Course</th><th>Shots</th><th>Note</th></tr>
{{range .Rounds}}<tr><td>{{day .StartedAt}}</td><td>{{.Course}}</td><td>{{len .Shots}}</td><td>{{.Note}}</td></tr>
{{end}}</table>{{end}}
{{if .Skills}}<h3>Skills</h3>
<table border="1"><tr><th>Skill</th><th>Sessions</th><th>Balls</th><th>Inside</th><th>Holed</th><th>Steps passed</th></tr>
{{range .Skills}}<tr><td>{{.SkillID}}</td><td>{{.Total.Sessions}}</td><td>{{.Total.Balls}}</td><td>{{.Total.Inside}}</td><td>{{.Total.Holed}}</td><td>{{len .Milestones}}</td></tr>
{{end}}</table>{{end}}
{{range .Records}}<h3>{{heading .Kind}}</h3>
{{template "rows" .Items}}
{{end}}{{end}}
</body></html>
{{define "rows"}}{{if .}}{{$names := names .}}<table border="1"><tr>{{range $names}}<th>{{heading .}}</th>{{end}}</tr>
{{range $row := .}}<tr>{{range $names}}<td>{{text (index $row .)}}</td>{{end}}</tr>
{{end}}</table>{{end}}{{end}}
`))
