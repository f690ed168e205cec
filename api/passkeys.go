package api

import (
	"encoding/json"

	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
)

// PasskeyChallenge is what a browser is asked about a passkey.
type PasskeyChallenge struct {
	// Ticket goes with the browser's answer. It is good once, for ten minutes.
	Ticket string `json:"ticket" binding:"required" example:"fwt_…"`
	// Options is for navigator.credentials: its member publicKey has the form of
	// parseCreationOptionsFromJSON or parseRequestOptionsFromJSON (Web
	// Authentication, level 3).
	Options map[string]any `json:"options" binding:"required"`
} // @name PasskeyChallenge

// NewPasskey is a passkey that a browser made.
type NewPasskey struct {
	Ticket string `json:"ticket" validate:"required" maxLength:"256" example:"fwt_…"`
	// Name is what you call it.
	Name string `json:"name" validate:"required" minLength:"1" maxLength:"100" example:"Ines's phone"`
	// Credential is the browser's answer, as its toJSON gives it.
	Credential map[string]any `json:"credential" validate:"required"`
} // @name NewPasskey

// PasskeyAdded is a new passkey, with recovery codes if it is the first second
// factor of the account.
type PasskeyAdded struct {
	Passkey Passkey `json:"passkey" binding:"required"`
	// Codes are empty if there were recovery codes already, which stay good.
	Codes []string `json:"recovery_codes" binding:"required" example:"ABCD-EFGH-2345-WXYZ"`
} // @name PasskeyAdded

// PasskeySignIn is a browser's answer with a passkey.
type PasskeySignIn struct {
	Ticket string `json:"ticket" validate:"required" maxLength:"256" example:"fwt_…"`
	// Credential is the browser's answer, as its toJSON gives it.
	Credential map[string]any `json:"credential" validate:"required"`
	// AcademyID chooses an academy if the account belongs to several; the one
	// joined first by default.
	AcademyID domain.ID `json:"academy_id,omitempty" format:"uuid"`
	// Keep is optional: "cookie" puts the refresh token in a cookie that scripts
	// cannot read, instead of in the answer. Only for pages of this host.
	Keep string `json:"keep,omitempty" enums:"cookie"`
} // @name PasskeySignIn

// answerChallenge sends a challenge.
func answerChallenge(c echo.Context, ch auth.Challenge) error {
	out := PasskeyChallenge{Ticket: ch.Ticket}
	if err := json.Unmarshal(ch.Options, &out.Options); err != nil {
		return err
	}
	return secret(c, out)
}

// beginPasskey asks for a new passkey.
//
//	@Summary		Begin to add a passkey
//	@Description	Gives what to call navigator.credentials.create with. Only where the service's public address is set and begins with https (or is localhost).
//	@ID				beginPasskey
//	@Tags			Me
//	@Accept			json
//	@Produce		json
//	@Param			password	body		PasswordAgain	true	"Your password"
//	@Success		200			{object}	PasskeyChallenge
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/passkeys/begin [post]
func (s *Server) beginPasskey(c echo.Context) error {
	var r PasswordAgain
	if err := decode(c, &r); err != nil {
		return err
	}
	ch, err := s.Auth.BeginPasskey(c.Request().Context(), identity(c), r.Password, c.RealIP())
	if err != nil {
		return err
	}
	return answerChallenge(c, ch)
}

// addPasskey keeps a new passkey.
//
//	@Summary		Add a passkey
//	@Description	Ends all other sign-ins of the account. With your first second factor you get recovery codes, which are shown this once.
//	@ID				addPasskey
//	@Tags			Me
//	@Accept			json
//	@Produce		json
//	@Param			passkey	body		NewPasskey	true	"The browser's answer"
//	@Success		201		{object}	PasskeyAdded
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/passkeys [post]
func (s *Server) addPasskey(c echo.Context) error {
	var r NewPasskey
	if err := decode(c, &r); err != nil {
		return err
	}
	credential, err := json.Marshal(r.Credential)
	if err != nil {
		return err
	}
	p, codes, err := s.Auth.AddPasskey(c.Request().Context(), identity(c), r.Ticket, r.Name, credential, c.RealIP())
	if err != nil {
		return err
	}
	noStore(c)
	return created(c, "/v1/me/second-factor", 0, PasskeyAdded{Passkey: encodePasskey(p), Codes: append([]string{}, codes...)})
}

// removePasskey forgets a passkey.
//
//	@Summary		Remove a passkey
//	@Description	Refused while your academy asks for a second factor and you have no other.
//	@ID				removePasskey
//	@Tags			Me
//	@Accept			json
//	@Produce		json
//	@Param			passkey_id		path	string			true	"The passkey"	format(uuid)
//	@Param			confirmation	body	PasswordAndCode	true	"Your password and a code"
//	@Success		204				"Removed"
//	@Failure		400,401,403,404,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/passkeys/{passkey_id}/remove [post]
func (s *Server) removePasskey(c echo.Context) error {
	id, err := pathID(c, "passkey_id")
	if err != nil {
		return err
	}
	r, err := confirmation(c)
	if err != nil {
		return err
	}
	if err := s.Auth.RemovePasskey(c.Request().Context(), identity(c), id, r); err != nil {
		return err
	}
	return noContent(c)
}

// beginPasskeySignIn asks for any passkey.
//
//	@Summary		Begin to sign in with a passkey
//	@Description	Gives what to call navigator.credentials.get with. It tells nothing of any account.
//	@ID				beginPasskeySignIn
//	@Tags			Access
//	@Produce		json
//	@Success		200	{object}	PasskeyChallenge
//	@Failure		400,409,429,500,503	{object}	Problem
//	@Router			/v1/sign-in/passkey/begin [post]
func (s *Server) beginPasskeySignIn(c echo.Context) error {
	ch, err := s.Auth.BeginPasskeySignIn(c.Request().Context(), c.RealIP())
	if err != nil {
		return err
	}
	return answerChallenge(c, ch)
}

// passkeySignIn starts a sign-in.
//
//	@Summary		Sign in with a passkey
//	@Description	A passkey needs neither a password nor a code.
//	@ID				signInWithPasskey
//	@Tags			Access
//	@Accept			json
//	@Produce		json
//	@Param			passkey	body		PasskeySignIn	true	"The browser's answer"
//	@Success		200		{object}	SignedIn
//	@Failure		400,401,403,404,409,413,415,422,429,500,503	{object}	Problem
//	@Router			/v1/sign-in/passkey [post]
func (s *Server) passkeySignIn(c echo.Context) error {
	var r PasskeySignIn
	if err := decode(c, &r); err != nil {
		return err
	}
	if err := checkKeep(c, r.Keep); err != nil {
		return err
	}
	credential, err := json.Marshal(r.Credential)
	if err != nil {
		return err
	}
	in, err := s.Auth.PasskeySignIn(c.Request().Context(), r.Ticket, credential, r.AcademyID, c.RealIP())
	return s.answerSignIn(c, ByPasskey, in, r.Keep, err)
}
