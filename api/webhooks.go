package api

import (
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/api/hook"
	"fringework/domain"
	"fringework/domain/webhook"
)

// WebhookRequest describes a webhook.
type WebhookRequest struct {
	// Name is the software that is told.
	Name string `json:"name" validate:"required" minLength:"1" maxLength:"100" example:"Club website"`
	// URL begins with https:// and answers POST. It is reached from the service, so
	// it must be a public address unless the operator allows others.
	URL string `json:"url" validate:"required" maxLength:"1000" format:"uri" example:"https://club.example/hooks/golf"`
	// Kinds of events to tell of; left out or empty for all that there are.
	Kinds []string `json:"kinds,omitempty" extensions:"x-words=webhook_kinds" example:"session.stored,milestone.made"`
	// Enabled is false to tell nothing for now; left out it is true. A webhook that
	// is enabled again is told of what happened meanwhile.
	Enabled *bool `json:"enabled,omitempty" example:"true"`
} // @name WebhookRequest

// Webhook is an address that is told of events.
type Webhook struct {
	ID       domain.ID `json:"id" binding:"required" format:"uuid"`
	Revision int       `json:"revision" binding:"required" minimum:"1" example:"1"`
	Name     string    `json:"name" binding:"required" example:"Club website"`
	// URL is where it is told.
	URL string `json:"url" binding:"required" format:"uri" example:"https://club.example/hooks/golf"`
	// Kinds of events that it is told of; empty for all that there are.
	Kinds []string `json:"kinds" binding:"required" extensions:"x-words=webhook_kinds"`
	// Enabled is whether it is told of events now.
	Enabled   bool      `json:"enabled" binding:"required" example:"true"`
	CreatedBy domain.ID `json:"created_by" binding:"required" format:"uuid"`
	CreatedAt time.Time `json:"created_at" binding:"required" format:"date-time"`
	// DisabledAt is when it was switched off, and DisabledFor why: an owner did (by_owner), since
	// it failed for five days (failing), or since it answered 410 (gone).
	DisabledAt  *time.Time `json:"disabled_at,omitempty" format:"date-time"`
	DisabledFor string     `json:"disabled_for,omitempty" extensions:"x-words=webhook_reasons" example:"failing"`
	// FailingSince is when the first of the latest failures was; absent while it
	// works. After five days without a success it is switched off.
	FailingSince *time.Time `json:"failing_since,omitempty" format:"date-time"`
	// OldSecretUntil is until when the secret before the last rotation signs as well.
	OldSecretUntil *time.Time `json:"old_secret_until,omitempty" format:"date-time"`
} // @name Webhook

// WebhookSecret is a webhook with its secret. The secret is shown only this once.
type WebhookSecret struct {
	Webhook
	// Secret verifies what is sent, as the Standard Webhooks specification says.
	Secret string `json:"secret" binding:"required" example:"whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"`
} // @name WebhookSecret

// WebhookPage are the academy's webhooks: all of them are one page.
type WebhookPage struct {
	Items []Webhook `json:"items" binding:"required"`
	Links Links     `json:"links" binding:"required"`
} // @name WebhookPage

// WebhookDelivery is an event on its way to a webhook.
type WebhookDelivery struct {
	ID domain.ID `json:"id" binding:"required" format:"uuid"`
	// MessageID is the webhook-id header, the same at every try.
	MessageID string `json:"message_id" binding:"required" example:"msg_0198c5f2-0000-7000-8000-000000000000"`
	// Number is the event's number in the log; absent for a test.
	Number int64 `json:"number,omitempty" minimum:"1" example:"42"`
	// Kind is the event's kind; webhook.ping for a test.
	Kind string `json:"kind" binding:"required" example:"session.stored"`
	// SubjectID is what the event is about.
	SubjectID domain.ID `json:"subject_id" binding:"required" format:"uuid"`
	StudentID domain.ID `json:"student_id,omitempty" format:"uuid"`
	// At is when the event happened.
	At time.Time `json:"at" binding:"required" format:"date-time"`
	// State is waiting until the receiver answers 2xx (delivered), or failed after
	// ten days of tries.
	State string `json:"state" binding:"required" extensions:"x-words=webhook_states" example:"delivered"`
	// Attempts counts the tries so far.
	Attempts int `json:"attempts" binding:"required" minimum:"0" example:"1"`
	// DueAt is when the next try is, while it waits.
	DueAt *time.Time `json:"due_at,omitempty" format:"date-time"`
	// LastAt is when the last try was, Status the HTTP status that it got, if any, and
	// Failure what went wrong.
	LastAt  *time.Time `json:"last_at,omitempty" format:"date-time"`
	Status  int        `json:"status,omitempty" example:"200"`
	Failure string     `json:"failure,omitempty" example:"The receiver answered 503."`
} // @name WebhookDelivery

// WebhookDeliveryPage is one page of a webhook's deliveries, the latest first.
type WebhookDeliveryPage struct {
	Items []WebhookDelivery `json:"items" binding:"required"`
	Links Links             `json:"links" binding:"required"`
} // @name WebhookDeliveryPage

func (s *Server) encodeWebhook(e webhook.Endpoint) Webhook {
	w := Webhook{
		ID: e.ID, Revision: e.Revision, Name: e.Name, URL: e.URL, Kinds: append([]string{}, e.Kinds...), Enabled: e.On(),
		CreatedBy: e.CreatedBy, CreatedAt: e.CreatedAt.UTC(), DisabledAt: instant(e.DisabledAt), DisabledFor: string(e.Disabled),
		FailingSince: instant(e.FailingSince),
	}
	if len(e.Secrets(s.Now())) > 1 {
		w.OldSecretUntil = instant(e.OldUntil)
	}
	return w
}

func encodeDelivery(d webhook.Delivery) WebhookDelivery {
	w := WebhookDelivery{
		ID: d.ID, MessageID: hook.MessageID(d), Number: d.Event, Kind: d.Kind, SubjectID: d.Subject, StudentID: d.Student, At: d.At.UTC(),
		State: string(d.State), Attempts: d.Attempts, LastAt: instant(d.LastAt), Status: d.Status, Failure: d.Failure,
	}
	if d.State == webhook.Waiting {
		w.DueAt = instant(d.Due)
	}
	return w
}

func (r WebhookRequest) request() webhook.Request {
	return webhook.Request{Name: r.Name, URL: r.URL, Kinds: r.Kinds, Off: r.Enabled != nil && !*r.Enabled}
}

// createWebhook makes a webhook.
//
//	@Summary		Create a webhook
//	@Description	The service POSTs a WebhookPayload to the address for each event from now on, signed by the Standard Webhooks specification (headers webhook-id, webhook-timestamp and webhook-signature; https://www.standardwebhooks.com has libraries that verify it). The answer has the secret, shown only this once.
//	@Description
//	@Description	Answer 2xx within ten seconds; do the work afterwards. Anything else is a failure, redirects too, and is tried again after 5 seconds, then after ever longer times up to six hours, for ten days; Retry-After is heeded. After five days without a success, or a 410, the webhook is switched off: webhook.disabled is in the log, and the desk's page of webhooks says so. An event may come twice, with the same webhook-id, and not in order: read what it names through the API.
//	@ID				createWebhook
//	@Tags			Webhooks
//	@Accept			json
//	@Produce		json
//	@Param			webhook	body		WebhookRequest	true	"The webhook"
//	@Success		201		{object}	WebhookSecret
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/webhooks [post]
func (s *Server) createWebhook(c echo.Context) error {
	var r WebhookRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	e, err := s.Webhooks.Create(c.Request().Context(), actor(c), r.request())
	if err != nil {
		return err
	}
	noStore(c)
	return created(c, "/v1/webhooks/"+string(e.ID), e.Revision, WebhookSecret{Webhook: s.encodeWebhook(e), Secret: e.Secret})
}

// listWebhooks lists webhooks.
//
//	@Summary		List webhooks
//	@Description	All of them, ten at most.
//	@ID				listWebhooks
//	@Tags			Webhooks
//	@Produce		json
//	@Success		200	{object}	WebhookPage
//	@Success		304	"Not modified"
//	@Failure		400,401,403,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/webhooks [get]
func (s *Server) listWebhooks(c echo.Context) error {
	if err := refuseQuery(c); err != nil {
		return err
	}
	all, err := s.Webhooks.List(c.Request().Context(), actor(c))
	if err != nil {
		return err
	}
	return ok(c, 0, WebhookPage{Items: each(all, s.encodeWebhook)})
}

// getWebhook reads a webhook.
//
//	@Summary	Read a webhook
//	@ID			getWebhook
//	@Tags		Webhooks
//	@Produce	json
//	@Param		webhook_id		path		string	true	"The webhook"	format(uuid)
//	@Param		If-None-Match	header		string	false	"The ETag you already have"
//	@Success	200				{object}	Webhook
//	@Success	304				"Not modified"
//	@Failure	400,401,403,404,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/webhooks/{webhook_id} [get]
func (s *Server) getWebhook(c echo.Context) error {
	id, err := pathID(c, "webhook_id")
	if err != nil {
		return err
	}
	e, err := s.Webhooks.Get(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return ok(c, e.Revision, s.encodeWebhook(e))
}

// updateWebhook replaces a webhook.
//
//	@Summary		Replace a webhook
//	@Description	One that was switched off and is enabled again is told of everything since, as far as the log is kept; what was waiting is tried at once.
//	@ID				updateWebhook
//	@Tags			Webhooks
//	@Accept			json
//	@Produce		json
//	@Param			webhook_id	path		string			true	"The webhook"	format(uuid)
//	@Param			If-Match	header		string			false	"The ETag of the version you are changing"
//	@Param			webhook		body		WebhookRequest	true	"The webhook"
//	@Success		200			{object}	Webhook
//	@Failure		400,401,403,404,412,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/webhooks/{webhook_id} [put]
func (s *Server) updateWebhook(c echo.Context) error {
	id, err := pathID(c, "webhook_id")
	if err != nil {
		return err
	}
	revision, err := ifMatch(c)
	if err != nil {
		return err
	}
	var r WebhookRequest
	if err := decodeReadBack[Webhook](c, &r); err != nil {
		return err
	}
	e, err := s.Webhooks.Change(c.Request().Context(), actor(c), id, revision, r.request())
	if err != nil {
		return err
	}
	return ok(c, e.Revision, s.encodeWebhook(e))
}

// deleteWebhook forgets a webhook.
//
//	@Summary		Delete a webhook
//	@Description	What it was not told yet is forgotten.
//	@ID				deleteWebhook
//	@Tags			Webhooks
//	@Produce		json
//	@Param			webhook_id	path	string	true	"The webhook"	format(uuid)
//	@Success		204			"Deleted"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/webhooks/{webhook_id} [delete]
func (s *Server) deleteWebhook(c echo.Context) error {
	id, err := pathID(c, "webhook_id")
	if err != nil {
		return err
	}
	if err := s.Webhooks.Delete(c.Request().Context(), actor(c), id); err != nil {
		return err
	}
	return noContent(c)
}

// rotateWebhook gives a webhook a new secret.
//
//	@Summary		Make a new secret for a webhook
//	@Description	The answer has the new secret, shown only this once. For 24 hours both the old and the new one sign, so that you can change it at the receiver without missing anything.
//	@ID				rotateWebhook
//	@Tags			Webhooks
//	@Produce		json
//	@Param			webhook_id	path		string	true	"The webhook"	format(uuid)
//	@Success		200			{object}	WebhookSecret
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/webhooks/{webhook_id}/rotate [post]
func (s *Server) rotateWebhook(c echo.Context) error {
	id, err := pathID(c, "webhook_id")
	if err != nil {
		return err
	}
	e, err := s.Webhooks.Rotate(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	noStore(c)
	return ok(c, 0, WebhookSecret{Webhook: s.encodeWebhook(e), Secret: e.Secret})
}

// testWebhook sends something to try a webhook.
//
//	@Summary		Try a webhook
//	@Description	Sends a webhook.ping once, within a few seconds. Read its deliveries for what came of it.
//	@ID				testWebhook
//	@Tags			Webhooks
//	@Produce		json
//	@Param			webhook_id	path		string	true	"The webhook"	format(uuid)
//	@Success		200			{object}	WebhookDelivery
//	@Failure		400,401,403,404,409,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/webhooks/{webhook_id}/test [post]
func (s *Server) testWebhook(c echo.Context) error {
	id, err := pathID(c, "webhook_id")
	if err != nil {
		return err
	}
	d, err := s.Webhooks.Ping(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return writeJSON(c, http.StatusOK, encodeDelivery(d))
}

// listDeliveries lists what a webhook was told.
//
//	@Summary		List a webhook's deliveries
//	@Description	The latest first. Those that are over are listed for 30 days.
//	@ID				listDeliveries
//	@Tags			Webhooks
//	@Produce		json
//	@Param			webhook_id	path		string	true	"The webhook"	format(uuid)
//	@Param			limit		query		int		false	"Page size"		minimum(1)	maximum(200)	default(50)
//	@Param			cursor		query		string	false	"Where to continue, from links.next"
//	@Success		200			{object}	WebhookDeliveryPage
//	@Success		304			"Not modified"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/webhooks/{webhook_id}/deliveries [get]
func (s *Server) listDeliveries(c echo.Context) error {
	q := newQuery(c)
	page := q.page()
	if err := q.done(); err != nil {
		return err
	}
	id, err := pathID(c, "webhook_id")
	if err != nil {
		return err
	}
	all, err := s.Webhooks.Deliveries(c.Request().Context(), actor(c), id, page)
	if err != nil {
		return err
	}
	items, links := pageOf(c, page, all, func(d webhook.Delivery) domain.ID { return d.ID }, encodeDelivery)
	return ok(c, 0, WebhookDeliveryPage{Items: items, Links: links})
}

// resendDelivery sends a delivery again.
//
//	@Summary		Send a delivery again
//	@Description	Whatever came of it, under the same webhook-id, within a few seconds.
//	@ID				resendDelivery
//	@Tags			Webhooks
//	@Produce		json
//	@Param			webhook_id	path		string	true	"The webhook"	format(uuid)
//	@Param			delivery_id	path		string	true	"The delivery"	format(uuid)
//	@Success		200			{object}	WebhookDelivery
//	@Failure		400,401,403,404,409,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/webhooks/{webhook_id}/deliveries/{delivery_id}/resend [post]
func (s *Server) resendDelivery(c echo.Context) error {
	id, err := pathID(c, "webhook_id")
	if err != nil {
		return err
	}
	delivery, err := pathID(c, "delivery_id")
	if err != nil {
		return err
	}
	d, err := s.Webhooks.Resend(c.Request().Context(), actor(c), id, delivery)
	if err != nil {
		return err
	}
	return writeJSON(c, http.StatusOK, encodeDelivery(d))
}
