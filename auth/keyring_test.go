package auth

import (
	"bytes"
	"encoding/base64"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
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
	key := rfc8037Ring(t).keys[0]
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
		"d of another key":      `{"keys":[{"kty":"OKP","crv":"Ed25519","d":"` + rfc8037Private + `","x":"` + encode(other.keys[0].public) + `"}]}`,
		"kid twice":             `{"keys":[{` + private + `},{` + private + `}]}`,
		"first only verifies":   `{"keys":[{"kty":"OKP","crv":"Ed25519","x":"` + rfc8037Public + `"}]}`,
		"first retired":         `{"keys":[{` + private + `,"retired_at":1767225600}]}`,
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

func TestKeyringTextRoundTrip(t *testing.T) {
	ring := rfc8037Ring(t)
	now := time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)
	ring, err := ring.Rotate(now, time.Minute)
	if err != nil {
		t.Fatal(err)
	}
	again, err := ParseKeyring(ring.Private())
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(again.Private(), ring.Private()) {
		t.Errorf("read back:\n got %s\nwant %s", again.Private(), ring.Private())
	}
	if len(again.keys) != 2 || again.keys[1].private != nil || !again.keys[1].retired.Equal(now) {
		t.Errorf("the old key should only verify and know when it was retired: %+v", again.keys[1:])
	}
	if text := string(ring.Private()); strings.Contains(text, rfc8037Private) {
		t.Error("the private half of the retired key was kept")
	}
	if text := string(ring.Public()); strings.Contains(text, `"d"`) || !strings.Contains(text, rfc8037Public) {
		t.Errorf("public set: %s", text)
	}
}

func TestRotateDropsKeysThatVerifyNothing(t *testing.T) {
	keep := KeepKeys(10 * time.Minute)
	if want := 10*time.Minute + 30*time.Second; keep != want {
		t.Fatalf("KeepKeys: got %v, want %v", keep, want)
	}
	ring := rfc8037Ring(t)
	first := ring.ActiveID()
	now := time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)
	rotate := func() {
		t.Helper()
		var err error
		if ring, err = ring.Rotate(now, keep); err != nil {
			t.Fatal(err)
		}
	}
	rotate()
	now = now.Add(keep)
	rotate()
	if _, ok := ring.find(first); !ok {
		t.Error("a key was dropped while it could still verify")
	}
	now = now.Add(time.Second)
	rotate()
	if _, ok := ring.find(first); ok {
		t.Error("a key was kept that can verify nothing any more")
	}
	if len(ring.keys) != 3 {
		t.Errorf("keys: got %d, want 3", len(ring.keys))
	}
}

func TestEphemeral(t *testing.T) {
	ring, err := Ephemeral()
	if err != nil || !ring.IsEphemeral() {
		t.Fatalf("got %v, %v", ring, err)
	}
	if ring, err = ring.Rotate(time.Now(), time.Minute); err != nil || !ring.IsEphemeral() {
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
	if err != nil || created || read.ActiveID() != made.ActiveID() {
		t.Fatalf("second start: %v, created %v, kid %s, want %s", err, created, read.ActiveID(), made.ActiveID())
	}
	next, err := read.Rotate(time.Now(), time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	if err := next.Save(path); err != nil {
		t.Fatal(err)
	}
	if read, err = LoadKeyring(path); err != nil || read.ActiveID() != next.ActiveID() {
		t.Errorf("after Save: %v, kid %s, want %s", err, read.ActiveID(), next.ActiveID())
	}
	for mode, ok := range map[fs.FileMode]bool{0o600: true, 0o400: true, 0o640: false, 0o604: false, 0o620: false, 0o666: false, 0o610: false} {
		if err := os.Chmod(path, mode); err != nil {
			t.Fatal(err)
		}
		if _, err := LoadKeyring(path); (err == nil) != ok {
			t.Errorf("mode %04o: got %v, want accepted %v", mode, err, ok)
		}
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
			ids[i] = ring.ActiveID()
		})
	}
	group.Wait()
	for _, id := range ids {
		if id != ids[0] {
			t.Fatalf("processes ended with different keys: %q", ids)
		}
	}
}
