package auth

import "log/slog"

// KeyFile is a file of keys that a service runs with, and that may change.
type KeyFile struct {
	Path   string
	Tokens *Tokens
	Log    *slog.Logger
	// told is what was last logged to be wrong, so that it is said once.
	told string
}

// Look takes the file up if it changed. When it cannot be read, or lacks keys that are
// in use, these stay in use and the log says why. One goroutine may look at a time.
func (f *KeyFile) Look() {
	used, now := f.Tokens.Keyring(), f.Tokens.env.Now()
	next, err := LoadKeyring(f.Path)
	if err == nil {
		err = next.Follows(used, now, f.Tokens.Keep())
	}
	if err != nil {
		if err.Error() != f.told {
			f.Log.Error("the file of keys was not taken up; the keys of before stay in use", "file", f.Path, "error", err)
		}
		f.told = err.Error()
		return
	}
	f.told = ""
	if next.Equal(used) {
		return
	}
	if next.Late(used, now) {
		f.Log.Warn("the new key signs already and was not known here: tokens of other replicas may have been refused", "key", next.ActiveID(now))
	}
	f.Tokens.UseKeyring(next)
	f.Log.Info("keys taken up", "file", f.Path, "signs", next.ActiveID(now))
}
