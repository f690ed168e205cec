package demo

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
)

// client calls the API as one person, the way any other program would.
type client struct {
	base  string
	token string
	http  *http.Client
}

// call sends in as JSON (nothing when nil) and reads the answer into out
// (nothing when nil). An answer of 400 or above is an error with its text.
func (c client) call(ctx context.Context, method, path string, in, out any) error {
	var body io.Reader
	if in != nil {
		text, err := json.Marshal(in)
		if err != nil {
			return err
		}
		body = bytes.NewReader(text)
	}
	req, err := http.NewRequestWithContext(ctx, method, c.base+path, body)
	if err != nil {
		return err
	}
	if in != nil {
		req.Header.Set("Content-Type", "application/json")
	}
	if c.token != "" {
		req.Header.Set("Authorization", "Bearer "+c.token)
	}
	res, err := c.http.Do(req)
	if err != nil {
		return err
	}
	defer res.Body.Close()
	answer, err := io.ReadAll(res.Body)
	if err != nil {
		return err
	}
	if res.StatusCode >= 400 {
		return &refusal{method, path, res.StatusCode, string(answer)}
	}
	if out == nil {
		return nil
	}
	return json.Unmarshal(answer, out)
}

// refusal is an answer of 400 or above.
type refusal struct {
	method, path string
	status       int
	body         string
}

func (r *refusal) Error() string {
	return fmt.Sprintf("%s %s: %d %s", r.method, r.path, r.status, r.body)
}

// signedIn is the answer to signing up, signing in and accepting.
type signedIn struct {
	AccessToken string `json:"access_token"`
	Membership  struct {
		MemberID string `json:"member_id"`
	} `json:"membership"`
}
