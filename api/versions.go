package api

import (
	"fmt"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
)

// VersionSummary is a published version without its content.
type VersionSummary struct {
	ProgrammeID domain.ID `json:"programme_id" binding:"required" format:"uuid"`
	Number      int       `json:"number" binding:"required" example:"1"`
	PublishedAt time.Time `json:"published_at" binding:"required" format:"date-time"`
	PublishedBy domain.ID `json:"published_by" binding:"required" format:"uuid"`
} // @name VersionSummary

// PublishedVersion is a version that was just published.
type PublishedVersion struct {
	Version
	// Warnings is what is worth changing in the next version, with pointers into
	// the content.
	Warnings []ProblemField `json:"warnings" binding:"required"`
} // @name PublishedVersion

// VersionList is every version of a programme, latest first.
type VersionList struct {
	Items []VersionSummary `json:"items" binding:"required"`
} // @name VersionList

// FrozenSkill is a skill as it was when a version was published.
type FrozenSkill struct {
	ID     domain.ID `json:"id" binding:"required" format:"uuid"`
	Name   string    `json:"name" binding:"required"`
	Kind   string    `json:"kind" binding:"required" extensions:"x-words=skill_kinds"`
	Text   string    `json:"text,omitempty"`
	Ladder Ladder    `json:"ladder" binding:"required"`
	// Drills are what the coach gave for new blocks.
	Drills []SkillDrill `json:"drills,omitempty"`
} // @name FrozenSkill

// Version is a published version of a programme. It never changes.
type Version struct {
	VersionSummary
	Content ProgrammeContent `json:"content" binding:"required"`
	// Skills are the skills it trains, as they were when it was published.
	Skills []FrozenSkill `json:"skills" binding:"required"`
} // @name Version

// Difference is one change between two versions.
type Difference struct {
	// Pointer is a JSON pointer into the later content, or into the earlier one if
	// the thing was removed.
	Pointer string `json:"pointer" binding:"required" example:"/weeks/1/plans/0/blocks/2/share"`
	// Week is the week it is in, from 1; 0 for what concerns the whole programme or
	// a skill. Differences come in the order of the programme, week by week.
	Week int `json:"week" binding:"required" example:"2"`
	// Place says where, in words.
	Place string `json:"place" binding:"required" example:"week 2, plan 1, block 3"`
	// What is the name of what changed.
	What string `json:"what" binding:"required" example:"share"`
	// Before and After are its values as text, lengths in the units that the asker
	// prefers (for software in both); absent where there was none.
	Before string `json:"before,omitempty" example:"20"`
	After  string `json:"after,omitempty" example:"35"`
} // @name Difference

// Differences is what changed from one version to another.
type Differences struct {
	// From is the earlier version.
	From int `json:"from" binding:"required" example:"1"`
	// To is the later version.
	To    int          `json:"to" binding:"required" example:"2"`
	Items []Difference `json:"items" binding:"required"`
} // @name Differences

func encodeVersionSummary(v curriculum.Version) VersionSummary {
	return VersionSummary{ProgrammeID: v.Programme, Number: v.Number, PublishedAt: v.PublishedAt.UTC(), PublishedBy: v.PublishedBy}
}

func encodeFrozenSkill(s curriculum.Skill) FrozenSkill {
	return FrozenSkill{ID: s.ID, Name: s.Name, Kind: string(s.Kind), Text: s.Text, Ladder: encodeLadder(s.Ladder), Drills: each(s.Drills, encodeSkillDrill)}
}

func encodeVersion(v curriculum.Version) Version {
	return Version{VersionSummary: encodeVersionSummary(v), Content: encodeContent(v.Content), Skills: each(v.Skills, encodeFrozenSkill)}
}

// publishProgramme freezes the draft as the next version.
//
//	@Summary		Publish the draft as the next version
//	@Description	If the draft breaks a rule, or nobody can pass a step of it, it stays a draft; each error names the week, plan and block and says how to correct it. Warnings do not keep it from being published.
//	@ID				publishProgramme
//	@Tags			Programmes
//	@Produce		json
//	@Param			programme_id	path		string	true	"The programme"	format(uuid)
//	@Param			If-Match		header		string	false	"The ETag of the programme to publish"
//	@Success		201				{object}	PublishedVersion
//	@Failure		400,401,403,404,409,412,422,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/programmes/{programme_id}/versions [post]
func (s *Server) publishProgramme(c echo.Context) error {
	id, err := pathID(c, "programme_id")
	if err != nil {
		return err
	}
	revision, err := ifMatch(c)
	if err != nil {
		return err
	}
	ctx := c.Request().Context()
	write, err := s.lengthWriter(c)
	if err != nil {
		return err
	}
	draft, _, err := s.Curriculum.Programme(ctx, actor(c), id, write)
	if err != nil {
		return err
	}
	// Before publishing, so that nothing can fail once it is done.
	outOfReach, err := s.Read.OutOfReach(ctx, actor(c), draft, write)
	if err != nil {
		return err
	}
	v, err := s.Curriculum.Publish(ctx, actor(c), id, revision)
	if err != nil {
		return err
	}
	return created(c, fmt.Sprintf("/v1/programmes/%s/versions/%d", id, v.Number), 0, PublishedVersion{Version: encodeVersion(v), Warnings: each(append(v.Warnings(write), outOfReach...), problemField)})
}

// listVersions lists a programme's versions.
//
//	@Summary	List a programme's versions, latest first
//	@ID			listVersions
//	@Tags		Programmes
//	@Produce	json
//	@Param		programme_id	path		string	true	"The programme"	format(uuid)
//	@Success	200				{object}	VersionList
//	@Success	304				"Not modified"
//	@Failure	400,401,403,404,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/programmes/{programme_id}/versions [get]
func (s *Server) listVersions(c echo.Context) error {
	id, err := pathID(c, "programme_id")
	if err != nil {
		return err
	}
	versions, err := s.Curriculum.Versions(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return ok(c, 0, VersionList{Items: each(versions, encodeVersionSummary)})
}

// getVersion reads one published version.
//
//	@Summary	Read a published version
//	@ID			getVersion
//	@Tags		Programmes
//	@Produce	json
//	@Param		programme_id	path		string	true	"The programme"	format(uuid)
//	@Param		number			path		int		true	"The version, from 1"
//	@Success	200				{object}	Version
//	@Success	304				"Not modified"
//	@Failure	400,401,403,404,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/programmes/{programme_id}/versions/{number} [get]
func (s *Server) getVersion(c echo.Context) error {
	id, err := pathID(c, "programme_id")
	if err != nil {
		return err
	}
	number, err := strconv.Atoi(c.Param("number"))
	if err != nil || number < 1 {
		return domain.ErrNotFound("version")
	}
	v, err := s.Curriculum.Version(c.Request().Context(), actor(c), id, number)
	if err != nil {
		return err
	}
	return ok(c, 0, encodeVersion(v))
}

// getDifferences reads what changed between two versions.
//
//	@Summary	Compare two versions
//	@ID			getDifferences
//	@Tags		Programmes
//	@Produce	json
//	@Param		programme_id	path		string	true	"The programme"	format(uuid)
//	@Param		from			query		int		true	"The earlier version"	minimum(1)
//	@Param		to				query		int		true	"The later version"		minimum(1)
//	@Success	200				{object}	Differences
//	@Success	304				"Not modified"
//	@Failure	400,401,403,404,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/programmes/{programme_id}/differences [get]
func (s *Server) getDifferences(c echo.Context) error {
	id, err := pathID(c, "programme_id")
	if err != nil {
		return err
	}
	q := newQuery(c)
	from, to := q.needRevision("from"), q.needRevision("to")
	if err := q.done(); err != nil {
		return err
	}
	write, err := s.lengthWriter(c)
	if err != nil {
		return err
	}
	changes, err := s.Curriculum.Differences(c.Request().Context(), actor(c), id, from, to, write)
	if err != nil {
		return err
	}
	return ok(c, 0, Differences{From: from, To: to, Items: each(changes, func(x curriculum.Change) Difference {
		return Difference{Pointer: x.Pointer, Week: x.Week(), Place: x.Place, What: x.What, Before: x.Before, After: x.After}
	})})
}

// lengthWriter writes lengths as the asker likes them; in both units for software.
func (s *Server) lengthWriter(c echo.Context) (func(domain.Length) string, error) {
	if actor(c).Software() {
		return domain.Length.String, nil
	}
	style, err := s.readerStyle(c, academy.Member{})
	return func(l domain.Length) string { return l.In(style.reader.Metric) }, err
}

// maxRevision bounds revisions and version numbers in queries.
const maxRevision = 1 << 30

// needRevision reads a revision or a version number, which must be there.
func (q *query) needRevision(name string) int {
	n := q.number(name, 1, maxRevision, 0)
	if n == 0 {
		q.fail(name, "is missing; give a whole number")
	}
	return n
}
