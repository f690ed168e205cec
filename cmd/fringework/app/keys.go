package app

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"os/signal"
	"syscall"
	"time"

	"fringework/auth"
)

type keysCmd struct {
	New    newKeysCmd    `cmd:"" help:"Create keys in a new file."`
	List   listKeysCmd   `cmd:"" help:"Say what each key in a file is for at present."`
	Rotate rotateKeysCmd `cmd:"" help:"Add the next key to a file, for the replicas to change to by themselves."`
}

type newKeysCmd struct {
	Out string `help:"The file to create." required:"" type:"path"`
}

// Run makes the file; it never replaces one.
func (c newKeysCmd) Run(s *session) error {
	_, created, err := auth.LoadOrCreateKeyring(c.Out)
	if err != nil {
		return err
	}
	if !created {
		return fmt.Errorf("%s already has keys; add the next one with fringework admin keys rotate", c.Out)
	}
	fmt.Fprintf(s.Out, "Keys created in %s. Keep the file secret, and a copy of it elsewhere than the backups; all replicas need the same one.\n", c.Out)
	return nil
}

type listKeysCmd struct {
	File string `arg:"" help:"The file with the keys." type:"path"`
}

// Run lists the keys.
func (c listKeysCmd) Run(s *session) error {
	keys, err := auth.LoadKeyring(c.File)
	if err == nil {
		fmt.Fprint(s.Out, keys.Describe(s.clock.Now(), keepRetired))
	}
	return err
}

// How replicas take up a changed file of keys: they look every so often, and a new key
// waits at least for leastWait, in which each has looked several times.
const (
	lookEvery = 30 * time.Second
	leastWait = 2 * time.Minute
)

// keepRetired is how long a retired key stays in the file: access tokens live for an
// hour at most (auth.Config).
var keepRetired = auth.KeepKeys(time.Hour)

type rotateKeysCmd struct {
	File    string   `arg:"" help:"The file with the keys." type:"path"`
	In      duration `help:"When the new key begins to be used: in this time every replica must have the new file, and take it up by itself. From 2m to 24h." default:"10m"`
	Secrets bool     `help:"Rotate the key that seals secrets in the database, not the one that signs access tokens."`
	Leaked  bool     `help:"Somebody else may have the keys: sign with a new one at once and refuse what the others signed, so that everybody needs a new access token. Secrets get a new key in its time."`
}

// Help is printed under the command's own --help.
func (rotateKeysCmd) Help() string {
	return `Run it once and give every replica the new file; nothing else is to be done, and
nothing in any order. A running service takes up a changed file within half a
minute, or at once when it is sent SIGHUP. The new key waits in the file until
its time has come, so every replica knows it before any signs with it. The old
one goes on to verify until its last token has expired, and the next rotation
removes it. A second rotation before the first is over is refused.`
}

// Validate refuses a time too short for every replica to look.
func (c rotateKeysCmd) Validate() error {
	if time.Duration(c.In) < leastWait {
		return fmt.Errorf("--in is %v; give the replicas at least %v to take up the file", time.Duration(c.In), leastWait)
	}
	if c.Leaked && c.Secrets {
		return errors.New("--leaked rotates the key that seals secrets as well; leave out --secrets")
	}
	return nil
}

// Run rotates the keys in place.
func (c rotateKeysCmd) Run(s *session) error {
	old, err := auth.LoadKeyring(c.File)
	if err != nil {
		return err
	}
	now := s.clock.Now()
	next, err := c.rotated(old, now, now.Add(time.Duration(c.In)))
	if err != nil {
		return err
	}
	if err := next.Save(c.File); err != nil {
		return err
	}
	fmt.Fprintf(s.Out, "%sGive every replica this file now. Each takes it up within %v, or at once on SIGHUP.\n", next.Describe(now, keepRetired), lookEvery)
	return nil
}

func (c rotateKeysCmd) rotated(old *auth.Keyring, now, from time.Time) (next *auth.Keyring, err error) {
	switch {
	case c.Secrets:
		return old.RotateSealing(now, from)
	case c.Leaked:
		next, err = old.Replace(now, keepRetired)
		if err != nil {
			return nil, err
		}
		return next.ReplaceSealing(from), nil
	default:
		next, err = old.Rotate(now, from, keepRetired)
	}
	if err == nil && !old.Seals() {
		return next.RotateSealing(now, from)
	}
	return next, err
}

// withSealing sees to it that secrets can be sealed. Keys that an earlier release made
// beside the embedded database get a key for it.
func (f keyFlags) withSealing(db databaseFlag, keys *auth.Keyring, log *slog.Logger) (*auth.Keyring, error) {
	if keys.Seals() {
		return keys, nil
	}
	if !db.embedded() || f.SigningKeys != "" {
		return nil, errors.New("the keys have none that seals secrets in the database: run \"fringework admin keys rotate --secrets FILE\" once and give every replica the new file")
	}
	keys, err := keys.RotateSealing(time.Time{}, time.Time{})
	if err == nil {
		err = keys.Save(f.path(db))
	}
	if err == nil {
		log.Info("a key that seals secrets was added to the signing keys", "file", f.path(db))
	}
	return keys, err
}

// keyWatch takes up what becomes of a file of keys while the service runs.
type keyWatch struct {
	// file is nil when the keys were given themselves.
	file *auth.KeyFile
	log  *slog.Logger
	hup  chan os.Signal
}

// watch makes what takes up changed keys of a service.
func (f keyFlags) watch(db databaseFlag, tokens *auth.Tokens, s *session) *keyWatch {
	w := &keyWatch{log: s.log, hup: make(chan os.Signal, 1)}
	if f.SigningKeys == "" {
		w.file = &auth.KeyFile{Path: f.path(db), Tokens: tokens, Log: s.log}
	}
	signal.Notify(w.hup, syscall.SIGHUP) // before the service says that it serves
	return w
}

// run looks at the file now and then, and on SIGHUP, until ctx ends.
func (w *keyWatch) run(ctx context.Context) {
	defer signal.Stop(w.hup)
	ticker := time.NewTicker(lookEvery)
	defer ticker.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-w.hup:
			if w.file == nil {
				w.log.Warn("the keys were given themselves and not in a file: to change them, start the service again")
			}
		case <-ticker.C:
		}
		if w.file != nil {
			w.file.Look()
		}
	}
}
