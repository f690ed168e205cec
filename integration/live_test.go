package integration_test

import (
	"context"
	"net/http"
)

// glance asks for a stream and reads what it says first, or the refusal.
func (c *caller) glance(path string) answer {
	c.Helper()
	ctx, cancel := context.WithCancel(c.Context())
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, "GET", c.service.url+path, nil)
	if err != nil {
		c.Fatal(err)
	}
	if c.token != "" {
		r.Header.Set("Authorization", "Bearer "+c.token)
	}
	response, err := c.client.Do(r)
	if err != nil {
		c.Fatal(err)
	}
	defer response.Body.Close()
	text := make([]byte, 4096)
	n, err := response.Body.Read(text)
	if n == 0 {
		c.Fatalf("%s: no first word: %v", path, err)
	}
	return answer{T: c.T, what: "GET " + path, status: response.StatusCode, header: response.Header, body: text[:n]}
}
