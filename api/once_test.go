package api_test

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"testing"

	"fringework/api"
	"fringework/domain"
)

// A request whose answer was lost is sent again, and answered as it was: nothing is made
// twice, and a secret that is shown once is shown to who asked for it alone.
func TestIdempotencyKey(t *testing.T) {
	h := newFixture(t)
	owner := h.signUp("Ines")
	coach := h.join(owner.AccessToken, "Carl", object{"role": "coach"})
	token := owner.AccessToken
	named := func(key string) func(*http.Request) { return set("Idempotency-Key", key) }
	const one, two = "0198c5f2-0000-7000-8000-00000000aaaa", `"0198c5f2-0000-7000-8000-00000000bbbb"`
	body := object{"name": "Newsletter", "scopes": []string{"progress:read"}}
	first := h.do("POST", "/v1/keys", body, as(token), named(one)).want(201)
	if first.header.Get("Idempotency-Replayed") != "" {
		t.Error("the first answer says that it is one given again")
	}
	again := h.do("POST", "/v1/keys", body, as(token), named(one)).want(201)
	if string(again.body) != string(first.body) || again.header.Get("Idempotency-Replayed") != "true" ||
		again.header.Get("Location") != first.header.Get("Location") || again.header.Get("Cache-Control") != first.header.Get("Cache-Control") {
		t.Errorf("again: %v %s\nwant %v %s", again.header, again.body, first.header, first.body)
	}
	if keys := read[api.KeyPage](h, "/v1/keys", token); len(keys.Items) != 1 {
		t.Errorf("%d keys, want one", len(keys.Items))
	}
	h.do("POST", "/v1/keys", object{"name": "Other", "scopes": []string{"progress:read"}}, as(token), named(one)).problem(422, "idempotency_key_reused")
	h.do("POST", "/v1/groups", body, as(token), named(one)).problem(422, "idempotency_key_reused")

	// A refusal is not kept: corrected, the request may be sent with the same key.
	h.do("POST", "/v1/groups", object{"name": "", "student_ids": []string{}}, as(token), named(two)).problem(422, "group_invalid")
	h.do("POST", "/v1/groups", object{"name": "Saturday", "student_ids": []string{}}, as(token), named(two)).want(201)
	// Everybody's keys are their own.
	h.do("POST", "/v1/groups", object{"name": "Sunday", "student_ids": []string{}}, as(coach.AccessToken), named(two)).want(201)
	for _, name := range []string{"Carlo", "Carlo"} {
		var me api.Me
		h.do("PATCH", "/v1/me", object{"name": name}, as(coach.AccessToken), named("once-"+one)).want(200).read(&me)
		if me.Member.Name != "Carlo" {
			t.Errorf("called %q; want what was just stored", me.Member.Name)
		}
	}
	h.do("DELETE", "/v1/keys/"+keyOf(first), nil, as(token), named("gone-"+one)).want(204)
	h.do("DELETE", "/v1/keys/"+keyOf(first), nil, as(token), named("gone-"+one)).want(204)
	for _, bad := range []string{"short", strings.Repeat("x", 256), "has a space in the middle", `"unfinished quotes"x"`} {
		h.do("POST", "/v1/keys", body, as(token), named(bad)).problem(400, "idempotency_key")
	}
	// Where a request sent again does the same again, the header changes nothing.
	h.do("POST", "/v1/calc/split", object{"minutes": 45, "shares": []int{50, 50}}, as(token), named(one)).want(200)
}

func keyOf(made answer) string {
	var k api.KeyCreated
	made.read(&k)
	return string(k.ID)
}

// While a request is under way, the same one is told to wait; see also the test of the
// store.
func TestIdempotencyKeyUnderWay(t *testing.T) {
	h := newFixture(t, func(c *api.Config) { c.Repeats = busy{} })
	owner := h.signUp("Ines")
	h.do("POST", "/v1/groups", object{"name": "Saturday", "student_ids": []string{}}, as(owner.AccessToken),
		set("Idempotency-Key", "0198c5f2-0000-7000-8000-00000000aaaa")).problem(409, "idempotency_in_progress")
}

type busy struct{}

func (busy) Once(context.Context, domain.Claim, func(context.Context) ([]byte, error)) ([]byte, bool, error) {
	return nil, false, domain.Errorf(domain.Conflict, "idempotency_in_progress", "Wait.").Because(errors.New("under way"))
}
