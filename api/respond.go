package api

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"fringework/domain"
)

// writeJSON writes a body whose content type is set already or JSON.
func writeJSON(c echo.Context, status int, v any) error {
	body, err := encode(v)
	if err != nil {
		return err
	}
	h := c.Response().Header()
	if h.Get(echo.HeaderContentType) == "" {
		h.Set(echo.HeaderContentType, echo.MIMEApplicationJSON)
	}
	c.Response().WriteHeader(status)
	_, err = c.Response().Write(body)
	return err
}

func encode(v any) ([]byte, error) {
	var body bytes.Buffer
	err := encoder(&body).Encode(v)
	return body.Bytes(), err
}

func encoder(to io.Writer) *json.Encoder {
	enc := json.NewEncoder(to)
	enc.SetEscapeHTML(false)
	return enc
}

// entityTag names a representation: its digest, after the revision of the
// thing if it has one (above 0). The same revision can look different to
// different askers, so the revision alone would not do.
func entityTag(revision int, body []byte) string {
	sum := sha256.Sum256(body)
	digest := base64.RawURLEncoding.EncodeToString(sum[:12])
	if revision == 0 {
		return `"` + digest + `"`
	}
	return `"` + strconv.Itoa(revision) + "-" + digest + `"`
}

// ok answers 200 with a body and its entity tag; revision is 0 for a thing
// without one. A client that has it already gets 304. A GET that has read no
// query refuses one here.
func ok(c echo.Context, revision int, v any) error {
	if c.Get(queryKey) == nil {
		if err := refuseQuery(c); err != nil {
			return err
		}
	}
	body, err := encode(v)
	if err != nil {
		return err
	}
	tag := entityTag(revision, body)
	c.Response().Header().Set("ETag", tag)
	if matches(c.Request().Header.Get("If-None-Match"), tag) && c.Request().Method == http.MethodGet {
		return c.NoContent(http.StatusNotModified)
	}
	return c.Blob(http.StatusOK, echo.MIMEApplicationJSON, body)
}

// fresh answers 304 to a client that has what an answer about a student, or
// about all without one, would be; done is true then. The tag is decided from
// what the answer depends on, before it is made.
func (s *Server) fresh(c echo.Context, student domain.ID) (done bool, err error) {
	if c.Get(queryKey) == nil {
		if err := refuseQuery(c); err != nil {
			return false, err
		}
	}
	a := actor(c)
	stands, err := s.Read.Fresh(c.Request().Context(), a, student)
	if err != nil {
		return false, err
	}
	tag := entityTag(0, fmt.Appendf(nil, "%s %s %s%s %s", s.release, c.Request().RequestURI, a.Member, a.Key, stands))
	c.Response().Header().Set("ETag", tag)
	if matches(c.Request().Header.Get("If-None-Match"), tag) && c.Request().Method == http.MethodGet {
		return true, c.NoContent(http.StatusNotModified)
	}
	return false, nil
}

// okFresh answers 200 with a body whose tag is set. It is not copied on its way
// out: the encoder writes once, when all is encoded.
func okFresh(c echo.Context, v any) error {
	c.Response().Header().Set(echo.HeaderContentType, echo.MIMEApplicationJSON)
	return encoder(c.Response()).Encode(v)
}

// created answers 201 with the new thing and where it is.
func created(c echo.Context, location string, revision int, v any) error {
	body, err := encode(v)
	if err != nil {
		return err
	}
	c.Response().Header().Set(echo.HeaderLocation, location)
	if revision > 0 {
		c.Response().Header().Set("ETag", entityTag(revision, body))
	}
	return c.Blob(http.StatusCreated, echo.MIMEApplicationJSON, body)
}

// noStore keeps an answer with a secret in it out of every cache.
func noStore(c echo.Context) { c.Response().Header().Set(echo.HeaderCacheControl, "no-store") }

// matches compares entity tags as If-None-Match does (weakly).
func matches(header, tag string) bool {
	return matchesStrongly(strings.ReplaceAll(header, "W/", ""), tag)
}

// matchesStrongly compares entity tags as If-Match does.
func matchesStrongly(header, tag string) bool {
	for candidate := range strings.SplitSeq(header, ",") {
		if candidate = strings.TrimSpace(candidate); candidate == "*" || candidate == tag {
			return true
		}
	}
	return false
}

// condition reads If-Match, the same for every change: empty without a condition, or
// the one ETag that what is changed must have.
func condition(c echo.Context) (tag string, err error) {
	header := strings.TrimSpace(strings.Join(c.Request().Header.Values("If-Match"), ","))
	if header == "" || header == "*" {
		return "", nil
	}
	inner, quoted := strings.CutPrefix(header, `"`)
	inner, closed := strings.CutSuffix(inner, `"`)
	if !quoted || !closed || inner == "" || strings.ContainsAny(inner, `", `) {
		return "", malformed("if_match", `If-Match must be one ETag as you received it, or the revision in quotes, such as "3".`)
	}
	return header, nil
}

// notOurs is a revision that nothing has.
const notOurs = -1

// ifMatch reads the revision that a change is made to; 0 when the client does
// not say. Besides an entity tag of ours, a quoted revision is understood.
func ifMatch(c echo.Context) (int, error) {
	tag, err := condition(c)
	if err != nil || tag == "" {
		return 0, err
	}
	number, _, _ := strings.Cut(strings.Trim(tag, `"`), "-")
	if revision, err := strconv.Atoi(number); err == nil && revision >= 1 && number == strconv.Itoa(revision) {
		return revision, nil
	}
	return notOurs, nil // a tag like any other, of something else
}

// conditional says that a change is made only if If-Match says so; see unconditional.
func (r route) conditional() route {
	r.matched = true
	return r
}

// unconditional refuses If-Match where a change would not look at it: whoever sends it
// relies on it.
func unconditional(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		if c.Request().Header.Get("If-Match") != "" && c.Request().Method != http.MethodGet {
			return malformed("if_match_unsupported", "This change is not made conditional by If-Match; leave it out.")
		}
		return next(c)
	}
}
