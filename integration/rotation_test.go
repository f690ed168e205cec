package integration_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"fringework/api"
	"fringework/auth"
	"fringework/auth/authtest"
	"fringework/cmd/fringework/services"
	"fringework/repo"
)

// replica is one of several services over a database, by a clock of the test's, with a
// file of keys of its own.
type replica struct {
	*service
	auth *auth.Service
	file *auth.KeyFile
}

// replicas starts several services on a database.
func replicas(t *testing.T, database, keys string, n int, c *authtest.Clock) (all []*replica) {
	t.Helper()
	ring, err := auth.LoadKeyring(keys)
	if err != nil {
		t.Fatal(err)
	}
	log := &logBook{}
	t.Cleanup(func() {
		if t.Failed() {
			t.Log(log)
		}
	})
	logger := slog.New(slog.NewTextHandler(log, &slog.HandlerOptions{Level: slog.LevelWarn}))
	var db *repo.DB
	for range n {
		// Only one process may open the embedded database, so there the replicas share it.
		if db == nil || !strings.HasPrefix(database, "sqlite:") {
			if db, err = repo.Open(t.Context(), repo.Config{URL: database, Log: logger, Relaxed: true}); err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() { _ = db.Close() })
		}
		wired, err := services.New(db, c.Env())
		if err != nil {
			t.Fatal(err)
		}
		signIn, err := wired.Auth(ring, auth.CheapHashParams(), publicURL)
		if err != nil {
			t.Fatal(err)
		}
		config := wired.API(signIn, logger)
		config.TrustedProxies = 1
		web := httptest.NewServer(api.New(config))
		t.Cleanup(web.Close)
		r := &replica{service: &service{url: web.URL, database: database, keys: keys, log: log, transport: &http.Transport{MaxIdleConnsPerHost: 32}},
			auth: signIn, file: &auth.KeyFile{Path: filepath.Join(t.TempDir(), "keys.json"), Tokens: signIn.Tokens, Log: logger}}
		t.Cleanup(r.transport.CloseIdleConnections)
		r.give(t, keys)
		all = append(all, r)
	}
	return all
}

// give copies the file of keys to the replica.
func (r *replica) give(t *testing.T, keys string) {
	t.Helper()
	if err := os.WriteFile(r.file.Path, []byte(readFile(t, keys)), 0o600); err != nil {
		t.Fatal(err)
	}
}

// rotate runs the command that rotates keys by the test's clock.
func rotate(t *testing.T, c *authtest.Clock, keys string, flags ...string) {
	t.Helper()
	args := append([]string{"--clock", c.Now().Format(time.RFC3339Nano), "admin", "keys", "rotate", keys}, flags...)
	if code, out, err := run(t, "", args...); code != 0 {
		t.Fatalf("rotate: exit code %d\n%s%s", code, out, err)
	}
}

// user is somebody, or some software, that goes on calling.
type user struct {
	name string
	// renew asks a replica for another access token.
	renew func(at *replica) (token string, err error)
	// path is what the token reads.
	path string
}

// callers are users that call replicas by turns until one is refused or all are told to
// stop.
type callers struct {
	replicas []*replica
	clock    *authtest.Clock
	// calls counts what each user got through since the clock was last moved.
	calls []atomic.Int64
	// kids are the headers of all tokens, which name their keys.
	kids    sync.Map
	over    atomic.Bool
	refused chan error
	done    sync.WaitGroup
}

// gather sets users to calling.
func gather(all []*replica, c *authtest.Clock, users []user) *callers {
	w := &callers{replicas: all, clock: c, calls: make([]atomic.Int64, len(users)), refused: make(chan error, len(users))}
	for i, u := range users {
		w.done.Go(func() {
			if err := w.use(i, u); err != nil {
				w.refused <- fmt.Errorf("%s: %w", u.name, err)
			}
		})
	}
	return w
}

// use calls with a token while that lives two minutes more, and with a new one then.
func (w *callers) use(i int, u user) (err error) {
	token, ends := "", time.Time{}
	for n := i; !w.over.Load(); n++ {
		at := w.replicas[n%len(w.replicas)]
		if now := w.clock.Now(); now.Add(2 * time.Minute).After(ends) {
			if token, err = u.renew(at); err != nil {
				return err
			}
			ends = now.Add(10 * time.Minute)
			head, _, _ := strings.Cut(token, ".")
			w.kids.Store(head, true)
		}
		if err := at.call(nil, "GET", u.path, "", header("Authorization", "Bearer "+token)); err != nil {
			return err
		}
		w.calls[i].Add(1)
	}
	return nil
}

// advance moves the clock by minutes, one at a time, and lets every user call several
// times in each, so that nobody's token runs out unseen.
func (w *callers) advance(t *testing.T, minutes int) {
	t.Helper()
	for range minutes {
		for i := range w.calls {
			w.calls[i].Store(0)
		}
		for i := range w.calls {
			for w.calls[i].Load() < 3 {
				select {
				case err := <-w.refused:
					t.Fatal(err)
				case <-time.After(time.Millisecond):
				}
			}
		}
		w.clock.Advance(time.Minute)
	}
}

// leave ends the calls, all of which must have been answered.
func (w *callers) leave(t *testing.T) (kids int) {
	t.Helper()
	w.over.Store(true)
	w.done.Wait()
	close(w.refused)
	for err := range w.refused {
		t.Error(err)
	}
	w.kids.Range(func(any, any) bool { kids++; return true })
	return kids
}

// call sends a request from any goroutine; whatever is not answered 200 is an error.
func (r *replica) call(into any, method, path, body string, changes ...change) error {
	request, err := http.NewRequestWithContext(context.Background(), method, r.url+path, strings.NewReader(body))
	if err != nil {
		return err
	}
	if body != "" {
		request.Header.Set("Content-Type", "application/json")
	}
	for _, f := range changes {
		f(request)
	}
	response, err := (&http.Client{Transport: r.transport}).Do(request)
	if err != nil {
		return err
	}
	defer response.Body.Close()
	text, err := io.ReadAll(response.Body)
	if err == nil && response.StatusCode != http.StatusOK {
		err = fmt.Errorf("%s %s: status %d: %s", method, path, response.StatusCode, text)
	}
	if err == nil && into != nil {
		err = json.Unmarshal(text, into)
	}
	return err
}

// users are two of each kind that gets access tokens: who signs in again and again, who
// refreshes, software with a key, and an app that somebody has let in.
func users(a academy) (all []user) {
	app := a.owner.registerApp(anApp)
	own := "/v1/students/" + string(a.student.id) + "/progress"
	for range 2 {
		own, owner, key, connection := own, a.owner.signIn(), a.owner.key("progress:read"), a.student.connect(app).OAuthToken
		from := header("X-Forwarded-For", owner.address)
		signIn := fmt.Sprintf(`{"email":%q,"password":%q,"academy_id":%q}`, a.coach.email, password, a.coach.academy)
		all = append(all,
			user{"who signs in", func(at *replica) (string, error) {
				var in api.SignedIn
				err := at.call(&in, "POST", "/v1/sign-in", signIn, from)
				return in.AccessToken, err
			}, "/v1/me"},
			user{"who refreshes", func(at *replica) (string, error) {
				var in api.SignedIn
				err := at.call(&in, "POST", "/v1/tokens/refresh", fmt.Sprintf(`{"refresh_token":%q}`, owner.refresh), from)
				owner.refresh = in.RefreshToken
				return in.AccessToken, err
			}, "/v1/academy"},
			user{"software", func(at *replica) (string, error) {
				var token api.OAuthToken
				err := at.call(&token, "POST", "/v1/oauth/token", "grant_type=client_credentials", form, basic(string(key.ID), key.ClientSecret))
				return token.AccessToken, err
			}, own},
			user{"an app", func(at *replica) (string, error) {
				fields := url.Values{"grant_type": {"refresh_token"}, "refresh_token": {connection.RefreshToken}}
				err := at.call(&connection, "POST", "/v1/oauth/token", fields.Encode(), form, basic(string(app.ID), app.ClientSecret))
				return connection.AccessToken, err
			}, own})
	}
	return all
}

// Keys are rotated twice while people, software and apps go on calling, at replicas that
// take the file up one after the other: nobody is refused, and what a dropped key signs
// is refused afterwards.
func TestRotationUnderLoad(t *testing.T) {
	onBoth(t, func(t *testing.T, e engine) {
		dir := t.TempDir()
		keys := filepath.Join(dir, "keys.json")
		must(t, "admin", "keys", "new", "--out", keys)
		c := authtest.NewClock(began)
		all := replicas(t, e.ready(t), keys, 3, c)
		a := all[0].open(t, "Roland")
		old := all[0].forger(t)
		kid := old.part(a.owner.token, 0)["kid"]
		a.owner.as(old.forge(a.owner.token, func(_, _ object) {})).get("/v1/academy").want(200)
		link, err := all[0].auth.OperatorReset(t.Context(), a.guardian.email)
		if err != nil {
			t.Fatal(err)
		}
		w := gather(all, c, users(a))
		for range 2 {
			w.advance(t, 2)
			rotate(t, c, keys)
			for _, r := range all {
				r.give(t, keys)
				r.file.Look()
				w.advance(t, 1)
			}
			w.advance(t, 9)
		}
		w.advance(t, 12) // the last token of the second key has run out
		if kids := w.leave(t); kids != 3 {
			t.Errorf("tokens were signed with %d keys; want 3", kids)
		}
		for _, r := range all {
			a.owner.service = r.service
			owner := a.owner.signIn()
			owner.get("/v1/academy").want(200)
			owner.as(old.forge(owner.token, func(header, _ object) { header["kid"] = kid })).get("/v1/academy").problem(401, "token_refused")
		}
		// A link of before is good, since no key signed it.
		a.guardian.as("").post("/v1/password/reset", object{"token": link, "new_password": "eighteen brass kettles"}).want(204)
	})
}

// A file that a replica cannot use leaves it with the keys of before; keys that leaked
// are refused at once.
func TestRotationGoneWrong(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	keys := filepath.Join(dir, "keys.json")
	must(t, "admin", "keys", "new", "--out", keys)
	c := authtest.NewClock(began)
	r := replicas(t, freshFile(t), keys, 1, c)[0]
	owner := r.found(t, "Gone Wrong", "Greta")
	for _, text := range []string{"{", readFile(t, newKeys(t))} {
		if err := os.WriteFile(r.file.Path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		r.file.Look()
		owner.get("/v1/academy").want(200)
	}
	if n := strings.Count(r.log.String(), "not taken up"); n != 2 {
		t.Errorf("the log tells %d times of a bad file; want 2\n%s", n, r.log)
	}
	rotate(t, c, keys)
	refuses(t, "already waits", "--clock", c.Now().Format(time.RFC3339Nano), "admin", "keys", "rotate", keys)
	refuses(t, "at least 2m", "admin", "keys", "rotate", keys, "--in", "1m")
	refuses(t, "leave out --secrets", "admin", "keys", "rotate", keys, "--leaked", "--secrets")
	rotate(t, c, keys, "--leaked")
	r.give(t, keys)
	r.file.Look()
	owner.get("/v1/academy").problem(401, "token_refused")
	var in api.SignedIn
	owner.post("/v1/tokens/refresh", object{"refresh_token": owner.refresh}).want(200).into(&in)
	owner.as(in.AccessToken).get("/v1/academy").want(200)
	if out := must(t, "admin", "keys", "list", keys); strings.Count(out, "revoked") != 2 || strings.Count(out, "  signs\n") != 1 || strings.Count(out, "secrets") != 2 {
		t.Errorf("the keys are\n%s\nwant two revoked, one that signs, and two for secrets", out)
	}
}
