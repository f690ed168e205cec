package api

import (
	"slices"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/progress"
)

// DashboardRow is one student, in short.
type DashboardRow struct {
	Student StudentBrief `json:"student" binding:"required"`
	// JoinedAt is when the student joined.
	JoinedAt time.Time `json:"joined_at" binding:"required" format:"date-time"`
	// Sessions counts all that were logged.
	Sessions int        `json:"sessions" binding:"required" example:"21"`
	LastAt   *time.Time `json:"last_at,omitempty" format:"date-time"`
	// LastSession is the latest by when it was played; left out without one.
	LastSession *LastSession `json:"last_session,omitempty"`
	// Attention are the reasons to look at the student, most pressing first,
	// those silenced last.
	Attention   []Stall      `json:"attention" binding:"required"`
	Assignments []Adherence  `json:"assignments" binding:"required"`
	Skills      []SkillBrief `json:"skills" binding:"required"`
	// Milestones are those of the last four weeks, latest first.
	Milestones []Milestone `json:"milestones" binding:"required"`
	// Course is how often the student got up and down in the latest rounds on the
	// course, twenty at most; left out without a chance that is known.
	Course *UpAndDown `json:"course,omitempty"`
	// NewMessages counts the student's messages that you have not read.
	NewMessages int `json:"new_messages" binding:"required" example:"1"`
} // @name DashboardRow

// LastSession is a student's latest session, as far as it is known.
type LastSession struct {
	ID        domain.ID `json:"id" binding:"required" format:"uuid"`
	StartedAt time.Time `json:"started_at" binding:"required" format:"date-time"`
	// Seconds were practised so far.
	Seconds int `json:"seconds" binding:"required" example:"2700"`
} // @name LastSession

func encodeLastSession(h progress.Habit) *LastSession {
	if len(h.Recent) == 0 {
		return nil
	}
	last := h.Recent[len(h.Recent)-1]
	out := &LastSession{ID: last.Session, StartedAt: last.StartedAt.UTC()}
	for _, t := range last.Times {
		out.Seconds += t.Spent
	}
	return out
}

// Dashboard is every student whom the asker may see, those who need attention
// first.
type Dashboard struct {
	Items []DashboardRow `json:"items" binding:"required"`
} // @name Dashboard

func (e progressEncoder) row(s academy.StudentRow) DashboardRow {
	return DashboardRow{
		Student: encodeStudentBrief(s.Student), JoinedAt: s.Student.JoinedAt.UTC(), Sessions: s.Habit.Sessions, LastAt: instant(s.Habit.LastAt()),
		LastSession: encodeLastSession(s.Habit), Attention: e.attention(s), Assignments: each(s.Work, encodeAdherence), Skills: each(s.Skills, e.brief),
		Milestones: each(milestonesSince(s, e.newsFrom(s.Student.Zone())), encodeMilestone), Course: encodeCourseTally(s.Course),
		NewMessages: s.NewMessages,
	}
}

// recentDays is how many days a milestone is news, the day it was made left out.
const recentDays = 28

// newsFrom is when the first day began whose milestones are news.
func (e progressEncoder) newsFrom(zone *time.Location) time.Time {
	return domain.DateOf(e.now, zone).AddDays(-recentDays).Start(zone)
}

// milestonesSince gives the student's milestones of all skills from an instant
// on, latest first.
func milestonesSince(s academy.StudentRow, from time.Time) []progress.Milestone {
	var all []progress.Milestone
	for _, skill := range s.Skills {
		for _, m := range skill.Milestones {
			if !m.At.Before(from) {
				all = append(all, m)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b progress.Milestone) int { return b.At.Compare(a.At) })
	return all
}

// getDashboard reads all students at once.
//
//	@Summary		The coach's dashboard
//	@Description	All the students whom the asker may see, in one answer: by the most pressing reason that is not silenced, then by how many, then by how long they have not been seen. Read one student's progress for the rest.
//	@ID				getDashboard
//	@Tags			Students
//	@Produce		json
//	@Param			group_id		query		string	false	"Students of this group"	format(uuid)
//	@Param			programme_id	query		string	false	"Students with an assignment of this programme"	format(uuid)
//	@Param			reason			query		string	false	"Students with this reason"	Extensions(x-words=reasons)
//	@Param			If-None-Match	header		string	false	"The entity tag you have"
//	@Success		200				{object}	Dashboard
//	@Success		304				"Not modified"
//	@Failure		400,401,403,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/dashboard [get]
func (s *Server) getDashboard(c echo.Context) error {
	q := newQuery(c)
	f := academy.DashboardFilter{
		Group: q.id("group_id"), Programme: q.id("programme_id"),
		Reason: advice.Reason(q.word("reason", words(advice.Reasons())...)),
	}
	if err := q.done(); err != nil {
		return err
	}
	if done, err := s.fresh(c, ""); done || err != nil {
		return err
	}
	encoder, err := s.readerStyle(c, academy.Member{})
	if err != nil {
		return err
	}
	rows, err := s.Read.Dashboard(c.Request().Context(), actor(c), f)
	if err != nil {
		return err
	}
	return okFresh(c, Dashboard{Items: each(rows, encoder.row)})
}
