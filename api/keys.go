package api

import (
	"time"

	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
)

// KeyRequest describes an application key to create.
type KeyRequest struct {
	// Name is the software that the key is for.
	Name   string   `json:"name" validate:"required" minLength:"1" maxLength:"100" example:"Club newsletter"`
	Scopes []string `json:"scopes" validate:"required" minItems:"1" enums:"sessions:read,progress:read,programmes:read,members:read,events:read,calc:use" example:"sessions:read,progress:read"`
} // @name KeyRequest

// Key is an application key, which lets other software read the academy's data.
type Key struct {
	// ID is the OAuth client_id.
	ID     domain.ID `json:"id" binding:"required" format:"uuid"`
	Name   string    `json:"name" binding:"required" example:"Club newsletter"`
	Scopes []string  `json:"scopes" binding:"required" enums:"sessions:read,progress:read,programmes:read,members:read,events:read,calc:use"`
	// CreatedBy is the member who created it.
	CreatedBy domain.ID `json:"created_by" binding:"required" format:"uuid"`
	CreatedAt time.Time `json:"created_at" binding:"required" format:"date-time"`
	// UsedAt is when it was last exchanged for a token.
	UsedAt    *time.Time `json:"used_at,omitempty" format:"date-time"`
	RevokedAt *time.Time `json:"revoked_at,omitempty" format:"date-time"`
} // @name Key

// KeyCreated is a new key with its secret. The secret is shown only this once.
type KeyCreated struct {
	Key
	// ClientSecret is the secret of the key, shown this once.
	ClientSecret string `json:"client_secret" binding:"required" example:"fwk_example-only-not-a-real-secret"`
} // @name KeyCreated

// KeyPage is one page of the academy's keys.
type KeyPage struct {
	Items []Key `json:"items" binding:"required"`
	Links Links `json:"links" binding:"required"`
} // @name KeyPage

func encodeKey(k auth.AppKey) Key {
	return Key{
		ID: k.ID, Name: k.Name, Scopes: each(k.Scopes, func(s auth.Scope) string { return string(s) }),
		CreatedBy: k.By, CreatedAt: k.Created.UTC(), UsedAt: instant(k.Used), RevokedAt: instant(k.Revoked),
	}
}

// createKey makes an application key.
//
//	@Summary		Create an application key
//	@Description	The answer has the secret, shown only this once: copy it now. The software exchanges it for access tokens at /v1/oauth/token.
//	@ID				createKey
//	@Tags			Keys
//	@Accept			json
//	@Produce		json
//	@Param			key	body		KeyRequest	true	"The key"
//	@Success		201	{object}	KeyCreated
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/keys [post]
func (s *Server) createKey(c echo.Context) error {
	var r KeyRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	scopes := each(r.Scopes, func(text string) auth.Scope { return auth.Scope(text) })
	k, secret, err := s.Auth.CreateKey(c.Request().Context(), actor(c), r.Name, scopes)
	if err != nil {
		return err
	}
	noStore(c)
	return created(c, "/v1/keys/"+string(k.ID), 0, KeyCreated{Key: encodeKey(k), ClientSecret: secret})
}

// listKeys lists application keys.
//
//	@Summary	List application keys
//	@ID			listKeys
//	@Tags		Keys
//	@Produce	json
//	@Param		limit	query		int		false	"Page size"	minimum(1)	maximum(200)	default(50)
//	@Param		cursor	query		string	false	"Where to continue, from links.next"
//	@Success	200		{object}	KeyPage
//	@Success	304		"Not modified"
//	@Failure	400,401,403,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/keys [get]
func (s *Server) listKeys(c echo.Context) error {
	q := newQuery(c)
	page := q.page()
	if err := q.done(); err != nil {
		return err
	}
	keys, err := s.Auth.ListKeys(c.Request().Context(), actor(c), page)
	if err != nil {
		return err
	}
	items, links := pageOf(c, page, keys, func(k auth.AppKey) domain.ID { return k.ID }, encodeKey)
	return ok(c, 0, KeyPage{Items: items, Links: links})
}

// getKey reads an application key.
//
//	@Summary	Read an application key
//	@ID			getKey
//	@Tags		Keys
//	@Produce	json
//	@Param		key_id			path		string	true	"The key"	format(uuid)
//	@Param		If-None-Match	header		string	false	"The ETag you already have"
//	@Success	200				{object}	Key
//	@Success	304				"Not modified"
//	@Failure	400,401,403,404,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/keys/{key_id} [get]
func (s *Server) getKey(c echo.Context) error {
	id, err := pathID(c, "key_id")
	if err != nil {
		return err
	}
	k, err := s.Auth.Key(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return ok(c, 0, encodeKey(k))
}

// revokeKey withdraws an application key.
//
//	@Summary		Revoke an application key
//	@Description	Its tokens stop working at once. Revoking twice changes nothing.
//	@ID				revokeKey
//	@Tags			Keys
//	@Produce		json
//	@Param			key_id	path	string	true	"The key"	format(uuid)
//	@Success		204		"Revoked"
//	@Failure		400,401,403,404,409,413,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/keys/{key_id} [delete]
func (s *Server) revokeKey(c echo.Context) error {
	id, err := pathID(c, "key_id")
	if err != nil {
		return err
	}
	if err := s.Auth.RevokeKey(c.Request().Context(), actor(c), id); err != nil {
		return err
	}
	return noContent(c)
}
