package api

import (
	"encoding/base64"
	"hash/crc32"
	"maps"
	"net/url"
	"strconv"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"fringework/domain"
)

// Bounds of a page.
const (
	defaultLimit = 50
	maxLimit     = 200
)

// Links lead to further pages. They are relative references.
type Links struct {
	// Next is the address of the next page; absent on the last one.
	Next string `json:"next,omitempty" format:"uri-reference" example:"/v1/skills?cursor=c2tpbGxz&limit=50"`
} // @name Links

// page reads limit and cursor of a list ordered by identity. One row more than
// asked for is read, to tell whether there is a next page.
func (q *query) page() domain.Page {
	limit := q.number("limit", 1, maxLimit, defaultLimit)
	after := q.cursor(1)
	if _, err := uuid.Parse(after[0]); err != nil && after[0] != "" {
		q.fail("cursor", notACursor)
	}
	return domain.Page{After: domain.ID(after[0]), Limit: limit + 1}
}

const notACursor = "is not a cursor of this list; take it from links.next of the previous page, or leave it out"

// cursor reads the opaque position in this list as n parts, empty at the start.
// A cursor of another list, or one that was tampered with, is refused.
func (q *query) cursor(n int) []string {
	text := q.text("cursor")
	if text == "" {
		return make([]string, n)
	}
	raw, err := base64.RawURLEncoding.DecodeString(text)
	parts := strings.Split(string(raw), "\n")
	if err != nil || len(parts) != n+1 || parts[0] != checksum(q.c.Path(), parts[1:]) {
		q.fail("cursor", notACursor)
		return make([]string, n)
	}
	return parts[1:]
}

// checksum guards against cursors of other lists and mistyped ones; it keeps no
// secret, as a cursor gives no access.
func checksum(path string, parts []string) string {
	return strconv.FormatUint(uint64(crc32.ChecksumIEEE([]byte(path+"\n"+strings.Join(parts, "\n")))), 36)
}

// next links to the page after the given position, keeping the other
// parameters.
func next(c echo.Context, position ...string) Links {
	cursor := base64.RawURLEncoding.EncodeToString([]byte(strings.Join(append([]string{checksum(c.Path(), position)}, position...), "\n")))
	params := url.Values{}
	maps.Copy(params, c.QueryParams())
	params.Set("cursor", cursor)
	return Links{Next: c.Request().URL.Path + "?" + params.Encode()}
}

// pageOf cuts the surplus row that a page was read with, and links on when
// there was one.
func pageOf[T, R any](c echo.Context, page domain.Page, rows []T, id func(T) domain.ID, encode func(T) R) ([]R, Links) {
	var links Links
	if len(rows) == page.Limit {
		rows = rows[:page.Limit-1]
		links = next(c, string(id(rows[len(rows)-1])))
	}
	return each(rows, encode), links
}

// each encodes every item; the result is never nil, so that JSON says [].
func each[T, R any](items []T, encode func(T) R) []R {
	out := make([]R, len(items))
	for i, x := range items {
		out[i] = encode(x)
	}
	return out
}

// words gives the words of a list of the domain.
func words[W ~string](all []W) []string {
	return each(all, func(w W) string { return string(w) })
}
