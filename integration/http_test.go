package integration_test

import (
	"fmt"
	"strings"
	"testing"

	"fringework/api"
	"fringework/domain"
)

// Entity tags save transfers and keep changes from overwriting each other.
func testEntityTags(t *testing.T, s *service) {
	a := s.open(t, "Etagere")
	coach := a.coach
	skill := coach.skill("Pitch", pitchSteps())
	programme := made[api.Programme](coach.caller, "/v1/programmes", course("Tagged", skill.ID)).ID
	coach.post("/v1/programmes/"+string(programme)+"/versions", nil).want(201)
	assignment := coach.assign(programme, ago(72), a.student)[0].ID
	// Off, since what is told to it changes it.
	hook := made[api.WebhookSecret](a.owner.caller, "/v1/webhooks", object{"name": "Tagged", "url": "https://club.example", "enabled": false}).ID
	group := made[api.Group](coach.caller, "/v1/groups", object{"name": "Tagged", "student_ids": []domain.ID{}}).ID

	for _, c := range []struct {
		who    *person
		path   string
		change func(c *person, path string, match change) answer
	}{
		{coach, "/v1/skills/" + string(skill.ID), func(c *person, path string, match change) answer {
			return c.put(path, object{"name": "Pitch", "kind": "pitch", "text": "Changed.", "ladder": pitchSteps()}, match)
		}},
		{coach, "/v1/programmes/" + string(programme), func(c *person, path string, match change) answer {
			return c.put(path, course("Changed", skill.ID), match)
		}},
		{coach, "/v1/assignments/" + string(assignment), func(c *person, path string, match change) answer {
			return c.post(path+"/pause", object{}, match)
		}},
		{coach, "/v1/groups/" + string(group), func(c *person, path string, match change) answer {
			return c.put(path, object{"name": "Changed", "student_ids": []domain.ID{}}, match)
		}},
		{a.owner, "/v1/webhooks/" + string(hook), func(c *person, path string, match change) answer {
			return c.put(path, object{"name": "Changed", "url": "https://club.example", "enabled": false}, match)
		}},
		{a.student, "/v1/members/" + string(a.student.id), func(c *person, path string, match change) answer {
			return c.patch(path, object{"name": "Changed"}, match)
		}},
		{a.student, "/v1/me", func(c *person, path string, match change) answer {
			return c.patch(path, object{"name": "Changed again"}, match)
		}},
		{a.owner, "/v1/academy", func(c *person, path string, match change) answer {
			return c.patch(path, object{"name": "Changed"}, match)
		}},
	} {
		t.Run(c.path[:strings.LastIndex(c.path, "/")+2], func(t *testing.T) {
			who := c.who.in(t)
			before := who.get(c.path).want(200)
			tag := before.header.Get("ETag")
			who.get(c.path, header("If-None-Match", tag)).want(304)
			who.get(c.path, header("If-None-Match", `W/"other", W/`+tag)).want(304)
			who.get(c.path, header("If-None-Match", `"other"`)).want(200)
			c.change(who, c.path, header("If-Match", `"999-other"`)).problem(412, "stale")
			c.change(who, c.path, header("If-Match", tag)).want(200)
			c.change(who, c.path, header("If-Match", tag)).problem(412, "stale")
			after := who.get(c.path, header("If-None-Match", tag)).want(200)
			if after.header.Get("ETag") == tag {
				t.Errorf("a change kept the entity tag %s", tag)
			}
		})
	}
}

// What every request and every answer have in common.
func testForm(t *testing.T, s *service) {
	a := s.open(t, "Former")

	t.Run("bodies", func(t *testing.T) {
		skill := func(body any, changes ...change) answer {
			t.Helper()
			return a.owner.in(t).post("/v1/skills", body, changes...)
		}
		wrongAt(t, skill(object{"name": "X", "kind": "pitch", "ladder": pitchSteps(), "colour": "red"}).problem(400, "body_invalid"), "/colour", "is not a field here")
		wrongAt(t, skill(`{"name":"X","name":"Y"}`).problem(400, "body_malformed"), "/name", "twice")
		wrongAt(t, skill(`{"name":7}`).problem(400, "body_invalid"), "/name", "a string is expected")
		wrongAt(t, skill(`{"name":"a\u0000b","kind":"pitch"}`).problem(400, "body_invalid"), "/name", "NUL")
		skill(`{"name":`).problem(400, "body_malformed")
		skill("").problem(400, "body_missing")
		skill(`{"name":"X"} {}`).problem(400, "body_malformed")
		skill("name=X", form).problem(415, "media_type")
		skill(pitchSteps(), header("Content-Encoding", "gzip")).problem(415, "content_encoding")
		skill(object{"name": strings.Repeat("x", 2<<20)}).problem(413, "body_too_large")
		// Without a length the body is cut off while it is read.
		skill(`{"name":"`+strings.Repeat("x", 2<<20)+`"}`, func(r *request) { r.ContentLength = -1 }).problem(413, "body_too_large")
	})
	t.Run("addresses", func(t *testing.T) {
		owner := a.owner.in(t)
		wrongAt(t, owner.get("/v1/skills?archive=true").problem(400, "parameter_invalid"), "archive", "spelling")
		wrongAt(t, owner.get("/v1/skills?limit=0").problem(400, "parameter_invalid"), "limit", "1 to 200")
		wrongAt(t, owner.get("/v1/skills?cursor=nonsense").problem(400, "parameter_invalid"), "cursor", "links.next")
		wrongAt(t, owner.get("/v1/academy?verbose=1").problem(400, "parameter_invalid"), "verbose", "")
		owner.get("/v1/skills?x=%zz").problem(400, "query_malformed")
		owner.post("/v1/keys?x=1", object{}).problem(400, "parameter_invalid")
		owner.get("/v1/nothing").problem(404, "no_route")
		owner.get("/v1/skills/not-a-uuid").problem(404, "not_found")
		got := owner.del("/v1/academy")
		got.problem(405, "method_not_allowed")
		if allow := got.header.Get("Allow"); !strings.Contains(allow, "GET") || !strings.Contains(allow, "PATCH") {
			t.Errorf("Allow %q; want GET and PATCH", allow)
		}
	})
	t.Run("headers", func(t *testing.T) {
		owner := a.owner.in(t)
		got := owner.get("/v1/academy", header("X-Request-Id", "integration-0001"))
		for name, want := range map[string]string{
			"X-Request-Id": "integration-0001", "X-Content-Type-Options": "nosniff", "Cache-Control": "private, no-cache",
			"Referrer-Policy": "no-referrer", "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
		} {
			if got.header.Get(name) != want {
				t.Errorf("%s: %q; want %q", name, got.header.Get(name), want)
			}
		}
		bad := owner.get("/v1/nothing", header("X-Request-Id", "evil\" line"))
		p := bad.problem(404, "no_route")
		if id := bad.header.Get("X-Request-Id"); id == "" || strings.Contains(id, "evil") || p.RequestID != id {
			t.Errorf("request ID %q, in the problem %q; want a fresh one in both", id, p.RequestID)
		}
		head := owner.do("HEAD", "/v1/academy", nil).want(200)
		if head.header.Get("ETag") != got.header.Get("ETag") || len(head.body) != 0 {
			t.Errorf("HEAD gave the tag %s and %d bytes; want GET's and none", head.header.Get("ETag"), len(head.body))
		}
	})
	t.Run("nobody's data", func(t *testing.T) {
		c := s.caller(t)
		for path, media := range map[string]string{"/healthz": "application/json", "/readyz": "application/json", "/openapi.json": "application/json", "/programme.schema.json": "application/schema+json"} {
			if got := c.get(path).want(200); got.header.Get("Content-Type") != media {
				t.Errorf("%s comes as %s; want %s", path, got.header.Get("Content-Type"), media)
			}
		}
	})
	t.Run("calculations", func(t *testing.T) {
		owner := a.owner.in(t)
		list := read[api.CalculationList](a.guardian.caller.in(t), "/v1/calc")
		if len(list.Items) < 5 {
			t.Errorf("%d calculations; want those of the domain", len(list.Items))
		}
		for _, x := range list.Items {
			owner.post("/v1/calc/"+x.Name, x.Example).want(200)
			owner.post("/v1/calc/"+x.Name, object{"colour": "red"}).problem(422, "calc_form")
		}
		owner.post("/v1/calc/nothing", object{}).want(404)
	})
	t.Run("logs hold no secrets", func(t *testing.T) {
		owner := a.owner.in(t)
		text := s.log.String()
		for name, secret := range map[string]string{"a password": password, "a token": owner.token, "a refresh token": owner.refresh, "an e-mail": owner.email, "a name": owner.name} {
			if strings.Contains(text, secret) {
				t.Errorf("the log has %s in it", name)
			}
		}
	})
}

// Lists are walked by their links, while things are added.
func testCursors(t *testing.T, s *service) {
	a := s.open(t, "Cursor")
	skill := a.owner.skill("Pitch", pitchSteps()).ID
	add := map[string]func(*person) domain.ID{
		"/v1/skills": func(owner *person) domain.ID { return owner.skill("More", pitchSteps()).ID },
		"/v1/programmes": func(owner *person) domain.ID {
			return made[api.Programme](owner.caller, "/v1/programmes", course("More", skill)).ID
		},
		"/v1/groups": func(owner *person) domain.ID {
			return made[api.Group](owner.caller, "/v1/groups", object{"name": "More", "student_ids": []domain.ID{}}).ID
		},
		"/v1/invitations": func(owner *person) domain.ID { return owner.invite(object{"role": "student"}).ID },
		"/v1/keys": func(owner *person) domain.ID {
			return made[api.KeyCreated](owner.caller, "/v1/keys", object{"name": "More", "scopes": []string{"calc:use"}}).ID
		},
		"/v1/members": func(owner *person) domain.ID { return owner.join("More", object{"role": "student"}).id },
		"/v1/assignments": func(owner *person) domain.ID {
			return owner.assign(owner.publish(course("More", skill)), ago(24), a.student)[0].ID
		},
	}
	sessions := "/v1/sessions?student_id=" + string(a.student.id)
	hour := 0
	add[sessions] = func(owner *person) domain.ID { // latest first: those added are before the cursor
		hour++
		return a.student.in(owner.TB).practise(ago(300-2*hour), test(skill, in(2))).ID
	}
	for path, more := range add {
		t.Run(path[4:], func(t *testing.T) {
			owner, there := a.owner.in(t), map[domain.ID]bool{}
			for range 7 {
				there[more(owner)] = true
			}
			seen := map[domain.ID]int{}
			next, pages := path+"&limit=2", 0
			if !strings.Contains(path, "?") {
				next = path + "?limit=2"
			}
			for ; next != ""; pages++ {
				page := read[struct {
					Items []struct{ ID domain.ID }
					Links api.Links
				}](owner.caller, next)
				if len(page.Items) > 2 || pages > 40 {
					t.Fatalf("page %d has %d items; want at most 2", pages, len(page.Items))
				}
				for _, x := range page.Items {
					seen[x.ID]++
				}
				if pages < 3 {
					more(owner)
				}
				next = page.Links.Next
			}
			for id := range there {
				if seen[id] != 1 {
					t.Errorf("%s, there from the start, was seen %d times; want once", id, seen[id])
				}
			}
			for id, n := range seen {
				if n > 1 {
					t.Errorf("%s was seen %d times", id, n)
				}
			}
		})
	}
	t.Run("a cursor belongs to its list", func(t *testing.T) {
		owner := a.owner.in(t)
		page := read[api.SkillPage](owner.caller, "/v1/skills?limit=1")
		_, cursor, _ := strings.Cut(page.Links.Next, "cursor=")
		owner.get("/v1/groups?cursor="+cursor).problem(400, "parameter_invalid")
	})
}

// The log is gapless and in the order of commits, also when many write at once,
// and never changes.
func testEvents(t *testing.T, s *service) {
	a := s.open(t, "Evented")
	skill := a.coach.teach(a.student, "Pitch", pitchSteps())
	const writers, each = 4, 5
	done := make(chan answer)
	for w := range writers {
		go func() {
			for i := range each {
				body := sessionBody(1, ago(4*(1+w*each+i)), test(skill, in(3)))
				body["student_id"] = a.student.id
				done <- a.coach.put(sessionPath(newID()), body)
			}
		}()
	}
	for range writers * each {
		(<-done).want(201)
	}
	all := allEvents(a.owner.caller) // which checks the numbers
	stored := 0
	for i, e := range all {
		if e.Kind == "session.stored" {
			stored++
		}
		if i > 0 && e.At.Before(all[i-1].At.Add(-5e9)) {
			t.Errorf("event %d is of %v, after one of %v", e.Number, e.At, all[i-1].At)
		}
	}
	if stored != writers*each {
		t.Errorf("%d sessions were told of; want %d", stored, writers*each)
	}
	again := allEvents(a.owner.caller)
	if fmt.Sprint(again) != fmt.Sprint(all) {
		t.Error("the log has changed between two readings")
	}
	last := all[len(all)-1].Number
	if page := read[api.EventPage](a.owner.caller, fmt.Sprintf("/v1/events?after=%d", last)); len(page.Items) != 0 || page.Last != last || page.Links.Next != "" {
		t.Errorf("after the last event: %+v; want nothing, and the same number", page)
	}
	feed := a.owner.key("events:read")
	if got := allEvents(feed.caller); len(got) != len(all)+1 { // the key itself was told of
		t.Errorf("a key reads %d events; want %d", len(got), len(all)+1)
	}
}

// Pages of other origins may call the API from a browser only where the operator
// says so.
func TestOrigins(t *testing.T) {
	t.Parallel()
	const club = "https://club.example"
	s := start(t, engines[0], "--origins", club)
	preflight := func(origin string) answer {
		return s.caller(t).do("OPTIONS", "/v1/academy", nil, header("Origin", origin), header("Access-Control-Request-Method", "PATCH"), header("Access-Control-Request-Headers", "authorization,if-match"))
	}
	if got := preflight(club); got.header.Get("Access-Control-Allow-Origin") != club || !strings.Contains(got.header.Get("Access-Control-Allow-Methods"), "PATCH") {
		t.Errorf("the club's page is told %v; want that it may", got.header)
	}
	if got := preflight("https://elsewhere.example"); got.header.Get("Access-Control-Allow-Origin") != "" {
		t.Errorf("a stranger's page is told %v; want nothing", got.header)
	}
	plain := start(t, engines[0])
	if got := plain.caller(t).get("/healthz", header("Origin", club)); got.header.Get("Access-Control-Allow-Origin") != "" {
		t.Errorf("without --origins a page is told %v; want nothing", got.header)
	}
}

// Who guesses cannot hide behind a header that no proxy of ours has written.
func TestForwardedAddresses(t *testing.T) {
	t.Parallel()
	for proxies, want := range map[string]bool{"0": true, "1": false} {
		s := start(t, engines[0], "--trusted-proxies", proxies)
		owner := s.found(t, "Forwarded", "Frida")
		limited := false
		for range 8 {
			guesser := s.caller(t) // from an address of its own, it says
			got := guesser.post("/v1/sign-in", object{"email": owner.email, "password": "a wrong password"})
			limited = limited || got.status == 429
		}
		if limited != want {
			t.Errorf("with %s proxies, guesses that say they come from many addresses are limited: %v; want %v", proxies, limited, want)
		}
	}
}
