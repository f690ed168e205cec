package api

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
)

// LiveEvent is one event of the stream. Read what changed with its own request.
type LiveEvent struct {
	// Number is the event's number in the log; left out for a session that goes on,
	// which the log is told of when it pauses or ends.
	Number    int64     `json:"number,omitempty" example:"118"`
	At        time.Time `json:"at" binding:"required" format:"date-time"`
	Kind      string    `json:"kind" binding:"required" example:"session.extended"`
	SubjectID domain.ID `json:"subject_id" binding:"required" format:"uuid"`
	StudentID domain.ID `json:"student_id" binding:"required" format:"uuid"`
} // @name LiveEvent

const livePath = "/v1/live"

// How long a stream may be silent, and how long a write to it may take.
const (
	liveSilence = 15 * time.Second
	liveWrite   = 10 * time.Second

	// liveCheck is after how many silences the log is looked at.
	liveCheck = 4

	// liveTrust is for how long whoever follows is told of sessions without being
	// asked again who they are.
	liveTrust = 5 * time.Second
)

// live streams what happens to the students whom the asker may see.
//
//	@Summary		Follow events live
//	@Description	Server-sent events (WHATWG HTML, section 9.2): event is the kind, id the number in the log, and data an object with number (the id again), at, kind, subject_id and student_id. A session in progress that grew is a session.extended without id and number, once a second at most. The stream begins now, or after the Last-Event-ID you send. It ends when the access token expires, and at once when the member leaves or changes role, signs out, or the key is revoked; connect again with a new token. Twelve may be open for one member or key at once.
//	@ID				streamLive
//	@Tags			Progress
//	@Produce		text/event-stream
//	@Param			Last-Event-ID	header		string	false	"The last id you have seen"
//	@Success		200				{string}	string	"The stream"
//	@Failure		400,401,403,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/live [get]
func (s *Server) live(c echo.Context) error {
	release, err := s.streams.take(askerOf(c))
	if err != nil {
		return err
	}
	defer release()
	last, err := s.liveFrom(c)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(c.Request().Context(), identity(c).Expires.Sub(s.Now()))
	defer cancel()
	h := c.Response().Header()
	h.Set(echo.HeaderContentType, "text/event-stream")
	h.Set(echo.HeaderCacheControl, "no-store")
	h.Set("X-Accel-Buffering", "no")
	stream := liveStream{w: c.Response(), control: http.NewResponseController(c.Response())}
	c.Response().WriteHeader(http.StatusOK)
	s.follow(ctx, c, stream, last)
	return nil
}

// liveFrom is the number to follow from.
func (s *Server) liveFrom(c echo.Context) (int64, error) {
	if err := newQuery(c).done(); err != nil {
		return 0, err
	}
	header := c.Request().Header.Get("Last-Event-ID")
	if header == "" {
		return s.Live.Last(c.Request().Context(), actor(c))
	}
	after, err := strconv.ParseInt(header, 10, 64)
	if err != nil || after < 0 {
		return 0, badParameter("Last-Event-ID", "is not the id of an event; leave it out to begin now")
	}
	last, err := s.Live.Last(c.Request().Context(), actor(c))
	if err == nil && after > last {
		err = badParameter("Last-Event-ID", fmt.Sprintf("is after the latest event, %d; the service may have been restored from a backup: leave it out, and read again what you show", last))
	}
	return after, err
}

// follow tells events until the token ends, the asker leaves, loses access, or
// the service stops.
func (s *Server) follow(ctx context.Context, c echo.Context, stream liveStream, last int64) {
	a := actor(c)
	viewer := s.Live.Viewer(a, last)
	trust := follower{server: s, echo: c, actor: a, seen: s.Now()}
	news, stop := s.Live.Feed.Follow(a.Academy)
	defer stop()
	// Only now, so that whoever reads this misses nothing after it.
	if err := stream.send(": following\n\n"); err != nil {
		return
	}
	silence := time.NewTicker(liveSilence)
	defer silence.Stop()
	quiet := 0
	// What happened before there was somebody to follow is in the log.
	events, err := viewer.CatchUp(ctx)
	for err == nil {
		if len(events) > 0 {
			if !trust.stands(viewer.Unsure()) {
				return
			}
			if err := stream.send(liveText(events)); err != nil {
				return
			}
			events = nil
		}
		select {
		case <-ctx.Done():
			return
		case <-s.draining:
			return
		case told := <-news:
			events, err = viewer.Hear(ctx, told)
		case <-silence.C:
			// The moment to see whether the asker still may look and, now and then,
			// whether news was lost.
			if !trust.stands(true) {
				return
			}
			if err := stream.send(": still here\n\n"); err != nil {
				return
			}
			if quiet++; quiet%liveCheck == 0 {
				events, err = viewer.CatchUp(ctx)
			}
		}
	}
}

// follower is whoever follows a stream, as they were when last asked who they are.
type follower struct {
	server *Server
	echo   echo.Context
	actor  domain.Actor
	seen   time.Time
}

// stands reports whether they still are who they were. The database is asked at
// most every liveTrust, by time and not by silence, since a busy academy is never
// silent; and at once when they are not sure to be.
func (f *follower) stands(unsure bool) bool {
	now := f.server.Now()
	if age := now.Sub(f.seen); !unsure && age >= 0 && age < liveTrust {
		return true
	}
	id, err := f.server.authenticate(f.echo)
	f.seen = now
	return err == nil && id.Actor == f.actor
}

func liveText(events []domain.Event) string {
	var b strings.Builder
	for _, e := range events {
		data, err := json.Marshal(LiveEvent{Number: e.Seq, At: e.At.UTC(), Kind: e.Kind, SubjectID: e.Subject, StudentID: e.Student})
		if err != nil {
			continue // plain values encode
		}
		if e.Seq > 0 {
			fmt.Fprintf(&b, "id: %d\n", e.Seq)
		}
		fmt.Fprintf(&b, "event: %s\ndata: %s\n\n", e.Kind, data)
	}
	return b.String()
}

// liveStream writes past the server's write timeout, which is for answers that
// end.
type liveStream struct {
	w       http.ResponseWriter
	control *http.ResponseController
}

func (l liveStream) send(text string) error {
	if err := l.control.SetWriteDeadline(time.Now().Add(liveWrite)); err != nil {
		return err
	}
	if _, err := l.w.Write([]byte(text)); err != nil {
		return err
	}
	return l.control.Flush()
}
