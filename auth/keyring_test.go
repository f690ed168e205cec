package auth

import (
	"encoding/base64"
	"errors"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

// The key of RFC 8037 Appendix A.1 and A.2.
const (
	rfc8037Private = "nWGxne_9WmC6hEr0kuwsxERJxWl7MmkZcDusAxyuf2A"
	rfc8037Public  = "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo"
)

func rfc8037Ring(t *testing.T) *Keyring {
	t.Helper()
	ring, err := ParseKeyring([]byte(`{"keys":[{"kty":"OKP","crv":"Ed25519","d":"` + rfc8037Private + `","x":"` + rfc8037Public + `"}]}`))
	if err != nil {
		t.Fatal(err)
	}
	return ring
}

func TestKeyringRFC8037(t *testing.T) {
	key := rfc8037Ring(t).signers[0]
	// Appendix A.3: the thumbprint of the key.
	if want := "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k"; key.id != want {
		t.Errorf("thumbprint: got %s, want %s", key.id, want)
	}
	// Appendix A.4: signing "Example of Ed25519 signing".
	const (
		input     = "eyJhbGciOiJFZERTQSJ9.RXhhbXBsZSBvZiBFZDI1NTE5IHNpZ25pbmc"
		signature = "hgyY0il_MGCjP0JzlnLWG1PPOt7-09PGcvMg3AIbQR6dWbhijcNR4ki4iylGjg5BhVsPt9g7sVvpAr_MuM0KAg"
	)
	got, err := jwt.SigningMethodEdDSA.Sign(input, key.private)
	if err != nil || encode(got) != signature {
		t.Errorf("signature: got %s, %v; want %s", encode(got), err, signature)
	}
	// Appendix A.5: validating it.
	raw, err := base64.RawURLEncoding.DecodeString(signature)
	if err != nil {
		t.Fatal(err)
	}
	if err := jwt.SigningMethodEdDSA.Verify(input, raw, key.public); err != nil {
		t.Errorf("the RFC's signature does not verify: %v", err)
	}
	raw[0] ^= 1
	if jwt.SigningMethodEdDSA.Verify(input, raw, key.public) == nil {
		t.Error("a changed signature verifies")
	}
}

func TestParseKeyringRefuses(t *testing.T) {
	other, err := GenerateKeyring()
	if err != nil {
		t.Fatal(err)
	}
	private := `"kty":"OKP","crv":"Ed25519","d":"` + rfc8037Private + `","x":"` + rfc8037Public + `"`
	sealing := `"kty":"oct","kid":"s","use":"enc","alg":"A256GCM","k":"` + rfc8037Private + `"`
	for name, text := range map[string]string{
		"no JSON":               `nonsense`,
		"no keys":               `{"keys":[]}`,
		"RSA key":               `{"keys":[{"kty":"RSA","n":"AQAB","e":"AQAB"}]}`,
		"X25519 key":            `{"keys":[{"kty":"OKP","crv":"X25519","x":"` + rfc8037Public + `"}]}`,
		"other alg":             `{"keys":[{` + private + `,"alg":"HS256"}]}`,
		"other use":             `{"keys":[{` + private + `,"use":"enc"}]}`,
		"short x":               `{"keys":[{"kty":"OKP","crv":"Ed25519","x":"11qYAYKxCrfV"}]}`,
		"padded x":              `{"keys":[{"kty":"OKP","crv":"Ed25519","x":"` + rfc8037Public + `="}]}`,
		"short d":               `{"keys":[{"kty":"OKP","crv":"Ed25519","d":"nWGxne","x":"` + rfc8037Public + `"}]}`,
		"d of another key":      `{"keys":[{"kty":"OKP","crv":"Ed25519","d":"` + rfc8037Private + `","x":"` + encode(other.signers[0].public) + `"}]}`,
		"kid twice":             `{"keys":[{` + private + `},{` + private + `}]}`,
		"none signs":            `{"keys":[{"kty":"OKP","crv":"Ed25519","x":"` + rfc8037Public + `"}]}`,
		"only a retired one":    `{"keys":[{` + private + `,"retired_at":1767225600}]}`,
		"a revoked one":         `{"keys":[{` + private + `,"revoked":true}]}`,
		"sealing alone":         `{"keys":[{` + sealing + `}]}`,
		"sealing twice":         `{"keys":[{` + private + `},{` + sealing + `},{` + sealing + `}]}`,
		"short sealing key":     `{"keys":[{` + private + `},{"kty":"oct","kid":"s","use":"enc","alg":"A256GCM","k":"nWGxne"}]}`,
		"sealing otherwise":     `{"keys":[{` + private + `},{"kty":"oct","kid":"s","use":"enc","alg":"A128GCM","k":"` + rfc8037Private + `"}]}`,
		"sealing for sig":       `{"keys":[{` + private + `},{"kty":"oct","kid":"s","use":"sig","alg":"A256GCM","k":"` + rfc8037Private + `"}]}`,
		"sealing, no kid":       `{"keys":[{` + private + `},{"kty":"oct","use":"enc","alg":"A256GCM","k":"` + rfc8037Private + `"}]}`,
		"sealing, dot in kid":   `{"keys":[{` + private + `},{"kty":"oct","kid":"s.t","use":"enc","alg":"A256GCM","k":"` + rfc8037Private + `"}]}`,
		"more than 64 KiB":      strings.Repeat(" ", maxKeyring) + `{"keys":[]}`,
		"trailing second value": `{"keys":[{` + private + `}]} {}`,
	} {
		_, err := ParseKeyring([]byte(text))
		if err == nil {
			t.Errorf("%s: accepted", name)
		} else if strings.Contains(err.Error(), rfc8037Private[:6]) {
			t.Errorf("%s: the error holds the secret: %v", name, err)
		}
	}
}

// What a keyring says is what is read back, and no private half stays longer than it
// is of use.
func TestKeyringTextRoundTrip(t *testing.T) {
	made, err := GenerateKeyring()
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)
	same := func(what string, ring *Keyring) {
		t.Helper()
		again, err := ParseKeyring(ring.Private())
		if err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		if !again.Equal(ring) || again.ActiveID(now) != ring.ActiveID(now) || len(again.all()) != len(ring.all()) {
			t.Errorf("%s is read back as\n got %s\nwant %s", what, again.Private(), ring.Private())
		}
	}
	ring := rfc8037Ring(t)
	ring.sealers = made.sealers
	same("one key", ring)
	for range 3 {
		if ring, err = ring.Rotate(now, now.Add(10*time.Minute), time.Hour); err != nil {
			t.Fatal(err)
		}
		same("a key that waits", ring)
		now = now.Add(11 * time.Minute)
		same("a key that signs", ring)
	}
	if text := string(ring.Private()); strings.Contains(text, rfc8037Private) || !strings.Contains(text, rfc8037Public) {
		t.Errorf("the key that retired before the last rotation is\n%s\nwant its public half alone", text)
	}
	if len(ring.signers) != 2 || len(ring.verifiers) != 2 {
		t.Errorf("after three rotations %d keys sign or signed last and %d only verify; want 2 and 2", len(ring.signers), len(ring.verifiers))
	}
	if ring, err = ring.Replace(now, time.Hour); err != nil {
		t.Fatal(err)
	}
	same("revoked keys", ring)
	if ring, err = ring.RotateSealing(now, now.Add(10*time.Minute)); err != nil {
		t.Fatal(err)
	}
	same("a sealing key that waits", ring)
}

// Keys of an earlier release sign with the first and verify with the others.
func TestKeyringOfEarlierReleases(t *testing.T) {
	next, err := GenerateKeyring()
	if err != nil {
		t.Fatal(err)
	}
	key := next.signers[0]
	private := `"kty":"OKP","crv":"Ed25519","d":"` + rfc8037Private + `","x":"` + rfc8037Public + `"`
	ring, err := ParseKeyring([]byte(`{"keys":[{` + private + `},{"kty":"OKP","crv":"Ed25519","d":"` + encode(key.private.Seed()) + `","x":"` + encode(key.public) + `"}]}`))
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)
	if ring.Seals() || ring.ActiveID(now) != rfc8037Ring(t).ActiveID(now) {
		t.Errorf("%s signs, and secrets are sealed: %v; want the first, and no", ring.ActiveID(now), ring.Seals())
	}
	rotated, err := ring.Rotate(now, now.Add(time.Minute), time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	if second, ok := rotated.find(key.id); !ok || second.private != nil || !second.retired.Equal(now) {
		t.Errorf("the second key is %+v; want it to verify alone from now on", second)
	}
}

// An operator cannot rotate in the wrong order: while a key waits there is no second.
func TestRotateWaits(t *testing.T) {
	ring, err := GenerateKeyring()
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)
	begins := now.Add(10 * time.Minute)
	if ring, err = ring.Rotate(now, begins, time.Hour); err != nil {
		t.Fatal(err)
	}
	if ring, err = ring.RotateSealing(now, begins); err != nil {
		t.Fatal(err)
	}
	_, err = ring.Rotate(begins.Add(-time.Second), begins, time.Hour)
	_, errSealing := ring.RotateSealing(begins.Add(-time.Second), begins)
	for _, err := range []error{err, errSealing} {
		if err == nil || !strings.Contains(err.Error(), "2026-05-01T12:10:00Z") {
			t.Errorf("rotating while a key waits: got %v, want until when", err)
		}
	}
	_, err = ring.Rotate(begins, begins.Add(time.Minute), time.Hour)
	_, errSealing = ring.RotateSealing(begins, begins.Add(time.Minute))
	if err := errors.Join(err, errSealing); err != nil {
		t.Errorf("rotating once it signs: %v", err)
	}
}

// Leaked keys are replaced at once, whatever waits; what waits to seal leaked as well.
func TestReplaceWhileKeysWait(t *testing.T) {
	used, err := GenerateKeyring()
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)
	begins := now.Add(time.Hour)
	waiting, err := used.RotateSealing(now, begins)
	if err != nil {
		t.Fatal(err)
	}
	for range 2 { // the second time, what took the place of leaked keys waits
		fresh, err := waiting.Replace(now, time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		fresh = fresh.ReplaceSealing(now.Add(10 * time.Minute))
		if err := fresh.Follows(waiting, now, time.Hour); err != nil {
			t.Fatal(err)
		}
		if fresh.ActiveID(now) == waiting.ActiveID(now) {
			t.Error("a leaked key signs")
		}
		seals, err := fresh.sealing(begins.Add(time.Minute))
		if _, known := waiting.sealer(seals.id); err != nil || known {
			t.Errorf("a leaked key seals (%v)", err)
		}
		waiting = fresh
	}
}

// A file that lacks what is in use is not taken up.
func TestFollows(t *testing.T) {
	used, err := GenerateKeyring()
	if err != nil {
		t.Fatal(err)
	}
	other, err := GenerateKeyring()
	if err != nil {
		t.Fatal(err)
	}
	keep := KeepKeys(10 * time.Minute)
	now := time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)
	begins := now.Add(10 * time.Minute)
	rotated, err := used.Rotate(now, begins, keep)
	if err != nil {
		t.Fatal(err)
	}
	second, err := rotated.Rotate(begins, begins.Add(time.Minute), keep)
	if err != nil {
		t.Fatal(err)
	}
	sealing, err := used.RotateSealing(now, begins)
	if err != nil {
		t.Fatal(err)
	}
	impostor := &Keyring{signers: []signingKey{{id: used.signers[0].id, public: other.signers[0].public, private: other.signers[0].private}}, sealers: used.sealers}
	changed := &Keyring{signers: used.signers, sealers: []sealingKey{{id: used.sealers[0].id, secret: other.sealers[0].secret}}}
	for name, c := range map[string]struct {
		next, used *Keyring
		at         time.Time
		good       bool
	}{
		"the next key":                       {rotated, used, now, true},
		"itself":                             {used, used, now, true},
		"the file of before":                 {used, rotated, now, false},
		"a rotation later":                   {second, rotated, begins, true},
		"two rotations later":                {second, used, begins, true},
		"other keys":                         {other, used, now, false},
		"another key of the same name":       {impostor, used, now, false},
		"without the first, too early":       {&Keyring{signers: rotated.signers[1:], sealers: used.sealers}, rotated, begins.Add(keep), false},
		"without the first, when it is over": {&Keyring{signers: rotated.signers[1:], sealers: used.sealers}, rotated, begins.Add(keep + time.Second), true},
		"without what seals":                 {&Keyring{signers: used.signers}, used, now, false},
		"another of that name that seals":    {changed, used, now, false},
		"the next that seals":                {sealing, used, now, true},
		"without the next that seals":        {used, sealing, now, false},
	} {
		if err := c.next.Follows(c.used, c.at, keep); (err == nil) != c.good {
			t.Errorf("%s: got %v, want it taken up: %v", name, err, c.good)
		}
	}
	if rotated.Late(used, now) || !rotated.Late(used, begins) {
		t.Error("a key comes late once it signs, and not before")
	}
}

// What each key is for is said in a line.
func TestDescribeKeys(t *testing.T) {
	ring := rfc8037Ring(t)
	keep := time.Hour
	now := time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)
	says := func(at time.Time, want ...string) {
		t.Helper()
		var got []string
		for line := range strings.Lines(ring.Describe(at, keep)) {
			_, state, _ := strings.Cut(strings.TrimSpace(line), "  ")
			got = append(got, state)
		}
		if !slices.Equal(got, want) {
			t.Errorf("at %v the keys are\n got %q\nwant %q", at, got, want)
		}
	}
	try := func(next *Keyring, err error) {
		t.Helper()
		if ring = next; err != nil {
			t.Fatal(err)
		}
	}
	says(now, "signs")
	try(ring.RotateSealing(now, now.Add(time.Hour)))
	says(now, "signs", "seals secrets at rest")
	begins := now.Add(10 * time.Minute)
	try(ring.Rotate(now, begins, keep))
	try(ring.RotateSealing(now, begins))
	says(now, "signs until 2026-05-01T12:10:00Z", "signs from 2026-05-01T12:10:00Z on, and verifies already",
		"seals secrets at rest", "seals secrets at rest from 2026-05-01T12:10:00Z on")
	says(begins, "verifies until 2026-05-01T13:10:00Z", "signs", "opens the secrets that it sealed", "seals secrets at rest")
	says(begins.Add(keep+time.Second), "retired: verifies nothing any more", "signs", "opens the secrets that it sealed", "seals secrets at rest")
	try(ring.Replace(begins, keep))
	says(begins, "signs", "revoked: verifies nothing", "revoked: verifies nothing", "opens the secrets that it sealed", "seals secrets at rest")
	ring.verifiers = []signingKey{{id: "older"}} // as earlier releases could write it
	says(begins, "signs", "verifies", "opens the secrets that it sealed", "seals secrets at rest")
}

func TestRotateDropsKeysThatVerifyNothing(t *testing.T) {
	keep := KeepKeys(10 * time.Minute)
	if want := 10*time.Minute + 30*time.Second; keep != want {
		t.Fatalf("KeepKeys: got %v, want %v", keep, want)
	}
	ring := rfc8037Ring(t)
	now := time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)
	first := ring.ActiveID(now)
	rotate := func() {
		t.Helper()
		var err error
		if ring, err = ring.Rotate(now, now.Add(time.Minute), keep); err != nil {
			t.Fatal(err)
		}
	}
	rotate()
	now = now.Add(time.Minute + keep)
	rotate()
	if _, ok := ring.find(first); !ok {
		t.Error("a key was dropped while it could still verify")
	}
	now = now.Add(time.Minute)
	rotate()
	if _, ok := ring.find(first); ok {
		t.Error("a key was kept that can verify nothing any more")
	}
	if len(ring.all()) != 3 {
		t.Errorf("keys: got %d, want 3", len(ring.all()))
	}
}

func TestEphemeral(t *testing.T) {
	ring, err := Ephemeral()
	if err != nil || !ring.IsEphemeral() {
		t.Fatalf("got %v, %v", ring, err)
	}
	if ring, err = ring.Rotate(tokenTime, tokenTime.Add(time.Minute), time.Minute); err != nil || !ring.IsEphemeral() {
		t.Error("rotating made an ephemeral keyring look durable")
	}
	if ring, err = GenerateKeyring(); err != nil || ring.IsEphemeral() {
		t.Error("a generated keyring looks ephemeral")
	}
}

func TestKeyFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "keys.json")
	if _, err := LoadKeyring(path); !errors.Is(err, fs.ErrNotExist) {
		t.Fatalf("absent file: got %v, want fs.ErrNotExist", err)
	}
	made, created, err := LoadOrCreateKeyring(path)
	if err != nil || !created {
		t.Fatalf("first start: %v, created %v", err, created)
	}
	read, created, err := LoadOrCreateKeyring(path)
	if err != nil || created || !read.Equal(made) {
		t.Fatalf("second start: %v, created %v; want the keys of the first", err, created)
	}
	next, err := read.Rotate(tokenTime, tokenTime.Add(time.Minute), time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	if err := next.Save(path); err != nil {
		t.Fatal(err)
	}
	if read, err = LoadKeyring(path); err != nil || !read.Equal(next) {
		t.Errorf("after Save: %v; want the keys that were saved", err)
	}
	for mode, ok := range map[fs.FileMode]bool{0o600: true, 0o400: true, 0o640: false, 0o604: false, 0o620: false, 0o666: false, 0o610: false} {
		if err := os.Chmod(path, mode); err != nil {
			t.Fatal(err)
		}
		if _, err := LoadKeyring(path); (err == nil) != ok {
			t.Errorf("mode %04o: got %v, want accepted %v", mode, err, ok)
		}
	}
	// A link to the file stays one.
	link := filepath.Join(filepath.Dir(path), "link.json")
	if err := errors.Join(os.Symlink(path, link), made.Save(link), os.Chmod(path, 0o600)); err != nil {
		t.Fatal(err)
	}
	if target, err := os.Readlink(link); err != nil || target != path {
		t.Errorf("after Save the link leads to %q, %v; want %q", target, err, path)
	}
	if read, err = LoadKeyring(path); err != nil || !read.Equal(made) {
		t.Errorf("what was saved through a link: %v; want the keys", err)
	}
	if err := os.Remove(link); err != nil {
		t.Fatal(err)
	}
	left, err := os.ReadDir(filepath.Dir(path))
	if err != nil || len(left) != 1 {
		t.Errorf("files left: %v, %v", left, err)
	}
	if _, err := LoadKeyring(filepath.Dir(path)); err == nil {
		t.Error("a directory was accepted")
	}
}

func TestLoadOrCreateKeyringAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "keys.json")
	ids := make([]string, 8)
	var group sync.WaitGroup
	for i := range ids {
		group.Go(func() {
			ring, _, err := LoadOrCreateKeyring(path)
			if err != nil {
				t.Error(err)
				return
			}
			ids[i] = ring.ActiveID(tokenTime)
		})
	}
	group.Wait()
	for _, id := range ids {
		if id != ids[0] {
			t.Fatalf("processes ended with different keys: %q", ids)
		}
	}
}

// A changed file is taken up; a bad one leaves the keys in use and is told once.
func TestKeyFileChanges(t *testing.T) {
	b := newTokenBench(t)
	path := filepath.Join(t.TempDir(), "keys.json")
	first := b.Keyring()
	var log strings.Builder
	file := &KeyFile{Path: path, Tokens: b.Tokens, Log: slog.New(slog.NewTextHandler(&log, nil))}
	save := func(k *Keyring) {
		t.Helper()
		if err := k.Save(path); err != nil {
			t.Fatal(err)
		}
	}
	looks := func(what string, want *Keyring, says ...string) {
		t.Helper()
		log.Reset()
		file.Look()
		file.Look()
		if !b.Keyring().Equal(want) || len(says) != strings.Count(log.String(), "\n") {
			t.Errorf("%s: %s signs, and the log says\n%s\nwant %s, and %d lines", what, b.Keyring().ActiveID(*b.now), &log, want.ActiveID(*b.now), len(says))
		}
		for _, say := range says {
			if !strings.Contains(log.String(), say) {
				t.Errorf("%s: the log says\n%s\nwant %q", what, &log, say)
			}
		}
	}
	looks("no file", first, "no such file")
	save(first)
	looks("the same keys", first)
	stranger, err := GenerateKeyring()
	if err != nil {
		t.Fatal(err)
	}
	save(stranger)
	looks("keys of somebody else", first, "is missing")
	if err := os.WriteFile(path, []byte(`{"keys":`), 0o600); err != nil {
		t.Fatal(err)
	}
	looks("half a file", first, "not a JWK Set")
	next, err := first.Rotate(*b.now, b.now.Add(10*time.Minute), time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	save(next)
	if err := os.Chmod(path, 0o666); err != nil {
		t.Fatal(err)
	}
	looks("a file that all may write", first, "other users can open")
	save(next)
	looks("the next key", next, "keys taken up")
	*b.now = b.now.Add(10 * time.Minute)
	leaked, err := next.Replace(*b.now, time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	save(leaked)
	looks("a key that signs at once", leaked, "may have been refused", "keys taken up")
}
