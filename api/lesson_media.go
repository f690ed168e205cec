package api

import (
	"fmt"
	"io"
	"mime"
	"net/http"
	"slices"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/api/media"
	"fringework/domain"
	"fringework/domain/academy"
)

// mediaPath is where a lesson's photos and clips are, as the router sees it.
const mediaPath = lessonPath + "/media"

// mediaLimit is how many bytes of a photo or a clip are taken.
const mediaLimit = academy.MaxMedia

// LessonMedia is a photo or a clip of a lesson.
type LessonMedia struct {
	ID domain.ID `json:"id" binding:"required" format:"uuid"`
	// Type is its media type. A photo is JPEG, whatever it came as.
	Type string `json:"type" binding:"required" enums:"image/jpeg,video/mp4,video/webm" example:"image/jpeg"`
	// Size is in bytes.
	Size int `json:"size" binding:"required" example:"348211"`
	// KeepUntil is the last day on which it is kept, in the student's time zone.
	KeepUntil string `json:"keep_until" binding:"required" format:"date" example:"2026-06-12"`
	// AddedAt is when it was sent.
	AddedAt time.Time `json:"added_at" binding:"required" format:"date-time"`
} // @name LessonMedia

// MediaUse is how much an academy's photos and clips take.
type MediaUse struct {
	// Count is how many there are.
	Count int `json:"count" binding:"required" example:"31"`
	// Bytes is what they take, LimitBytes what they may.
	Bytes      int64 `json:"bytes" binding:"required" example:"68157440"`
	LimitBytes int64 `json:"limit_bytes" binding:"required" example:"1073741824"`
} // @name MediaUse

func encodeLessonMedia(m academy.Media) LessonMedia {
	return LessonMedia{ID: m.ID, Type: m.Type, Size: m.Size, KeepUntil: m.KeepUntil.String(), AddedAt: m.AddedAt.UTC()}
}

// mediaSent are the media types that may be sent; what it is, the content tells.
var mediaSent = []string{"image/jpeg", "image/png", "video/mp4", "video/webm", "video/quicktime", "application/octet-stream"}

// addLessonMedia keeps a photo or a clip.
//
//	@Summary		Keep a photo or a clip with a lesson
//	@Description	For coaches and owners: a photo (JPEG or PNG, at most 25 megapixels) or a clip (MP4 or WebM, at most 20 seconds), of at most 8 MB, kept for as many days as you agreed with the student, and then deleted. Its content decides what it is, not its name. A photo is written anew without where it was taken; descriptions are taken out of a clip. A junior's is kept only if a guardian has agreed to photos and clips. A lesson has at most 6, and an academy's take at most 1 GB.
//	@ID				addLessonMedia
//	@Tags			Lessons
//	@Accept			image/jpeg,image/png,video/mp4,video/webm,video/quicktime,application/octet-stream
//	@Produce		json
//	@Param			lesson_id	path		string	true	"The lesson"	format(uuid)
//	@Param			days		query		int		true	"For how many days it is kept, today included"	minimum(1)	maximum(365)
//	@Param			content		body		string	true	"The photo or the clip"
//	@Success		201			{object}	LessonMedia
//	@Failure		400,401,403,404,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/lessons/{lesson_id}/media [post]
func (s *Server) addLessonMedia(c echo.Context) error {
	id, err := pathID(c, "lesson_id")
	if err != nil {
		return err
	}
	q := newQuery(c)
	days := q.number("days", 1, academy.MaxMediaDays, 0)
	if days == 0 {
		q.fail("days", fmt.Sprintf("is missing; give for how many days it is kept, 1 to %d", academy.MaxMediaDays))
	}
	if err := q.done(); err != nil {
		return err
	}
	sent, _, err := mime.ParseMediaType(c.Request().Header.Get(echo.HeaderContentType))
	if err != nil || !slices.Contains(mediaSent, sent) {
		return &requestError{status: http.StatusUnsupportedMediaType, code: "media_type", detail: "Send the photo as image/jpeg or image/png, the clip as video/mp4 or video/webm."}
	}
	// Whoever may not add one has it not looked at.
	if _, err := s.Lessons.Get(c.Request().Context(), actor(c), id); err != nil {
		return err
	}
	content, err := s.cleaned(c)
	if err != nil {
		return err
	}
	m, err := s.LessonMedia.Add(c.Request().Context(), actor(c), id, days, content)
	if err != nil {
		return err
	}
	return created(c, fmt.Sprintf("/v1/lessons/%s/media/%s", id, m.ID), 0, encodeLessonMedia(m))
}

// cleaned reads what was sent, and works on as few at once as there are processors.
func (s *Server) cleaned(c echo.Context) (academy.Content, error) {
	body, err := readAll(c.Request())
	if err != nil {
		return academy.Content{}, err
	}
	end, err := s.calculations.begin(c.Request().Context(), askerOf(c))
	if err != nil {
		return academy.Content{}, err
	}
	defer end()
	return media.Clean(body)
}

// getLessonMedia hands out a photo or a clip.
//
//	@Summary		Read a photo or a clip of a lesson
//	@Description	For the student, their coaches and guardians; not for other software. A part of it can be asked for with `Range`.
//	@ID				getLessonMedia
//	@Tags			Lessons
//	@Produce		image/jpeg,video/mp4,video/webm
//	@Param			lesson_id		path		string	true	"The lesson"	format(uuid)
//	@Param			media_id		path		string	true	"The photo or clip"	format(uuid)
//	@Param			Range			header		string	false	"Which bytes, RFC 9110"
//	@Param			If-None-Match	header		string	false	"The ETag you already have"
//	@Success		200				{string}	string	"The photo or clip"
//	@Success		206				{string}	string	"A part of it"
//	@Success		304				"Not modified"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/lessons/{lesson_id}/media/{media_id} [get]
func (s *Server) getLessonMedia(c echo.Context) error {
	if err := refuseQuery(c); err != nil {
		return err
	}
	lesson, id, err := mediaIDs(c)
	if err != nil {
		return err
	}
	ctx, a := c.Request().Context(), actor(c)
	m, err := s.LessonMedia.Find(ctx, a, lesson, id)
	if err != nil {
		return err
	}
	h := c.Response().Header()
	h.Set(echo.HeaderContentType, m.Type)
	h.Set("ETag", `"`+string(m.ID)+`"`) // its content never changes
	// It is a picture and nothing else, wherever it is opened.
	h.Set("Content-Security-Policy", "default-src 'none'; sandbox; frame-ancestors 'none'")
	h.Set(echo.HeaderContentDisposition, "inline")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	http.ServeContent(unhurried{c.Response()}, c.Request(), "", time.Time{}, &parts{m: m, read: func(part int) ([]byte, error) {
		return s.LessonMedia.Part(ctx, a, m, part)
	}})
	return nil
}

func mediaIDs(c echo.Context) (lesson, id domain.ID, err error) {
	if lesson, err = pathID(c, "lesson_id"); err == nil {
		id, err = pathID(c, "media_id")
	}
	return lesson, id, err
}

// parts reads media part by part, so that none is ever whole in memory.
type parts struct {
	m    academy.Media
	at   int64
	read func(part int) ([]byte, error)
	// have is the part read last, of the number which, counted from 1.
	have  []byte
	which int
}

// Read implements io.Reader.
func (p *parts) Read(into []byte) (int, error) {
	if p.at >= int64(p.m.Size) {
		return 0, io.EOF
	}
	part := int(p.at / academy.MediaPart)
	if p.which != part+1 {
		data, err := p.read(part)
		if err != nil {
			return 0, err
		}
		p.have, p.which = data, part+1
	}
	rest := p.have[min(len(p.have), int(p.at%academy.MediaPart)):]
	if len(rest) == 0 {
		return 0, io.ErrUnexpectedEOF
	}
	n := copy(into, rest)
	p.at += int64(n)
	return n, nil
}

// Seek implements io.Seeker.
func (p *parts) Seek(offset int64, whence int) (int64, error) {
	switch whence {
	case io.SeekCurrent:
		offset += p.at
	case io.SeekEnd:
		offset += int64(p.m.Size)
	}
	if offset < 0 {
		return 0, fmt.Errorf("api: there is nothing before the first byte")
	}
	p.at = offset
	return offset, nil
}

// deleteLessonMedia deletes a photo or a clip.
//
//	@Summary		Delete a photo or a clip of a lesson
//	@Description	For the student, their coaches and guardians, before its days are over. It is gone at once, and from the database's files within the hour.
//	@ID				deleteLessonMedia
//	@Tags			Lessons
//	@Produce		json
//	@Param			lesson_id	path	string	true	"The lesson"	format(uuid)
//	@Param			media_id	path	string	true	"The photo or clip"	format(uuid)
//	@Success		204			"Deleted"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/lessons/{lesson_id}/media/{media_id} [delete]
func (s *Server) deleteLessonMedia(c echo.Context) error {
	lesson, id, err := mediaIDs(c)
	if err != nil {
		return err
	}
	if err := s.LessonMedia.Delete(c.Request().Context(), actor(c), lesson, id); err != nil {
		return err
	}
	return noContent(c)
}

// getMediaUse counts the academy's photos and clips.
//
//	@Summary	Count the academy's photos and clips
//	@ID			getMediaUse
//	@Tags		Academy
//	@Produce	json
//	@Param		If-None-Match	header		string	false	"The ETag you already have"
//	@Success	200				{object}	MediaUse
//	@Success	304				"Not modified"
//	@Failure	400,401,403,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/academy/media [get]
func (s *Server) getMediaUse(c echo.Context) error {
	u, err := s.LessonMedia.Use(c.Request().Context(), actor(c))
	if err != nil {
		return err
	}
	return ok(c, 0, MediaUse{Count: u.Count, Bytes: u.Bytes, LimitBytes: academy.MediaQuota})
}
