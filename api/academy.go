package api

import (
	"math"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
)

// Academy is a golf academy: its people, programmes and practice.
type Academy struct {
	ID   domain.ID `json:"id" binding:"required" format:"uuid"`
	Name string    `json:"name" binding:"required" example:"Links End Short Game"`
	// TimeZone is an IANA name; new members start with it.
	TimeZone string `json:"time_zone" binding:"required" example:"Europe/Lisbon"`
	// Challenge is the share of success that practice is set to: of the balls in the
	// circle that is played to, and of the sessions in which a step is passed. Next
	// week is proposed by it.
	Challenge float64 `json:"challenge" binding:"required" minimum:"0.5" maximum:"0.9" example:"0.7"`
	// EraseRemovedDays is how many days after they left members are erased, and
	// ForgetEventsDays after how many days events lose who and what, so that number,
	// time and kind stay; 0 for never.
	EraseRemovedDays int       `json:"erase_removed_days" binding:"required" minimum:"0" maximum:"3650" example:"365"`
	ForgetEventsDays int       `json:"forget_events_days" binding:"required" minimum:"0" maximum:"3650" example:"730"`
	CreatedAt        time.Time `json:"created_at" binding:"required" format:"date-time"`
} // @name Academy

// AcademyPatch is a JSON Merge Patch of the academy.
type AcademyPatch struct {
	Name     patched[string] `json:"name" swaggertype:"string" minLength:"1" maxLength:"120" example:"Links End Short Game"`
	TimeZone patched[string] `json:"time_zone" swaggertype:"string" example:"Europe/Lisbon"`
	// Challenge is kept in whole per cent.
	Challenge patched[float64] `json:"challenge" swaggertype:"number" minimum:"0.5" maximum:"0.9" example:"0.7"`
	// EraseRemovedDays and ForgetEventsDays are 30 to 3650, or 0 for never. What is
	// erased does not come back.
	EraseRemovedDays patched[int] `json:"erase_removed_days" swaggertype:"integer" minimum:"0" maximum:"3650" example:"365"`
	ForgetEventsDays patched[int] `json:"forget_events_days" swaggertype:"integer" minimum:"0" maximum:"3650" example:"730"`
} // @name AcademyPatch

func encodeAcademy(a academy.Academy) Academy {
	return Academy{
		ID: a.ID, Name: a.Name, TimeZone: a.TimeZone, Challenge: float64(a.Challenge) / 100,
		EraseRemovedDays: a.EraseRemoved, ForgetEventsDays: a.ForgetEvents, CreatedAt: a.CreatedAt.UTC(),
	}
}

// getAcademy reads the asker's academy.
//
//	@Summary	Read your academy
//	@ID			getAcademy
//	@Tags		Academy
//	@Produce	json
//	@Param		If-None-Match	header		string	false	"The ETag you already have"
//	@Success	200				{object}	Academy
//	@Success	304				"Not modified"
//	@Failure	400,401,403,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/academy [get]
func (s *Server) getAcademy(c echo.Context) error {
	a, err := s.Academy.Academy(c.Request().Context(), actor(c))
	if err != nil {
		return err
	}
	return ok(c, 0, encodeAcademy(a))
}

// patchAcademy changes the academy's name and settings.
//
//	@Summary		Change your academy's name or settings
//	@Description	Send a JSON Merge Patch (RFC 7396). Members who join later start with this time zone; next week is proposed by the challenge.
//	@ID				patchAcademy
//	@Tags			Academy
//	@Accept			json,application/merge-patch+json
//	@Produce		json
//	@Param			If-Match	header		string			false	"The ETag of the version you are changing"
//	@Param			patch		body		AcademyPatch	true	"What changes"
//	@Success		200			{object}	Academy
//	@Failure		400,401,403,409,412,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/academy [patch]
func (s *Server) patchAcademy(c echo.Context) error {
	var r AcademyPatch
	if err := decodePatch(c, &r); err != nil {
		return err
	}
	var p domain.Problems
	change := academy.SettingsChange{Name: r.Name.read(&p, "/name"), TimeZone: r.TimeZone.read(&p, "/time_zone")}
	change.EraseRemoved, change.ForgetEvents = r.EraseRemovedDays.read(&p, "/erase_removed_days"), r.ForgetEventsDays.read(&p, "/forget_events_days")
	if share := r.Challenge.read(&p, "/challenge"); share != nil {
		change.Challenge = new(int(math.Round(100 * *share)))
	}
	if err := p.Err("academy_invalid", "The academy was not changed."); err != nil {
		return err
	}
	ctx := c.Request().Context()
	a, err := s.Academy.Academy(ctx, actor(c))
	if err != nil {
		return err
	}
	if err := unchanged(c, encodeAcademy(a)); err != nil {
		return err
	}
	if a, err = s.Academy.ChangeAcademy(ctx, actor(c), change); err != nil {
		return err
	}
	return ok(c, 0, encodeAcademy(a))
}
