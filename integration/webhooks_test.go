package integration_test

import (
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	standardwebhooks "github.com/standard-webhooks/standard-webhooks/libraries/go"

	"fringework/api"
	"fringework/domain"
)

// posted is what a receiver was sent.
type posted struct {
	header http.Header
	body   string
}

// letterbox is a receiver of webhooks on this machine.
func receiver(t *testing.T) (url string, posts chan posted) {
	t.Helper()
	posts = make(chan posted, 100)
	server := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(r.Body)
		if err != nil {
			t.Error(err)
		}
		posts <- posted{r.Header.Clone(), string(body)}
	}))
	t.Cleanup(server.Close)
	return server.URL, posts
}

// next waits for what is sent.
func next(t *testing.T, posts chan posted) posted {
	t.Helper()
	select {
	case l := <-posts:
		return l
	case <-time.After(patience):
		t.Fatalf("nothing came within %v", patience)
		return posted{}
	}
}

// TestWebhooks: what happens in an academy is told, signed, to an address that the
// operator allows, and can be sent again.
func TestWebhooks(t *testing.T) {
	t.Parallel()
	onBoth(t, func(t *testing.T, e engine) {
		s := start(t, e, "--webhooks-inside")
		a := s.open(t, "Hooksea")
		url, posts := receiver(t)
		hook := made[api.WebhookSecret](a.owner.caller, "/v1/webhooks", object{"name": "Club website", "url": url + "/golf", "kinds": []string{"session.stored", "session.deleted", "milestone.made", "milestone.withdrawn"}})
		path := "/v1/webhooks/" + string(hook.ID)
		verifier, err := standardwebhooks.NewWebhook(hook.Secret)
		if err != nil {
			t.Fatal(err)
		}
		skill := a.coach.teach(a.student, "Pitch", pitchSteps())
		id := newID()
		a.student.store(id, sessionBody(1, ago(3), test(skill, in(12))), 201)
		a.student.del(sessionPath(id) + "?revision=2").want(204)
		kinds := map[string]int{}
		var stored posted
		for kinds["session.deleted"] == 0 || kinds["milestone.withdrawn"] < kinds["milestone.made"] {
			l := next(t, posts)
			// The clock of the service may not be the library's, so its age is not looked at.
			if err := verifier.VerifyIgnoringTimestamp([]byte(l.body), l.header); err != nil {
				t.Errorf("%s does not verify: %v", l.body, err)
			}
			for _, kind := range hook.Kinds {
				if strings.Contains(l.body, `"type":"`+kind+`"`) {
					kinds[kind]++
				}
			}
			if strings.Contains(l.body, "session.stored") {
				stored = l
			}
			if strings.Contains(l.body, "note") || !strings.Contains(l.body, string(a.student.id)) {
				t.Errorf("sent %s; want identities alone", l.body)
			}
		}
		if kinds["session.stored"] != 1 || kinds["session.deleted"] != 1 || kinds["milestone.made"] == 0 {
			t.Errorf("told of %v", kinds)
		}

		// Its deliveries are listed, and sent again under their IDs.
		var sent api.WebhookDelivery
		for sent.ID == "" {
			for _, d := range read[api.WebhookDeliveryPage](a.owner.caller, path+"/deliveries?limit=200").Items {
				if d.MessageID == stored.header.Get("webhook-id") && d.State == "delivered" {
					sent = d
				}
			}
		}
		a.owner.post(path+"/deliveries/"+string(sent.ID)+"/resend", nil).want(200)
		if again := next(t, posts); again.header.Get("webhook-id") != sent.MessageID || again.body != stored.body {
			t.Errorf("again came %v %s; want the same under the same ID", again.header, again.body)
		}
		var rotated api.WebhookSecret
		a.owner.post(path+"/rotate", nil).want(200).into(&rotated)
		a.owner.post(path+"/test", nil).want(200)
		ping := next(t, posts)
		for !strings.Contains(ping.body, "webhook.ping") { // what was on its way at the change comes again
			ping = next(t, posts)
		}
		newer, err := standardwebhooks.NewWebhook(rotated.Secret)
		if err != nil {
			t.Fatal(err)
		}
		for which, v := range map[string]*standardwebhooks.Webhook{"old": verifier, "new": newer} {
			if err := v.VerifyIgnoringTimestamp([]byte(ping.body), ping.header); err != nil {
				t.Errorf("by the %s secret: %v", which, err)
			}
		}
		if rotated.OldSecretUntil == nil {
			t.Errorf("got %+v; want until when the old secret signs", rotated)
		}
	})
}

// testWebhooks: an owner manages webhooks; addresses inside are refused when they
// are connected to.
func testWebhooks(t *testing.T, s *service) {
	a := s.open(t, "Hookham")
	fieldsOf := func(body object, at string) {
		t.Helper()
		wrongAt(t, a.owner.post("/v1/webhooks", body).problem(422, "webhook_invalid"), at, "")
	}
	fieldsOf(object{"name": "Plain", "url": "http://club.example"}, "/url")
	fieldsOf(object{"name": " ", "url": "https://club.example"}, "/name")
	url, posts := receiver(t)
	inside := strings.Replace(url, "http://", "https://", 1)
	hook := made[api.WebhookSecret](a.owner.caller, "/v1/webhooks", object{"name": "Inside", "url": inside})
	path := "/v1/webhooks/" + string(hook.ID)
	if hook.Revision != 1 || !hook.Enabled || !strings.HasPrefix(hook.Secret, "whsec_") {
		t.Errorf("made %+v", hook)
	}
	for _, address := range []string{"/v1/webhooks", path} {
		got := a.owner.get(address).want(200)
		if strings.Contains(string(got.body), hook.Secret) {
			t.Errorf("%s shows the secret", address)
		}
		a.owner.get(address, header("If-None-Match", got.header.Get("ETag"))).want(304)
	}
	a.owner.post(path+"/test", nil).want(200)
	a.owner.post(path+"/test", nil).want(200)
	var tried api.WebhookDelivery
	for deadline := time.Now().Add(patience); tried.State != "failed" && time.Now().Before(deadline); {
		page := read[api.WebhookDeliveryPage](a.owner.caller, path+"/deliveries?limit=1")
		tried = page.Items[0]
		if page.Links.Next == "" {
			t.Fatal("a page of one has no next")
		}
		read[api.WebhookDeliveryPage](a.owner.caller, page.Links.Next)
	}
	if tried.Kind != "webhook.ping" || tried.Status != 0 || !strings.Contains(tried.Failure, "not a public one") || len(posts) != 0 {
		t.Errorf("inside: %+v, and %d came; want it refused", tried, len(posts))
	}
	listed := a.owner.get(path + "/deliveries").want(200)
	a.owner.get(path+"/deliveries", header("If-None-Match", listed.header.Get("ETag"))).want(304)
	a.owner.put(path, object{"name": "Inside", "url": inside, "enabled": false}).want(200)
	a.owner.post(path+"/test", nil).problem(409, "webhook_off")
	a.owner.post(path+"/deliveries/"+string(tried.ID)+"/resend", nil).problem(409, "webhook_off")
	a.owner.put(path, object{"name": "Inside", "url": inside}).want(200)
	a.owner.post(path+"/deliveries/"+string(tried.ID)+"/resend", nil).want(200)
	a.owner.post(path+"/rotate", nil).want(200)
	a.owner.del(path).want(204)
	a.owner.get(path).problem(404, "not_found")
	for i := range 10 {
		made[api.WebhookSecret](a.owner.caller, "/v1/webhooks", object{"name": fmt.Sprint("Hook ", i), "url": "https://club.example", "enabled": false})
	}
	a.owner.post("/v1/webhooks", object{"name": "Eleventh", "url": "https://club.example"}).problem(409, "too_many_webhooks")
	if kinds := eventKinds(a.owner.caller); kinds["webhook.created"] != 11 || kinds["webhook.changed"] != 3 || kinds["webhook.deleted"] != 1 {
		t.Errorf("the log has %v", kinds)
	}
}

// A webhook of the fixture's academy.
func freshHook(w *fixture, th *things) {
	th.hook = made[api.WebhookSecret](w.owner.caller, "/v1/webhooks", object{"name": "Fresh hook of " + academyMark, "url": "https://hook.example"}).ID
	var d api.WebhookDelivery
	w.owner.post("/v1/webhooks/"+string(th.hook)+"/test", nil).want(200).into(&d)
	th.delivery = d.ID
}

func theHook(th things) domain.ID { return th.hook }
