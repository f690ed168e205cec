package api

import (
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
)

// keepInCookie asks for the refresh token in a cookie that scripts cannot read,
// as the pages do.
const keepInCookie = "cookie"

// refreshCookie holds a page's refresh token. Its prefix makes browsers insist
// on Secure, on Path=/ and on this very host.
const refreshCookie = "__Host-fringework"

// markCookie stands beside it where scripts can see it, so that a page which
// nobody has signed in on asks for no tokens.
const markCookie = refreshCookie + "-kept"

// sameSite refuses requests that a page of another site makes with our cookie,
// or to have one set.
var sameSite = http.NewCrossOriginProtection()

func checkSameSite(c echo.Context) error {
	if err := sameSite.Check(c.Request()); err != nil {
		return domain.Errorf(domain.Forbidden, "cross_site", "Pages of other sites may not do this; open the page of this service.").Because(err)
	}
	return nil
}

// signedIn encodes a sign-in for the way the client keeps its refresh token:
// in the answer, or in a cookie and not in the answer.
func (s *Server) signedIn(c echo.Context, in auth.SignedIn, keep string) (SignedIn, error) {
	noStore(c)
	out := s.encodeSignedIn(in)
	switch keep {
	case "":
	case keepInCookie:
		if err := checkSameSite(c); err != nil {
			return SignedIn{}, err
		}
		setCookies(c, in.Refresh, in.RefreshExpires)
		out.RefreshToken = ""
	}
	return out, nil
}

// checkKeep refuses other ways than there are, before anything is done.
func checkKeep(c echo.Context, keep string) error {
	switch keep {
	case "":
		return nil
	case keepInCookie:
		return checkSameSite(c)
	}
	return invalidField("/keep", `must be "cookie", or absent to get the refresh token in the answer`)
}

func invalidField(pointer, detail string) error {
	var p domain.Problems
	p.Add(pointer, "%s", detail)
	return p.Err("body_invalid", "The request was refused.")
}

// cookieToken reads the refresh token of a page; empty without one.
func cookieToken(c echo.Context) (string, error) {
	kept, err := c.Cookie(refreshCookie)
	if err != nil || kept.Value == "" {
		return "", nil //nolint:nilerr // no cookie is no failure
	}
	return kept.Value, checkSameSite(c)
}

// setCookies keeps a refresh token, and that there is one, until it expires; an
// empty one is forgotten.
func setCookies(c echo.Context, token string, expires time.Time) {
	kept := http.Cookie{Name: refreshCookie, Value: token, Path: "/", Expires: expires, HttpOnly: true, Secure: true, SameSite: http.SameSiteStrictMode}
	if token == "" {
		kept.MaxAge = -1
	}
	mark := kept
	mark.Name, mark.Value, mark.HttpOnly = markCookie, "1", false
	c.SetCookie(&kept)
	c.SetCookie(&mark)
}
