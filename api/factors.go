package api

import (
	"time"

	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
)

// SecondStep is what is left to do after the password, for an account with a
// second factor.
type SecondStep struct {
	// Ticket goes into the next request.
	Ticket string `json:"ticket" binding:"required" example:"fwt_…"`
	// Methods are how the second factor can be shown, the usual one first.
	Methods []string `json:"methods" binding:"required" enums:"authenticator,passkey,recovery_code"`
	// ExpiresAt is when the sign-in has to begin again.
	ExpiresAt time.Time `json:"expires_at" binding:"required" format:"date-time"`
} // @name SecondStep

// SecondStepRequest finishes a sign-in with a code.
type SecondStepRequest struct {
	// Ticket is from the answer to the password.
	Ticket string `json:"ticket" validate:"required" maxLength:"256"`
	// Code is the six digits that the app shows, or a recovery code.
	Code string `json:"code" validate:"required" maxLength:"64" example:"492039"`
	// Keep is optional: "cookie" puts the refresh token in a cookie that scripts
	// cannot read, instead of in the answer. Only for pages of this host.
	Keep string `json:"keep,omitempty" enums:"cookie"`
} // @name SecondStepRequest

// SecondFactor is what an account has beside its password.
type SecondFactor struct {
	// AuthenticatorSince is when the app for codes was set up; absent without one.
	AuthenticatorSince *time.Time `json:"authenticator_since,omitempty" format:"date-time"`
	// Passkeys are the passkeys of the account, the oldest first.
	Passkeys []Passkey `json:"passkeys" binding:"required"`
	// RecoveryCodesLeft is how many recovery codes have not been used.
	RecoveryCodesLeft int `json:"recovery_codes_left" binding:"required" minimum:"0" maximum:"10" example:"9"`
	// Required is true if an academy asks its owners and coaches for a second
	// factor, and the account is one of these.
	Required bool `json:"required" binding:"required"`
} // @name SecondFactor

// Passkey is a key on a device, instead of a password or beside it.
type Passkey struct {
	ID domain.ID `json:"id" binding:"required" format:"uuid"`
	// Name is what its owner calls it.
	Name      string    `json:"name" binding:"required" maxLength:"100" example:"Ines's phone"`
	CreatedAt time.Time `json:"created_at" binding:"required" format:"date-time"`
	// UsedAt is when somebody last signed in with it; absent if never.
	UsedAt *time.Time `json:"used_at,omitempty" format:"date-time"`
} // @name Passkey

// PasswordAgain is the asker's password, once more.
type PasswordAgain struct {
	Password string `json:"password" validate:"required" format:"password" example:"seventeen brass kettles"`
} // @name PasswordAgain

// Enrolment is what an app for codes needs to know. It is shown this once.
type Enrolment struct {
	// Secret is to be typed into an app (base32).
	Secret string `json:"secret" binding:"required" example:"EXAMPLEONLYNOTASECRET234567ABCDE"`
	// URI opens an app on the same device.
	URI string `json:"uri" binding:"required" format:"uri" example:"otpauth://totp/Fringework:ines@example.org?issuer=Fringework&secret=JBSWY3DPEHPK3PXP"`
	// Picture is the URI as a QR code, for the camera of another device: rows from
	// top to bottom, a 1 for each dark square and a 0 for each light one, without
	// the light border of four squares that it needs.
	Picture []string `json:"picture" binding:"required" example:"1111111001"`
} // @name Enrolment

// CodeOfApp is a code that the app shows.
type CodeOfApp struct {
	// Code is six digits.
	Code string `json:"code" validate:"required" maxLength:"64" example:"492039"`
} // @name CodeOfApp

// PasswordAndCode confirm a change of how somebody signs in.
type PasswordAndCode struct {
	Password string `json:"password" validate:"required" format:"password" example:"seventeen brass kettles"`
	// Code is the six digits that the app shows, or a recovery code.
	Code string `json:"code" validate:"required" maxLength:"64" example:"492039"`
} // @name PasswordAndCode

// RecoveryCodes are codes for whoever has lost their app. They are shown this
// once; each is good once.
type RecoveryCodes struct {
	// Codes are empty if there were recovery codes already, which stay good.
	Codes []string `json:"recovery_codes" binding:"required" example:"ABCD-EFGH-2345-WXYZ"`
} // @name RecoveryCodes

// FactorRule says whether an academy asks for a second factor.
type FactorRule struct {
	// Required is true if owners and coaches must have a second factor.
	Required bool `json:"required" binding:"required" validate:"required"`
} // @name FactorRule

func encodePasskey(p auth.Passkey) Passkey {
	return Passkey{ID: p.ID, Name: p.Name, CreatedAt: p.Created.UTC(), UsedAt: instant(p.Used)}
}

// finishSignIn is the second step of signing in.
//
//	@Summary		Sign in: give a code
//	@Description	For an account with a second factor, the answer to the password is 202 and a ticket. Send the ticket here with the six digits that the app shows, or with a recovery code. A code is good once. After five wrong codes begin again with the password.
//	@ID				finishSignIn
//	@Tags			Access
//	@Accept			json
//	@Produce		json
//	@Param			code	body		SecondStepRequest	true	"The ticket and a code"
//	@Success		200		{object}	SignedIn
//	@Failure		400,401,403,404,413,415,422,429,500,503	{object}	Problem
//	@Router			/v1/sign-in/code [post]
func (s *Server) finishSignIn(c echo.Context) error {
	var r SecondStepRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	if err := checkKeep(c, r.Keep); err != nil {
		return err
	}
	in, err := s.Auth.FinishSignIn(c.Request().Context(), auth.Code{Ticket: r.Ticket, Code: r.Code, Address: c.RealIP()})
	return s.answerSignIn(c, ByCode, in, r.Keep, err)
}

// getFactors reads what the asker has beside a password.
//
//	@Summary	Read your second factor
//	@ID			getSecondFactor
//	@Tags		Me
//	@Produce	json
//	@Param		If-None-Match	header		string	false	"The ETag you already have"
//	@Success	200				{object}	SecondFactor
//	@Success	304				"Not modified"
//	@Failure	400,401,403,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/me/second-factor [get]
func (s *Server) getFactors(c echo.Context) error {
	f, err := s.Auth.Factors(c.Request().Context(), identity(c).Account)
	if err != nil {
		return err
	}
	return ok(c, 0, SecondFactor{
		AuthenticatorSince: instant(f.Authenticator), Passkeys: each(f.Passkeys, encodePasskey),
		RecoveryCodesLeft: f.RecoveryCodes, Required: f.Required,
	})
}

// secret answers with something that is shown once.
func secret(c echo.Context, v any) error {
	noStore(c)
	return writeJSON(c, 200, v)
}

// beginAuthenticator prepares an app for codes.
//
//	@Summary		Set up an app for codes
//	@Description	Gives a secret for an app that shows a code of six digits every half minute (TOTP, RFC 6238). It counts once you confirm it with a code. Asking again makes another secret.
//	@ID				beginAuthenticator
//	@Tags			Me
//	@Accept			json
//	@Produce		json
//	@Param			password	body		PasswordAgain	true	"Your password"
//	@Success		200			{object}	Enrolment
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/authenticator [post]
func (s *Server) beginAuthenticator(c echo.Context) error {
	var r PasswordAgain
	if err := decode(c, &r); err != nil {
		return err
	}
	e, err := s.Auth.BeginAuthenticator(c.Request().Context(), identity(c), r.Password, c.RealIP())
	if err != nil {
		return err
	}
	return secret(c, Enrolment{Secret: e.Secret, URI: e.URI, Picture: each(e.Picture, digits)})
}

// digits writes a row of modules.
func digits(row []bool) string {
	text := make([]byte, len(row))
	for i, dark := range row {
		text[i] = '0'
		if dark {
			text[i] = '1'
		}
	}
	return string(text)
}

// confirmAuthenticator turns an app on.
//
//	@Summary		Confirm your app for codes
//	@Description	From now on signing in asks for a code as well. Ends all other sign-ins of the account. With your first second factor you get recovery codes, which are shown this once.
//	@ID				confirmAuthenticator
//	@Tags			Me
//	@Accept			json
//	@Produce		json
//	@Param			code	body		CodeOfApp	true	"A code that the app shows"
//	@Success		200		{object}	RecoveryCodes
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/authenticator/confirm [post]
func (s *Server) confirmAuthenticator(c echo.Context) error {
	var r CodeOfApp
	if err := decode(c, &r); err != nil {
		return err
	}
	codes, err := s.Auth.ConfirmAuthenticator(c.Request().Context(), identity(c), r.Code)
	if err != nil {
		return err
	}
	return secret(c, RecoveryCodes{Codes: append([]string{}, codes...)})
}

// confirmation reads a password and a code.
func confirmation(c echo.Context) (auth.Confirmation, error) {
	var r PasswordAndCode
	err := decode(c, &r)
	return auth.Confirmation{Password: r.Password, Code: r.Code, Address: c.RealIP()}, err
}

// removeAuthenticator turns an app off.
//
//	@Summary		Remove your app for codes
//	@Description	Signing in then asks for no code any more. Refused while your academy asks for a second factor and you have no other.
//	@ID				removeAuthenticator
//	@Tags			Me
//	@Accept			json
//	@Produce		json
//	@Param			confirmation	body	PasswordAndCode	true	"Your password and a code"
//	@Success		204				"Removed"
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/authenticator/remove [post]
func (s *Server) removeAuthenticator(c echo.Context) error {
	r, err := confirmation(c)
	if err != nil {
		return err
	}
	if err := s.Auth.RemoveAuthenticator(c.Request().Context(), identity(c), r); err != nil {
		return err
	}
	return noContent(c)
}

// renewRecoveryCodes makes new recovery codes.
//
//	@Summary		Make new recovery codes
//	@Description	The former ones are good no more.
//	@ID				renewRecoveryCodes
//	@Tags			Me
//	@Accept			json
//	@Produce		json
//	@Param			confirmation	body		PasswordAndCode	true	"Your password and a code"
//	@Success		200				{object}	RecoveryCodes
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/recovery-codes [post]
func (s *Server) renewRecoveryCodes(c echo.Context) error {
	r, err := confirmation(c)
	if err != nil {
		return err
	}
	codes, err := s.Auth.RenewRecoveryCodes(c.Request().Context(), identity(c), r)
	if err != nil {
		return err
	}
	return secret(c, RecoveryCodes{Codes: codes})
}

// putFactorRule says whether the academy asks for a second factor.
//
//	@Summary		Ask owners and coaches for a second factor
//	@Description	For owners who have one themselves. An owner or coach without one can then do nothing but set one up: when they next sign in, and where they are signed in, within ten minutes.
//	@ID				putSecondFactorRule
//	@Tags			Academy
//	@Accept			json
//	@Produce		json
//	@Param			rule	body		FactorRule	true	"Whether it is required"
//	@Success		200		{object}	FactorRule
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/academy/second-factor [put]
func (s *Server) putFactorRule(c echo.Context) error {
	var r FactorRule
	if err := decode(c, &r); err != nil {
		return err
	}
	if err := s.Auth.RequireFactor(c.Request().Context(), identity(c), r.Required); err != nil {
		return err
	}
	return ok(c, 0, r)
}
