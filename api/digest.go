package api

import (
	"crypto/sha256"
	"encoding/base64"
	"html/template"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
)

// WeeklyLetter tells whether you get the weekly letter by mail.
type WeeklyLetter struct {
	// Wanted is false once you have stopped it.
	Wanted bool `json:"wanted" binding:"required" example:"true"`
	// Missing is why none comes although it is wanted: this service sends no mail, your
	// e-mail is not confirmed, or you are a junior. Left out when it comes.
	Missing string `json:"missing,omitempty" enums:"mail,confirmation,junior" example:"confirmation"`
} // @name WeeklyLetter

// WeeklyLetterWish says whether you want it.
type WeeklyLetterWish struct {
	// Wanted is false to stop it.
	Wanted *bool `json:"wanted" validate:"required" example:"false"`
} // @name WeeklyLetterWish

func (s *Server) encodeWeekly(r academy.DigestReader) WeeklyLetter {
	out := WeeklyLetter{Wanted: r.Stopped.IsZero()}
	switch {
	case r.Member.Junior:
		out.Missing = "junior"
	case !s.Auth.Mail:
		out.Missing = "mail"
	case !r.Verified:
		out.Missing = "confirmation"
	}
	return out
}

// getWeeklyLetter tells whether the asker gets the letter.
//
//	@Summary		Look whether you get the weekly letter
//	@Description	On Monday morning, in your time zone, owners who coach, coaches and students get a letter about the week before, in each academy, if their e-mail is confirmed and there is something to tell. This is about the academy of your access token.
//	@ID				getWeeklyLetter
//	@Tags			Me
//	@Produce		json
//	@Success		200	{object}	WeeklyLetter
//	@Success		304	"Not modified"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/weekly-letter [get]
func (s *Server) getWeeklyLetter(c echo.Context) error {
	r, err := s.Digests.Own(c.Request().Context(), actor(c))
	if err != nil {
		return err
	}
	return ok(c, 0, s.encodeWeekly(r))
}

// putWeeklyLetter keeps whether the asker wants the letter.
//
//	@Summary		Stop the weekly letter, or get it again
//	@Description	In the academy of your access token. Each letter also has an address that stops it without signing in.
//	@ID				putWeeklyLetter
//	@Tags			Me
//	@Accept			json
//	@Produce		json
//	@Param			wish	body		WeeklyLetterWish	true	"Whether you want it"
//	@Success		200		{object}	WeeklyLetter
//	@Failure		400,401,403,404,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/weekly-letter [put]
func (s *Server) putWeeklyLetter(c echo.Context) error {
	var w WeeklyLetterWish
	if err := decodeReadBack[WeeklyLetter](c, &w); err != nil {
		return err
	}
	if w.Wanted == nil {
		return invalidField("/wanted", "is missing; say true or false")
	}
	r, err := s.Digests.Want(c.Request().Context(), actor(c), *w.Wanted)
	if err != nil {
		return err
	}
	return ok(c, 0, s.encodeWeekly(r))
}

// unsubscribePage asks whether to stop the letter.
//
//	@Summary		Read how to stop the weekly letter
//	@Description	A page with a button, for people. Looking at it stops nothing, since mail programs open addresses by themselves. Needs no sign-in: the address is enough. Too many wrong addresses have to wait.
//	@ID				unsubscribePage
//	@Tags			Me
//	@Produce		html
//	@Param			token	path		string	true	"The end of the address"	example(fwl_EXAMPLEONLY)
//	@Success		200		{string}	string	"A page"
//	@Failure		400,404,429,500,503	{object}	Problem
//	@Router			/unsubscribe/{token} [get]
func (s *Server) unsubscribePage(c echo.Context) error {
	if err := refuseQuery(c); err != nil {
		return err
	}
	return s.stopping(c, false, func(in domain.ID, token string) (academy.Academy, error) {
		return s.Digests.Addressed(c.Request().Context(), in, token)
	})
}

// unsubscribe stops the letter.
//
//	@Summary		Stop the weekly letter by its address
//	@Description	For mail programs (RFC 8058), and for the button of the page. What the body says does not matter. Needs no sign-in. Stopping twice changes nothing.
//	@ID				unsubscribe
//	@Tags			Me
//	@Accept			x-www-form-urlencoded
//	@Produce		html
//	@Param			token				path		string	true	"The end of the address"	example(fwl_EXAMPLEONLY)
//	@Param			List-Unsubscribe	formData	string	false	"What mail programs send"	example(One-Click)
//	@Success		200					{string}	string	"A page that says so"
//	@Failure		400,404,413,429,500,503	{object}	Problem
//	@Router			/unsubscribe/{token} [post]
func (s *Server) unsubscribe(c echo.Context) error {
	return s.stopping(c, true, func(in domain.ID, token string) (academy.Academy, error) {
		return s.Digests.Stop(c.Request().Context(), in, token)
	})
}

// stopping looks the address up and answers with the page.
func (s *Server) stopping(c echo.Context, stopped bool, look func(in domain.ID, token string) (academy.Academy, error)) error {
	token := c.Param("token")
	in, _, _ := auth.ReadLinkToken(token)
	var ac academy.Academy
	err := s.Auth.ByLink(c.Request().Context(), c.RealIP(), func() (err error) {
		ac, err = look(in, token)
		return err
	})
	if err != nil && domain.KindOf(err) == domain.NotFound {
		if strings.Contains(c.Request().Header.Get(echo.HeaderAccept), echo.MIMETextHTML) {
			return stopAnswer(c, http.StatusNotFound, map[string]any{"Unknown": true})
		}
		return domain.Errorf(domain.NotFound, "no_letter", "This address stops no letter. It may be cut off, or you may have been erased from the academy, which then sends you none.")
	}
	if err != nil {
		return err
	}
	return stopAnswer(c, http.StatusOK, map[string]any{"Academy": ac.Name, "Stopped": stopped})
}

// stopAnswer answers with the page for people.
func stopAnswer(c echo.Context, status int, values map[string]any) error {
	values["Style"] = template.CSS(stopStyle)
	var page strings.Builder
	if err := stopPage.Execute(&page, values); err != nil {
		return err
	}
	noStore(c)
	h := c.Response().Header()
	h.Set("X-Robots-Tag", "noindex")
	h.Set("Content-Security-Policy", stopPolicy)
	return c.HTML(status, page.String())
}

// stopStyle is how the page looks. It is in the page, so that nothing is fetched by
// whoever only wants to be left alone.
const stopStyle = `
:root { color-scheme: light dark; }
body { margin: 0; background: #f8f4ea; color: #211827; font: 400 17px/1.5 system-ui, -apple-system, 'Segoe UI', 'Liberation Sans', sans-serif; overflow-wrap: anywhere; }
main { max-width: 34rem; margin: 0 auto; padding: 32px 20px; }
h1 { font: 600 26px/1.25 Georgia, serif; }
a { color: #4b2a5c; }
button { font: inherit; font-weight: 600; min-height: 48px; padding: 12px 22px; border: 0; border-radius: 8px; background: #4b2a5c; color: #fffdf8; cursor: pointer; }
@media (prefers-color-scheme: dark) {
  body { background: #17121c; color: #f2ecf5; }
  a { color: #d9b8ec; }
  button { background: #d9b8ec; color: #211827; }
}
`

// stopPolicy lets the page have its own style and its own button, and nothing else.
var stopPolicy = func() string {
	sum := sha256.Sum256([]byte(stopStyle))
	return "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
}()

var stopPage = template.Must(template.New("stop").Parse(`<!doctype html>
<html lang="en">
<head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>Weekly letter · Fringework</title>
<style>{{.Style}}</style></head>
<body><main>
{{if .Unknown}}<h1>This address stops no letter</h1>
<p>It may be cut off: open it again from the letter, the whole of it. Or you may have been erased from the academy, which then sends you none.</p>
<p>You can also stop the letter at <a href="/account">your account</a>.</p>
{{else if .Stopped}}<h1>You no longer get the weekly letter</h1>
<p>{{.Academy}} sends you no more letters about the week. Letters about your own account, such as a new password, still come.</p>
<p>To get it again, turn it on in <a href="/account">your account</a>.</p>
{{else}}<h1>Stop the weekly letter?</h1>
<p>On Mondays {{.Academy}} sends you a letter about the week before. If you stop it, letters about your own account, such as a new password, still come.</p>
<form method="post"><input type="hidden" name="List-Unsubscribe" value="One-Click"><button type="submit">Stop the letter</button></form>
{{end}}</main></body></html>
`))
