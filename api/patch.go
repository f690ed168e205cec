package api

import (
	"net/http"

	json "github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
	"github.com/labstack/echo/v4"

	"fringework/domain"
)

// mergePatch is the media type of RFC 7396.
const mergePatch = "application/merge-patch+json"

// decodePatch reads a JSON Merge Patch (RFC 7396) as decode reads a body. A
// plain application/json is taken for one.
func decodePatch(c echo.Context, v any) error {
	return decodeAs(c, v, mergePatch, echo.MIMEApplicationJSON)
}

// patched is one member of a merge patch: absent (keep), null (remove) or a
// value (replace).
type patched[T any] struct {
	set, null bool
	value     T
}

// UnmarshalJSONFrom implements json.UnmarshalerFrom.
func (p *patched[T]) UnmarshalJSONFrom(dec *jsontext.Decoder) error {
	p.set = true
	if p.null = dec.PeekKind() == 'n'; p.null {
		return dec.SkipValue()
	}
	return json.UnmarshalDecode(dec, &p.value)
}

// read gives the value, or nil when the member is absent; a null is noted,
// since none of the members patched here can be removed.
func (p patched[T]) read(problems *domain.Problems, at string) *T {
	if p.null {
		problems.Add(at, "cannot be removed; give a value, or leave it out to keep the current one")
	}
	if !p.set || p.null {
		return nil
	}
	return &p.value
}

// unchanged refuses, as If-Match says, a change to something whose
// representation v the client has not read. It is for things without a
// revision; others are held to theirs by ifMatch.
func unchanged(c echo.Context, v any) error {
	tag, err := condition(c)
	if err != nil || tag == "" {
		return err
	}
	body, err := encode(v)
	if err != nil || tag == entityTag(0, body) {
		return err
	}
	return domain.Errorf(domain.Stale, "stale", "This has changed since you read it. Read it again and repeat your change.")
}

// noContent answers 204.
func noContent(c echo.Context) error { return c.NoContent(http.StatusNoContent) }
