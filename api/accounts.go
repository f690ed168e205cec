package api

import (
	"time"

	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
)

// SignUpRequest creates an academy and its owner.
type SignUpRequest struct {
	AcademyName string `json:"academy_name" validate:"required" minLength:"1" maxLength:"100" example:"Links End Short Game"`
	// TimeZone is an IANA name, for the academy and for the owner.
	TimeZone string `json:"time_zone" validate:"required" example:"Europe/Lisbon"`
	// Name is the owner's name.
	Name  string `json:"name" validate:"required" minLength:"1" maxLength:"100" example:"Ines Duarte"`
	Email string `json:"email" validate:"required" format:"email" maxLength:"254" example:"ines@example.org"`
	// Password has 8 to 128 characters, is none that is guessed first, and is not
	// only a name. If you already have an account, give its password.
	Password string `json:"password" validate:"required" format:"password" minLength:"8" maxLength:"128" example:"seventeen brass kettles"`
	// SecondFactor is a code of your app or a recovery code, if you have an account
	// with a second factor.
	SecondFactor string `json:"second_factor,omitempty" maxLength:"64"`
	// Keep is optional: "cookie" puts the refresh token in a cookie that scripts
	// cannot read, instead of in the answer. Only for pages of this host.
	Keep string `json:"keep,omitempty" enums:"cookie"`
} // @name SignUpRequest

// SignInRequest is a person's credentials.
type SignInRequest struct {
	Email    string `json:"email" validate:"required" maxLength:"254" example:"ines@example.org"`
	Password string `json:"password" validate:"required" format:"password" example:"seventeen brass kettles"`
	// AcademyID chooses an academy if the account belongs to several; the one
	// joined first by default.
	AcademyID domain.ID `json:"academy_id,omitempty" format:"uuid"`
	// Keep is optional: "cookie" puts the refresh token in a cookie that scripts
	// cannot read, instead of in the answer. Only for pages of this host.
	Keep string `json:"keep,omitempty" enums:"cookie"`
} // @name SignInRequest

// RefreshRequest exchanges a refresh token for the next pair of tokens.
type RefreshRequest struct {
	// RefreshToken is optional for a page that keeps it in a cookie.
	RefreshToken string `json:"refresh_token,omitempty"`
	// AcademyID switches to another academy of the account; optional.
	AcademyID domain.ID `json:"academy_id,omitempty" format:"uuid"`
} // @name RefreshRequest

// SignOutRequest says which sign-in to end.
type SignOutRequest struct {
	// RefreshToken is any refresh token of the sign-in. Send it if the access
	// token has expired.
	RefreshToken string `json:"refresh_token,omitempty"`
} // @name SignOutRequest

// PasswordRequest replaces a password.
type PasswordRequest struct {
	// CurrentPassword is the password so far.
	CurrentPassword string `json:"current_password" validate:"required" format:"password"`
	// NewPassword has 8 to 128 characters, is none that is guessed first, and is
	// not only a name.
	NewPassword string `json:"new_password" validate:"required" format:"password" minLength:"8" maxLength:"128"`
} // @name PasswordRequest

// Membership is one academy that an account belongs to.
type Membership struct {
	AcademyID   domain.ID `json:"academy_id" binding:"required" format:"uuid"`
	AcademyName string    `json:"academy_name" binding:"required" example:"Links End Short Game"`
	MemberID    domain.ID `json:"member_id" binding:"required" format:"uuid"`
	Role        string    `json:"role" binding:"required" extensions:"x-words=roles" example:"owner"`
} // @name Membership

// Account is a person who can sign in.
type Account struct {
	ID        domain.ID `json:"id" binding:"required" format:"uuid"`
	Email     string    `json:"email" binding:"required" format:"email" example:"ines@example.org"`
	Name      string    `json:"name" binding:"required" example:"Ines Duarte"`
	CreatedAt time.Time `json:"created_at" binding:"required" format:"date-time"`
	// EmailVerifiedAt is when the address was confirmed by a link sent to it; absent
	// if never.
	EmailVerifiedAt *time.Time `json:"email_verified_at,omitempty" format:"date-time"`
} // @name Account

// SignedIn is the tokens of a sign-in and whose they are.
type SignedIn struct {
	// AccessToken goes into each request, in the header Authorization: Bearer ….
	AccessToken string `json:"access_token" binding:"required"`
	TokenType   string `json:"token_type" binding:"required" example:"Bearer"`
	// ExpiresIn is how long the access token is valid, in seconds.
	ExpiresIn int `json:"expires_in" binding:"required" minimum:"0" example:"600"`
	// RefreshToken gets the next tokens: keep the newest one alone. It is absent
	// when it is kept in a cookie.
	RefreshToken string `json:"refresh_token,omitempty"`
	// RefreshExpiresAt is when the sign-in ends unless it is refreshed before then.
	RefreshExpiresAt time.Time `json:"refresh_expires_at" binding:"required" format:"date-time"`
	Account          Account   `json:"account" binding:"required"`
	// Membership is the one that the access token is for; absent if the account
	// belongs to no academy.
	Membership *Membership `json:"membership,omitempty"`
	// Memberships are all academies of the account, in the order joined.
	Memberships []Membership `json:"memberships" binding:"required"`
	// Notices are what you are told at this sign-in, once: who made a link to set
	// your password, and when.
	Notices []SignInNotice `json:"notices,omitempty"`
} // @name SignedIn

func encodeMembership(m auth.Membership) Membership {
	return Membership{AcademyID: m.Academy, AcademyName: m.AcademyName, MemberID: m.Member, Role: string(m.Role)}
}

func encodeAccount(a auth.Account) Account {
	return Account{ID: a.ID, Email: a.Email, Name: a.Name, CreatedAt: a.Created.UTC(), EmailVerifiedAt: instant(a.Verified)}
}

func (s *Server) encodeSignedIn(in auth.SignedIn) SignedIn {
	out := SignedIn{
		AccessToken: in.Access, TokenType: "Bearer",
		ExpiresIn:    max(0, int(in.AccessExpires.Sub(s.Now())/time.Second)),
		RefreshToken: in.Refresh, RefreshExpiresAt: in.RefreshExpires.UTC(),
		Account: encodeAccount(in.Account), Memberships: each(in.Memberships, encodeMembership),
	}
	if in.Current != nil {
		m := encodeMembership(*in.Current)
		out.Membership = &m
	}
	if len(in.Notices) > 0 {
		out.Notices = each(in.Notices, encodeSignInNotice)
	}
	return out
}

// signUp makes an academy and its owner.
//
//	@Summary		Create an academy
//	@Description	Creates an academy and its owner, and signs the owner in. If you already have an account, give its e-mail and password: you then own another academy. Where the service sends mail, the answer is 202 and a link is sent, which creates the academy; it is the same if the address has an account and the password is wrong.
//	@ID				createAcademy
//	@Tags			Access
//	@Accept			json
//	@Produce		json
//	@Param			sign_up	body		SignUpRequest	true	"The academy and its owner"
//	@Success		201		{object}	SignedIn
//	@Success		202		{object}	MailSent
//	@Failure		400,401,403,413,415,422,429,500,503	{object}	Problem
//	@Router			/v1/academies [post]
func (s *Server) signUp(c echo.Context) error {
	var r SignUpRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	if err := checkKeep(c, r.Keep); err != nil {
		return err
	}
	in, err := s.Auth.SignUpAcademy(c.Request().Context(), auth.SignUp{
		AcademyName: r.AcademyName, TimeZone: r.TimeZone, Name: r.Name,
		Email: r.Email, Password: r.Password, SecondFactor: r.SecondFactor, Address: c.RealIP(),
	})
	if err != nil {
		return err
	}
	if in.Mailed {
		return mailSent(c)
	}
	out, err := s.signedIn(c, in, r.Keep)
	if err != nil {
		return err
	}
	return created(c, "/v1/academy", 0, out)
}

// signIn starts a sign-in.
//
//	@Summary		Sign in
//	@Description	The answer is the same for a wrong e-mail and for a wrong password. For an account with a second factor it is 202 and a ticket: go on with POST /v1/sign-in/code.
//	@ID				signIn
//	@Tags			Access
//	@Accept			json
//	@Produce		json
//	@Param			credentials	body		SignInRequest	true	"E-mail and password"
//	@Success		200			{object}	SignedIn
//	@Success		202			{object}	SecondStep
//	@Failure		400,401,403,404,413,415,422,429,500,503	{object}	Problem
//	@Router			/v1/sign-in [post]
func (s *Server) signIn(c echo.Context) error {
	var r SignInRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	if err := checkKeep(c, r.Keep); err != nil {
		return err
	}
	var p domain.Problems
	for _, m := range []struct{ at, value string }{{"/email", r.Email}, {"/password", r.Password}} {
		if m.value == "" {
			p.Add(m.at, "is missing")
		}
	}
	if err := p.Err("credentials_missing", "Sign in with an e-mail and a password."); err != nil {
		return err
	}
	in, err := s.Auth.SignIn(c.Request().Context(), auth.Credentials{
		Email: r.Email, Password: r.Password, Academy: r.AcademyID, Address: c.RealIP(),
	})
	return s.answerSignIn(c, ByPassword, in, r.Keep, err)
}

// answerSignedIn answers with tokens, or with what is left to do before there are
// any; no cache may keep either.
func (s *Server) answerSignedIn(c echo.Context, in auth.SignedIn, keep string, err error) error {
	if err != nil {
		return err
	}
	if second := in.Second; second != nil {
		noStore(c)
		return writeJSON(c, 202, SecondStep{Ticket: second.Ticket, Methods: second.Methods, ExpiresAt: second.Expires.UTC()})
	}
	out, err := s.signedIn(c, in, keep)
	if err != nil {
		return err
	}
	return writeJSON(c, 200, out)
}

// refreshTokens continues a sign-in.
//
//	@Summary		Get the next tokens
//	@Description	A refresh token gives one successor. If the reply was lost, send it again, at any time: until the successor is used, you get the same one. An older token ends the whole sign-in, because somebody else may have it.
//	@ID				refreshTokens
//	@Tags			Access
//	@Accept			json
//	@Produce		json
//	@Param			refresh	body		RefreshRequest	true	"The refresh token"
//	@Success		200		{object}	SignedIn
//	@Failure		400,401,403,404,409,413,415,422,429,500,503	{object}	Problem
//	@Router			/v1/tokens/refresh [post]
func (s *Server) refreshTokens(c echo.Context) error {
	var r RefreshRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	token, keep := r.RefreshToken, ""
	if token == "" {
		var err error
		if token, err = cookieToken(c); err != nil {
			return err
		}
		keep = keepInCookie
	}
	if token == "" {
		return invalidField("/refresh_token", "is missing, and there is no cookie; sign in again")
	}
	in, err := s.Auth.Refresh(c.Request().Context(), token, r.AcademyID, c.RealIP())
	// A cookie that is refused stays: every page that asks with it is told why.
	return s.answerSignedIn(c, in, keep, err)
}

// signOut ends a sign-in.
//
//	@Summary		Sign out
//	@Description	Ends the sign-in of the access token, or of the refresh token in the body. Its tokens stop working at once. An unknown refresh token gets the same answer.
//	@ID				signOut
//	@Tags			Access
//	@Accept			json
//	@Produce		json
//	@Param			sign_out	body	SignOutRequest	false	"The sign-in to end"
//	@Success		204			"Signed out"
//	@Failure		400,401,403,409,413,415,422,500,503	{object}	Problem
//	@Security		Bearer
//	@x-optional-security	true
//	@Router			/v1/sign-out [post]
func (s *Server) signOut(c echo.Context) error {
	var r SignOutRequest
	if c.Request().ContentLength != 0 {
		if err := decode(c, &r); err != nil {
			return err
		}
	}
	token := r.RefreshToken
	if token == "" {
		var err error
		if token, err = cookieToken(c); err != nil {
			return err
		}
		if token != "" {
			setCookies(c, "", time.Time{})
		}
	}
	if token != "" {
		if err := s.Auth.SignOutByRefresh(c.Request().Context(), token); err != nil {
			return err
		}
		return noContent(c)
	}
	id, err := s.authenticate(c)
	if err != nil {
		return err
	}
	if !id.May(auth.AccountWrite) {
		return refused(id, auth.AccountWrite)
	}
	if err := s.Auth.SignOut(c.Request().Context(), id.Family); err != nil {
		return err
	}
	return noContent(c)
}

// changePassword replaces the asker's password.
//
//	@Summary		Change your password
//	@Description	Ends all other sign-ins of the account.
//	@ID				changePassword
//	@Tags			Me
//	@Accept			json
//	@Produce		json
//	@Param			password	body	PasswordRequest	true	"The current password and the new one"
//	@Success		204			"Changed"
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/password [put]
func (s *Server) changePassword(c echo.Context) error {
	var r PasswordRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	err := s.Auth.ChangePassword(c.Request().Context(), identity(c), r.CurrentPassword, r.NewPassword, c.RealIP())
	if err != nil {
		return err
	}
	return noContent(c)
}
