package api

import (
	"net/http"
	"net/url"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/auth"
)

// SignInWays says how people can sign in here.
type SignInWays struct {
	// Mail is true if the service sends mail: then a forgotten password can be
	// replaced by a link, and a new academy begins with one.
	Mail bool `json:"mail" binding:"required"`
	// Passkeys is true if people can sign in with a passkey.
	Passkeys bool `json:"passkeys" binding:"required"`
} // @name SignInWays

// ForgottenRequest asks for a link to set a new password.
type ForgottenRequest struct {
	Email string `json:"email" validate:"required" format:"email" maxLength:"254" example:"ines@example.org"`
} // @name ForgottenRequest

// ResetRequest sets a new password.
type ResetRequest struct {
	// Token is from the link.
	Token string `json:"token" validate:"required" maxLength:"256" example:"fwt_…"`
	// NewPassword has 8 to 128 characters, is none that is guessed first, and is
	// not only a name.
	NewPassword string `json:"new_password" validate:"required" format:"password" minLength:"8" maxLength:"128"`
} // @name ResetRequest

// ResetLink sets a new password for a member. It is shown this once.
type ResetLink struct {
	// Link opens the page where the member chooses a password.
	Link string `json:"link" binding:"required" format:"uri"`
	// Token is the secret in the link.
	Token string `json:"token" binding:"required" example:"fwt_…"`
	// ExpiresAt is when the link is good no more.
	ExpiresAt time.Time `json:"expires_at" binding:"required" format:"date-time"`
} // @name ResetLink

// EmailRequest gives the account another address.
type EmailRequest struct {
	Email string `json:"email" validate:"required" format:"email" maxLength:"254" example:"ines@example.org"`
	// Password is your password, once more.
	Password string `json:"password" validate:"required" format:"password" example:"seventeen brass kettles"`
} // @name EmailRequest

// EmailChange is what came of asking for another address.
type EmailChange struct {
	// Waiting is true if a link was sent to the new address, which has to be opened
	// first; without mail the address is changed at once.
	Waiting bool `json:"waiting" binding:"required"`
} // @name EmailChange

// LinkToken is the secret in a link that was mailed.
type LinkToken struct {
	Token string `json:"token" validate:"required" maxLength:"256" example:"fwt_…"`
} // @name LinkToken

// SignUpConfirmation finishes signing up.
type SignUpConfirmation struct {
	// Token is from the link.
	Token string `json:"token" validate:"required" maxLength:"256" example:"fwt_…"`
	// Keep is optional: "cookie" puts the refresh token in a cookie that scripts
	// cannot read, instead of in the answer. Only for pages of this host.
	Keep string `json:"keep,omitempty" enums:"cookie"`
} // @name SignUpConfirmation

// MailSent says that a link was sent, if the address can be written to.
type MailSent struct {
	// MailSent is always true.
	MailSent bool `json:"mail_sent" binding:"required" example:"true"`
} // @name MailSent

// SignInNotice is something you are told when you sign in, once.
type SignInNotice struct {
	// By made a link to set a new password for you.
	By string    `json:"by" binding:"required" example:"Ines Duarte"`
	At time.Time `json:"at" binding:"required" format:"date-time"`
} // @name SignInNotice

func encodeSignInNotice(n auth.Notice) SignInNotice { return SignInNotice{By: n.By, At: n.At.UTC()} }

// signInWays says how people can sign in.
//
//	@Summary	Read how to sign in here
//	@ID			getSignInWays
//	@Tags		Access
//	@Produce	json
//	@Param		If-None-Match	header		string	false	"The ETag you already have"
//	@Success	200				{object}	SignInWays
//	@Success	304				"Not modified"
//	@Failure	400,500			{object}	Problem
//	@Router		/v1/sign-in/ways [get]
func (s *Server) signInWays(c echo.Context) error {
	return ok(c, 0, SignInWays{Mail: s.Auth.Mail, Passkeys: s.Auth.Party != nil})
}

// forgotPassword sends a link.
//
//	@Summary		Ask for a link to set a new password
//	@Description	The answer is the same whether or not the address has an account. Refused where the service sends no mail: then your coach or the academy's owner can hand you a link.
//	@ID				forgotPassword
//	@Tags			Access
//	@Accept			json
//	@Produce		json
//	@Param			email	body		ForgottenRequest	true	"Your address"
//	@Success		202		{object}	MailSent
//	@Failure		400,409,413,415,422,429,500,503	{object}	Problem
//	@Router			/v1/password/forgotten [post]
func (s *Server) forgotPassword(c echo.Context) error {
	var r ForgottenRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	if err := s.Auth.ForgotPassword(c.Request().Context(), r.Email, c.RealIP()); err != nil {
		return err
	}
	return mailSent(c)
}

func mailSent(c echo.Context) error {
	noStore(c)
	return writeJSON(c, http.StatusAccepted, MailSent{MailSent: true})
}

// useReset sets a new password.
//
//	@Summary		Set a new password by a link
//	@Description	The link is good once. All sign-ins of the account end. A second factor stays.
//	@ID				resetPassword
//	@Tags			Access
//	@Accept			json
//	@Produce		json
//	@Param			reset	body	ResetRequest	true	"The link's token and the new password"
//	@Success		204		"Set"
//	@Failure		400,404,409,413,415,422,429,500,503	{object}	Problem
//	@Router			/v1/password/reset [post]
func (s *Server) useReset(c echo.Context) error {
	var r ResetRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	if err := s.Auth.UseReset(c.Request().Context(), r.Token, r.NewPassword, c.RealIP()); err != nil {
		return err
	}
	return noContent(c)
}

// handReset makes a link for a member.
//
//	@Summary		Make a link to set a member's password
//	@Description	For owners, for anybody but owners; and for coaches, for their students. Hand it on yourself: it is shown this once, is good once, for a day, and takes the place of any other. The member is told when they next sign in. Refused for people who belong to another academy as well.
//	@ID				createResetLink
//	@Tags			Members
//	@Produce		json
//	@Param			member_id	path		string	true	"The member"	format(uuid)
//	@Success		201			{object}	ResetLink
//	@Failure		400,401,403,404,409,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/members/{member_id}/reset-link [post]
func (s *Server) handReset(c echo.Context) error {
	member, err := pathID(c, "member_id")
	if err != nil {
		return err
	}
	token, expires, err := s.Auth.HandReset(c.Request().Context(), identity(c), member)
	if err != nil {
		return err
	}
	noStore(c)
	link := s.publicURL(c) + "/reset#" + url.PathEscape(token)
	return created(c, "/v1/members/"+string(member), 0, ResetLink{Link: link, Token: token, ExpiresAt: expires.UTC()})
}

// askVerify sends a link to the asker's own address.
//
//	@Summary		Confirm your address
//	@Description	Sends a link to your address. Refused where the service sends no mail.
//	@ID				verifyEmail
//	@Tags			Me
//	@Produce		json
//	@Success		202	{object}	MailSent
//	@Failure		400,401,403,409,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/email/verify [post]
func (s *Server) askVerify(c echo.Context) error {
	if err := s.Auth.AskVerify(c.Request().Context(), identity(c), c.RealIP()); err != nil {
		return err
	}
	return mailSent(c)
}

// changeEmail gives the asker another address.
//
//	@Summary		Change your address
//	@Description	Where the service sends mail, the address is changed once you open the link sent to the new one; then both addresses are told.
//	@ID				changeEmail
//	@Tags			Me
//	@Accept			json
//	@Produce		json
//	@Param			email	body		EmailRequest	true	"The new address and your password"
//	@Success		200		{object}	EmailChange
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/email [put]
func (s *Server) changeEmail(c echo.Context) error {
	var r EmailRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	waiting, err := s.Auth.ChangeEmail(c.Request().Context(), identity(c), r.Email, r.Password, c.RealIP())
	if err != nil {
		return err
	}
	return ok(c, 0, EmailChange{Waiting: waiting})
}

// confirmEmail takes a link from a mail.
//
//	@Summary	Confirm an address by the link sent to it
//	@ID			confirmEmail
//	@Tags		Access
//	@Accept		json
//	@Produce	json
//	@Param		token	body	LinkToken	true	"The link's token"
//	@Success	204		"Confirmed"
//	@Failure	400,404,409,413,415,422,429,500,503	{object}	Problem
//	@Router		/v1/email/confirm [post]
func (s *Server) confirmEmail(c echo.Context) error {
	var r LinkToken
	if err := decode(c, &r); err != nil {
		return err
	}
	if err := s.Auth.ConfirmEmail(c.Request().Context(), r.Token, c.RealIP()); err != nil {
		return err
	}
	return noContent(c)
}

// confirmSignUp takes a link from a mail.
//
//	@Summary		Create the academy, or join one, by the link sent to you
//	@Description	Where the service sends mail, creating an academy sends a link first, and so does accepting an invitation that is bound to no e-mail. This creates the account, and the academy or the member, and signs in.
//	@ID				confirmAcademy
//	@Tags			Access
//	@Accept			json
//	@Produce		json
//	@Param			token	body		SignUpConfirmation	true	"The link's token"
//	@Success		201		{object}	SignedIn
//	@Failure		400,403,404,409,413,415,422,429,500,503	{object}	Problem
//	@Router			/v1/academies/confirm [post]
func (s *Server) confirmSignUp(c echo.Context) error {
	var r SignUpConfirmation
	if err := decode(c, &r); err != nil {
		return err
	}
	if err := checkKeep(c, r.Keep); err != nil {
		return err
	}
	in, err := s.Auth.ConfirmSignUp(c.Request().Context(), r.Token, c.RealIP())
	if err == nil && in.Accepted != nil {
		err = s.giveOnJoining(c, *in.Accepted)
	}
	if err != nil {
		return err
	}
	out, err := s.signedIn(c, in, r.Keep)
	if err != nil {
		return err
	}
	return created(c, "/v1/academy", 0, out)
}
