package integration_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"

	"fringework/api"
	"fringework/openapi/contract"
)

// object is a JSON object to send.
type object = map[string]any

// caller sends requests as somebody, from an address of their own. What it
// sends and is answered is held to the description.
type caller struct {
	testing.TB
	service *service
	client  *http.Client
	// token goes with each request, if there is one.
	token string
	// address is where the requests seem to come from.
	address string
}

var addresses atomic.Uint32

// caller gives somebody who has not signed in.
func (s *service) caller(t testing.TB) *caller {
	n := addresses.Add(1)
	return &caller{
		TB: t, service: s, client: &http.Client{Transport: contract.Transport(t, s.transport)},
		address: fmt.Sprintf("10.%d.%d.%d", n>>16&255, n>>8&255, n&255),
	}
}

// as gives the same caller with another token, or none.
func (c *caller) as(token string) *caller {
	other := *c
	other.token = token
	return &other
}

// in gives the same caller inside a subtest.
func (c *caller) in(t testing.TB) *caller {
	other := *c
	other.TB = t
	return &other
}

// change adjusts a request before it is sent.
type change = func(*http.Request)

// header sets a header.
func header(name, value string) change {
	return func(r *http.Request) { r.Header.Set(name, value) }
}

// do sends a request. A body is sent as it is when it is text, and as JSON
// otherwise; nil sends none.
func (c *caller) do(method, path string, body any, changes ...change) answer {
	c.Helper()
	var reader io.Reader
	switch b := body.(type) {
	case nil:
	case string:
		reader = strings.NewReader(b)
	default:
		text, err := json.Marshal(b)
		if err != nil {
			c.Fatal(err)
		}
		reader = bytes.NewReader(text)
	}
	r, err := http.NewRequestWithContext(c.Context(), method, c.service.url+path, reader)
	if err != nil {
		c.Fatal(err)
	}
	if body != nil {
		r.Header.Set("Content-Type", "application/json")
	}
	if c.token != "" {
		r.Header.Set("Authorization", "Bearer "+c.token)
	}
	r.Header.Set("X-Forwarded-For", c.address)
	for _, f := range changes {
		f(r)
	}
	return c.send(r)
}

func (c *caller) send(r *http.Request) answer {
	c.Helper()
	response, err := c.client.Do(r)
	if err != nil {
		c.Fatalf("%s %s: %v", r.Method, r.URL.Path, err)
	}
	defer response.Body.Close()
	text, err := io.ReadAll(response.Body)
	if err != nil {
		c.Fatalf("%s %s: %v", r.Method, r.URL.Path, err)
	}
	return answer{TB: c.TB, what: r.Method + " " + r.URL.RequestURI(), status: response.StatusCode, header: response.Header, body: text}
}

func (c *caller) get(path string, changes ...change) answer {
	c.Helper()
	return c.do("GET", path, nil, changes...)
}

func (c *caller) post(path string, body any, changes ...change) answer {
	c.Helper()
	return c.do("POST", path, body, changes...)
}

func (c *caller) put(path string, body any, changes ...change) answer {
	c.Helper()
	return c.do("PUT", path, body, changes...)
}

func (c *caller) patch(path string, body any, changes ...change) answer {
	c.Helper()
	return c.do("PATCH", path, body, changes...)
}

func (c *caller) del(path string, changes ...change) answer {
	c.Helper()
	return c.do("DELETE", path, nil, changes...)
}

// answer is what the service said.
type answer struct {
	testing.TB
	what   string
	status int
	header http.Header
	body   []byte
}

// want ends the test unless the status is as wanted.
func (a answer) want(status int) answer {
	a.Helper()
	if a.status != status {
		a.Fatalf("%s: status %d; want %d\n%s", a.what, a.status, status, a.body)
	}
	return a
}

// into reads the body.
func (a answer) into(v any) {
	a.Helper()
	if err := json.Unmarshal(a.body, v); err != nil {
		a.Fatalf("%s: %v in %s", a.what, err, a.body)
	}
}

// problem wants a refusal of a status and a code.
func (a answer) problem(status int, code string) api.Problem {
	a.Helper()
	a.want(status)
	if media := a.header.Get("Content-Type"); media != "application/problem+json" {
		a.Fatalf("%s: media type %q; want a problem document", a.what, media)
	}
	var p api.Problem
	a.into(&p)
	if p.Code != code {
		a.Errorf("%s: code %q; want %q\n%s", a.what, p.Code, code, a.body)
	}
	return p
}

// wrongAt wants a refusal to point at a field or a parameter and to say
// something about it.
func wrongAt(t testing.TB, p api.Problem, where, say string) {
	t.Helper()
	for _, e := range p.Errors {
		if (e.Pointer == where || e.Parameter == where) && strings.Contains(e.Detail, say) {
			return
		}
	}
	t.Errorf("%s: errors %+v; want one at %s that says %q", p.Code, p.Errors, where, say)
}

// read gets what is at an address, which must be there.
func read[T any](c *caller, path string) (v T) {
	c.Helper()
	c.get(path).want(200).into(&v)
	return v
}

// made posts and reads what was made.
func made[T any](c *caller, path string, body any) (v T) {
	c.Helper()
	c.post(path, body).want(201).into(&v)
	return v
}
