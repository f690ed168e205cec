package integration_test

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fringework/api"
)

// An operator helps somebody who is locked out while the service runs, on the
// embedded database too, and only the operator may.
func TestAdminWhileServing(t *testing.T) {
	onBoth(t, func(t *testing.T, e engine) {
		s := start(t, e)
		owner := s.found(t, "Served On", "Sanna")
		if path, embedded := strings.CutPrefix(s.database, "sqlite:"); embedded {
			if about, err := os.Stat(path + ".sock"); err != nil || about.Mode() != fs.ModeSocket|0o600 {
				t.Errorf("the socket: %v, %v; want its owner's alone", about, err)
			}
			defer func() {
				if s.stop(); !gone(path + ".sock") {
					t.Error("the socket was left")
				}
			}()
		}
		const fresh = "nine copper ladles"
		set := []string{"admin", "password", "--database", s.database, owner.email}
		if code, _, err := run(t, "short\n", set...); code == 0 || !strings.Contains(err, "/new_password") {
			t.Errorf("a short password: %d %s; want it refused", code, err)
		}
		if code, _, err := run(t, fresh+"\n", set...); code != 0 {
			t.Fatalf("setting it: %d %s", code, err)
		}
		owner.get("/v1/me").problem(401, "token_refused")
		var in api.SignedIn
		owner.as("").post("/v1/sign-in", object{"email": owner.email, "password": fresh}).want(200).into(&in)

		me := owner.as(in.AccessToken)
		var enrolment api.Enrolment
		me.post("/v1/me/authenticator", object{"password": fresh}).want(200).into(&enrolment)
		me.post("/v1/me/authenticator/confirm", object{"code": codeOf(t, enrolment.Secret, 0)}).want(200)
		owner.as("").post("/v1/sign-in", object{"email": owner.email, "password": fresh}).want(202)
		must(t, "admin", "second-factor", "--database", s.database, owner.email)
		refuses(t, "has no second factor", "admin", "second-factor", "--database", s.database, owner.email)
		owner.as("").post("/v1/sign-in", object{"email": owner.email, "password": fresh}).want(200)

		link := []string{"admin", "reset-link", "--database", s.database}
		if strings.HasPrefix(s.database, "sqlite:") {
			if out := must(t, append(link, owner.email)...); !strings.HasPrefix(out, publicURL+"/reset#") {
				t.Errorf("a link by the service that runs: %s", out)
			}
		} else {
			refuses(t, "--public-url", append(link, owner.email)...)
		}
		link = append(link, "--public-url", publicURL)
		out := must(t, append(link, owner.email)...)
		_, token, _ := strings.Cut(strings.Fields(out)[0], "/reset#")
		owner.as("").post("/v1/password/reset", object{"token": token, "new_password": password}).want(204)
		owner.signIn()
		if code, _, err := run(t, "", append(link, "nobody@example.org")...); code == 0 || !strings.Contains(err, "no such account") {
			t.Errorf("an unknown e-mail: %d %s; want it refused", code, err)
		}
	})
}

func gone(path string) bool {
	_, err := os.Stat(path)
	return errors.Is(err, fs.ErrNotExist)
}

// A mail server that cannot be used is told at the start.
func TestMailFlags(t *testing.T) {
	t.Parallel()
	nowhere := "sqlite:" + filepath.Join(t.TempDir(), "nowhere.db")
	serve := func(flags ...string) []string {
		return append([]string{"serve", "--listen", "127.0.0.1:0", "--database", nowhere}, flags...)
	}
	refuses(t, "set both or neither", serve("--mail-from", "a@example.org")...)
	refuses(t, "needs --public-url", serve("--mail-server", "smtp://mail.example", "--mail-from", "a@example.org")...)
	refuses(t, "must come from an address", serve("--public-url", publicURL, "--mail-server", "smtp://mail.example", "--mail-from", "nobody")...)
	refuses(t, "smtp://USER", serve("--public-url", publicURL, "--mail-server", "mail.example", "--mail-from", "a@example.org")...)
}
