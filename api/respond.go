package api

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"net/http"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"
)

// writeJSON writes a body whose content type is set already or JSON.
func writeJSON(c echo.Context, status int, v any) error {
	var body bytes.Buffer
	enc := json.NewEncoder(&body)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return err
	}
	h := c.Response().Header()
	if h.Get(echo.HeaderContentType) == "" {
		h.Set(echo.HeaderContentType, echo.MIMEApplicationJSON)
	}
	c.Response().WriteHeader(status)
	_, err := c.Response().Write(body.Bytes())
	return err
}

// revisionTag is the entity tag of a thing with a revision; If-Match with it
// makes a change conditional.
func revisionTag(revision int) string { return `"` + strconv.Itoa(revision) + `"` }

// ok answers 200 with a body and its entity tag: the revision's for a thing
// that has one (above 0), otherwise a digest of the body. A client that has it
// already gets 304.
func ok(c echo.Context, revision int, v any) error {
	body, err := json.Marshal(v)
	if err != nil {
		return err
	}
	tag := revisionTag(revision)
	if revision == 0 {
		sum := sha256.Sum256(body)
		tag = `"` + base64.RawURLEncoding.EncodeToString(sum[:12]) + `"`
	}
	c.Response().Header().Set("ETag", tag)
	if matches(c.Request().Header.Get("If-None-Match"), tag) && c.Request().Method == http.MethodGet {
		return c.NoContent(http.StatusNotModified)
	}
	return c.Blob(http.StatusOK, echo.MIMEApplicationJSON, body)
}

// created answers 201 with the new thing and where it is.
func created(c echo.Context, location string, revision int, v any) error {
	c.Response().Header().Set(echo.HeaderLocation, location)
	if revision > 0 {
		c.Response().Header().Set("ETag", revisionTag(revision))
	}
	return writeJSON(c, http.StatusCreated, v)
}

// matches compares entity tags as If-None-Match does (weakly).
func matches(header, tag string) bool {
	for candidate := range strings.SplitSeq(header, ",") {
		candidate = strings.TrimPrefix(strings.TrimSpace(candidate), "W/")
		if candidate == "*" || candidate == tag {
			return true
		}
	}
	return false
}

// ifMatch reads the revision that a change is made to; 0 when the client does
// not say.
func ifMatch(c echo.Context) (int, error) {
	header := strings.TrimSpace(c.Request().Header.Get("If-Match"))
	if header == "" || header == "*" {
		return 0, nil
	}
	revision, err := strconv.Atoi(strings.Trim(header, `"`))
	if err != nil || revision < 1 || header != revisionTag(revision) {
		return 0, malformed("if_match", "If-Match takes one entity tag as the ETag header gave it, such as \"3\".")
	}
	return revision, nil
}
