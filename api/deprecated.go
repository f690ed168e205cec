package api

import (
	"fmt"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"
)

// Deprecation says that an operation is not to be used any more. Answers tell so by
// headers, and the description in words; both are made from this.
type Deprecation struct {
	// Since is from when on, and Sunset when the operation may go: Notice later at
	// least.
	Since, Sunset time.Time
	// Link leads to a page that says what to use instead.
	Link string
}

// DeprecatedMonths is for how many months at least a deprecated operation or field goes on as
// before. The API's description promises it.
const DeprecatedMonths = 12

// deprecated marks an operation: on days such as 2027-03-01, in UTC. A notice that is too
// short is a mistake in the table, which no service starts with.
func (r route) deprecated(since, sunset, link string) route {
	d := &Deprecation{Since: day(since), Sunset: day(sunset), Link: link}
	if d.Sunset.Before(d.Since.AddDate(0, DeprecatedMonths, 0)) {
		panic(fmt.Sprintf("api: %s %s would go %s after it was deprecated %s; it lives for %d months at least", r.method, r.path, sunset, since, DeprecatedMonths))
	}
	r.deprecation = d
	return r
}

func day(text string) time.Time {
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		panic("api: " + err.Error())
	}
	return t
}

// tell writes the headers: since when (RFC 9745), until when (RFC 8594), and where to read
// about both.
func (d *Deprecation) tell(h http.Header) {
	h.Set("Deprecation", fmt.Sprintf("@%d", d.Since.Unix()))
	h.Set("Sunset", d.Sunset.Format(http.TimeFormat))
	for _, relation := range []string{"deprecation", "sunset"} {
		h.Add("Link", fmt.Sprintf(`<%s>; rel="%s"; type="text/html"`, d.Link, relation))
	}
}

// tellDeprecated has every answer of a deprecated operation tell that it is one, refusals
// too.
func tellDeprecated(table []route) echo.MiddlewareFunc {
	type key struct{ method, path string }
	all := map[key]*Deprecation{}
	for _, r := range table {
		if r.deprecation != nil {
			all[key{r.method, r.path}] = r.deprecation
		}
	}
	return func(next echo.HandlerFunc) echo.HandlerFunc {
		if len(all) == 0 {
			return next
		}
		return func(c echo.Context) error {
			if d := all[key{c.Request().Method, c.Path()}]; d != nil {
				d.tell(c.Response().Header())
			}
			return next(c)
		}
	}
}
