// Package client calls the API as one person, the way any other program would.
// The demo, the tests in a browser and the measurements of load share it.
package client

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"net/http"
	"time"
)

// Client is one person at a service. Without a token it is nobody yet.
type Client struct {
	// Base is the service's address, without a slash at the end.
	Base string
	// Token is an access token.
	Token string
	// Header is sent with every call.
	Header http.Header
}

// patient gives up on a service that does not answer at all.
var patient = &http.Client{Timeout: 2 * time.Minute}

// Call sends in as JSON (nothing when nil) and reads the answer into out
// (nothing when nil). An answer of 400 or above is an error with its text.
func (c Client) Call(ctx context.Context, method, path string, in, out any) error {
	var body io.Reader
	if in != nil {
		text, err := json.Marshal(in)
		if err != nil {
			return err
		}
		body = bytes.NewReader(text)
	}
	req, err := http.NewRequestWithContext(ctx, method, c.Base+path, body)
	if err != nil {
		return err
	}
	maps.Copy(req.Header, c.Header)
	if in != nil {
		req.Header.Set("Content-Type", "application/json")
	}
	if c.Token != "" {
		req.Header.Set("Authorization", "Bearer "+c.Token)
	}
	res, err := patient.Do(req)
	if err != nil {
		return err
	}
	defer res.Body.Close()
	answer, err := io.ReadAll(res.Body)
	if err != nil {
		return err
	}
	if res.StatusCode >= 400 {
		return fmt.Errorf("%s %s: %d %s", method, path, res.StatusCode, answer)
	}
	if out == nil {
		return nil
	}
	return json.Unmarshal(answer, out)
}

// SignedIn is the answer to signing up, signing in and accepting an invitation,
// as far as callers need it.
type SignedIn struct {
	AccessToken string `json:"access_token"`
	Membership  struct {
		AcademyID string `json:"academy_id"`
		MemberID  string `json:"member_id"`
	} `json:"membership"`
}
