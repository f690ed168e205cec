package repo

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"strings"
	"testing"
	"time"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/webhook"
)

const (
	hookSecret = "whsec_dGhlIHByZXNlbnQgb25l"
	oldSecret  = "whsec_dGhlIG9uZSBiZWZvcmU="
	totpSecret = "twenty bytes of seed"
	shownOnce  = `{"secret":"whsec_c2hvd24gb25jZQ=="}`
)

// secrets are what a database must keep of secrets: those of a webhook, of an
// authenticator, and one in the answer to a request.
type secrets struct {
	*fixture
	hook, account domain.ID
	keys          *auth.Keyring
	now           time.Time
}

func storeSecrets(t *testing.T, db *DB) *secrets {
	t.Helper()
	w := &secrets{fixture: newFixture(t, db), hook: newID(), account: newID(), now: monday}
	w.keys = must[*auth.Keyring](t)(auth.GenerateKeyring())
	db.UseVault(auth.NewVault(func() *auth.Keyring { return w.keys }, func() time.Time { return w.now }))
	w.hooks(func(tx webhook.Store) error {
		e := webhook.Endpoint{ID: w.hook, Name: "Club", URL: "https://club.example", Secret: hookSecret, CreatedBy: w.coach, CreatedAt: monday, Revision: 1}
		if err := tx.SaveEndpoint(w.ctx, e); err != nil {
			return err
		}
		e.OldSecret, e.OldUntil, e.Revision = oldSecret, monday.Add(time.Hour), 2
		return tx.SaveEndpoint(w.ctx, e)
	})
	w.auth(func(tx auth.Tx) error {
		return errors.Join(tx.AddAccount(w.ctx, auth.Account{ID: w.account, Email: "seal@sandhill.example", Name: "Robin", Password: "hash", Created: monday}),
			tx.SaveAuthenticator(w.ctx, auth.Authenticator{Account: w.account, Secret: []byte(totpSecret), Created: monday, Confirmed: monday}))
	})
	w.once(false)
	return w
}

func (w *secrets) hooks(fn func(webhook.Store) error) {
	w.t.Helper()
	if err := w.db.Webhooks().Write(w.ctx, w.academy, fn); err != nil {
		w.t.Fatal(err)
	}
}

// once carries a request out, or repeats it.
func (w *secrets) once(again bool) {
	w.t.Helper()
	answer, replayed, err := w.db.Once(w.ctx, w.claim("key", "request"), func(context.Context) ([]byte, error) { return []byte(shownOnce), nil })
	if err != nil || string(answer) != shownOnce || replayed != again {
		w.t.Errorf("the answer is %s, replayed %v, %v; want what was answered first", answer, replayed, err)
	}
}

// endpoint reads the webhook.
func (w *secrets) endpoint() (e webhook.Endpoint) {
	w.t.Helper()
	w.hooks(func(tx webhook.Store) (err error) {
		e, err = tx.Endpoint(w.ctx, w.hook)
		return err
	})
	return e
}

// authenticator reads the secret of the account's.
func (w *secrets) authenticator() (secret string, err error) {
	err = w.db.Auth().Read(w.ctx, func(tx auth.Tx) error {
		a, err := tx.Authenticator(w.ctx, w.account)
		secret = string(a.Secret)
		return err
	})
	return secret, err
}

// readable wants every secret to be what was stored.
func (w *secrets) readable(when string) {
	w.t.Helper()
	if e := w.endpoint(); e.Secret != hookSecret || e.OldSecret != oldSecret {
		w.t.Errorf("%s: the webhook has %q and before it %q", when, e.Secret, e.OldSecret)
	}
	if got, err := w.authenticator(); err != nil || got != totpSecret {
		w.t.Errorf("%s: the authenticator has %q, %v", when, got, err)
	}
	w.once(true)
}

// sealedColumns are where the secrets are, as text.
var sealedColumns = map[string]string{
	"webhooks.secret": "SELECT secret FROM webhooks", "webhooks.old_secret": "SELECT old_secret FROM webhooks",
	"authenticators.secret": "SELECT secret FROM authenticators", "answers.answer": "SELECT answer FROM answers",
}

// stored gives what is in the columns.
func (w *secrets) stored() map[string]string {
	w.t.Helper()
	all := map[string]string{}
	for name, statement := range sealedColumns {
		var v []byte
		if err := w.db.SQL().QueryRowContext(w.ctx, statement).Scan(&v); err != nil {
			w.t.Fatal(err)
		}
		all[name] = string(v)
	}
	return all
}

func (w *secrets) exec(statement string, args ...any) {
	w.t.Helper()
	if w.db.config != nil { // PostgreSQL numbers its places
		for i := range args {
			statement = strings.Replace(statement, "?", fmt.Sprintf("$%d", i+1), 1)
		}
	}
	if _, err := w.db.SQL().ExecContext(w.ctx, statement, args...); err != nil {
		w.t.Fatal(err)
	}
}

// No secret is in the database as it is, wherever it is looked for.
func TestSecretsAreSealed(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := storeSecrets(t, db)
		w.readable("stored")
		for name, v := range w.stored() {
			if !strings.HasPrefix(v, "sealed1.") {
				t.Errorf("%s is %q", name, v)
			}
			for _, secret := range []string{hookSecret, oldSecret, totpSecret, shownOnce} {
				if strings.Contains(v, secret) {
					t.Errorf("%s has %q in it", name, secret)
				}
			}
		}
		// The person who made it gets no secret in their download.
		d, err := db.Dossier(w.ctx, w.academy, w.coach)
		if text := fmt.Sprint(d); err != nil || !strings.Contains(text, "Club") || strings.Contains(text, "whsec_") || strings.Contains(text, "sealed1.") {
			t.Errorf("the download is %s, %v; want the webhook without its secrets", text, err)
		}
		// What is copied to another place does not open there.
		w.exec("UPDATE webhooks SET secret = old_secret")
		if e := w.endpoint(); e.Secret != "" || e.OldSecret != oldSecret {
			t.Errorf("the webhook has %q; want none, since it was sealed for another column", e.Secret)
		}
	})
}

// What an earlier release stored in clear is sealed at the next start, and what was
// sealed with a key before the present one is sealed anew.
func TestSecretsOfEarlierReleases(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := storeSecrets(t, db)
		w.exec("UPDATE webhooks SET secret = ?, old_secret = ?", hookSecret, oldSecret)
		w.exec("UPDATE authenticators SET secret = ?", []byte(totpSecret))
		w.exec("UPDATE answers SET answer = ?", []byte(shownOnce))
		w.readable("in clear")
		reseals := func(want int) {
			t.Helper()
			if n, err := db.Reseal(w.ctx); err != nil || n != want {
				t.Errorf("%d secrets sealed, %v; want %d", n, err, want)
			}
			w.readable("sealed")
		}
		reseals(3)
		reseals(0)
		old := w.stored()
		// A rotation of what signs leaves them as they are.
		w.keys = must[*auth.Keyring](t)(w.keys.Rotate(w.now, w.now.Add(time.Minute), time.Hour))
		w.keys = must[*auth.Keyring](t)(w.keys.RotateSealing(w.now, w.now.Add(time.Hour)))
		w.now = w.now.Add(30 * time.Minute)
		reseals(0)
		w.now = w.now.Add(30 * time.Minute)
		reseals(3)
		for name, v := range w.stored() {
			if name != "answers.answer" && v == old[name] {
				t.Errorf("%s is as before", name)
			}
		}
	})
}

// Many rows are sealed in parts, also when one of them cannot be.
func TestResealMany(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := storeSecrets(t, db)
		const more = resealBatch + 5
		w.auth(func(tx auth.Tx) error {
			for i := range more {
				id := newID()
				err := errors.Join(tx.AddAccount(w.ctx, auth.Account{ID: id, Email: fmt.Sprintf("%d@sandhill.example", i), Name: "Robin", Password: "hash", Created: monday}),
					tx.SaveAuthenticator(w.ctx, auth.Authenticator{Account: id, Secret: []byte(totpSecret), Created: monday}))
				if err != nil {
					return err
				}
			}
			return nil
		})
		w.exec("UPDATE authenticators SET secret = ? WHERE account_id <> ?", []byte(totpSecret), w.account)
		w.exec("UPDATE authenticators SET secret = ? WHERE account_id = ?", []byte("sealed1.lost.AAAA"), w.account)
		if n, err := db.Reseal(w.ctx); n != more || err == nil || !strings.Contains(err.Error(), "lost") {
			t.Errorf("%d secrets sealed, %v; want %d, and the key that is missing", n, err, more)
		}
	})
}

// Without the file of keys there are no secrets: a webhook is listed without any, and
// nobody gets in by a code.
func TestSecretsWhoseKeyIsLost(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := storeSecrets(t, db)
		w.keys = must[*auth.Keyring](t)(auth.GenerateKeyring())
		if e := w.endpoint(); e.Secret != "" || e.OldSecret != "" || e.Name != "Club" {
			t.Errorf("the webhook is %+v; want it without secrets", e)
		}
		if got, err := w.authenticator(); err != nil || got != "" {
			t.Errorf("the authenticator has %q, %v; want it without its secret", got, err)
		}
		if n, err := db.Reseal(w.ctx); n != 0 || err == nil {
			t.Errorf("%d secrets sealed, %v; want none", n, err)
		}
		// A change of something else leaves the secrets as they are stored, for the case
		// that the key comes back; a new secret takes their place.
		before, e := w.stored(), w.endpoint()
		e.Name, e.Revision = "Clubhouse", e.Revision+1
		w.hooks(func(tx webhook.Store) error { return tx.SaveEndpoint(w.ctx, e) })
		if after := w.stored(); !maps.Equal(after, before) {
			t.Errorf("after a change of the name there is %v; want %v", after, before)
		}
		e.Secret, e.OldUntil, e.Revision = hookSecret, time.Time{}, e.Revision+1
		w.hooks(func(tx webhook.Store) error { return tx.SaveEndpoint(w.ctx, e) })
		if e := w.endpoint(); e.Secret != hookSecret || e.OldSecret != "" {
			t.Errorf("after a new secret the webhook has %q and before it %q", e.Secret, e.OldSecret)
		}
		db.UseVault(noVault{})
		e.Revision++
		saves := func(tx webhook.Store) error { return tx.SaveEndpoint(w.ctx, e) }
		if err := db.Webhooks().Write(w.ctx, w.academy, saves); !errors.Is(err, errNoVault) {
			t.Errorf("stored without keys: %v", err)
		}
		if _, err := db.Reseal(w.ctx); !errors.Is(err, errNoVault) {
			t.Errorf("sealed without keys: %v", err)
		}
	})
}
