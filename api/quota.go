package api

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
)

// meter counts a request of somebody who was let in, tells how their limits stand
// (RateLimit header fields for HTTP, draft-ietf-httpapi-ratelimit-headers-10), and
// refuses one too many.
func (s *Server) meter(c echo.Context, id auth.Identity) error {
	if s.Quota == nil {
		return nil
	}
	all, err := s.Quota.Take(c.Request().Context(), s.Now(), id)
	if err != nil {
		return err
	}
	tellLimits(c.Response().Header(), all)
	for _, l := range all {
		if l.Wait > 0 {
			return tooMany(l)
		}
	}
	return nil
}

// tooMany refuses a request by a limit that has none left.
func tooMany(l auth.Standing) error {
	wait := seconds(l.Wait)
	e := domain.Errorf(domain.TooMany, "too_many_requests", "Too many requests: at most %d a minute are taken (limit %s). Wait %d seconds and send it again.", l.Limit, l.Policy, wait)
	e.RetryAfter = wait
	return e
}

// tellLimits writes the two lists of structured fields (RFC 9651): q and w are the
// requests taken in a window of seconds, r those that may come now, and t the
// seconds until all may again.
func tellLimits(h http.Header, all []auth.Standing) {
	if len(all) == 0 {
		return
	}
	var policies, stand []string
	for _, l := range all {
		policies = append(policies, fmt.Sprintf("%q;q=%d;w=%d", l.Policy, l.Limit, seconds(l.Window)))
		stand = append(stand, fmt.Sprintf("%q;r=%d;t=%d", l.Policy, l.Remaining, seconds(l.Full)))
	}
	h.Set("RateLimit-Policy", strings.Join(policies, ", "))
	h.Set("RateLimit", strings.Join(stand, ", "))
}

// seconds is a duration in whole seconds, rounded up.
func seconds(d time.Duration) int { return int((d + time.Second - 1) / time.Second) }
