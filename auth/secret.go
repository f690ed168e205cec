package auth

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"strings"

	"fringework/domain"
)

// Prefixes tell people, logs and scanners for leaked secrets what they hold.
const (
	refreshPrefix = "fwr_"
	keyPrefix     = "fwk_"
	// Of apps: the client secret, the authorization code and the refresh token.
	appPrefix        = "fwa_"
	codePrefix       = "fwc_"
	appRefreshPrefix = "fwo_"
)

// newSecret makes 256 random bits.
func newSecret() (raw [32]byte) {
	rand.Read(raw[:]) // never fails: it ends the program instead
	return raw
}

// newCode makes an invitation code: 26 letters and digits (RFC 4648 base32)
// with 130 random bits, safe in a URL and possible to type from paper.
func newCode() string { return rand.Text() }

// normalCode undoes what typing from paper does to a code.
func normalCode(code string) string {
	return strings.ToUpper(strings.NewReplacer(" ", "", "-", "").Replace(code))
}

// refreshToken is a refresh token taken apart. Written, it is the prefix and
// the three parts with dots between.
type refreshToken struct {
	family domain.ID
	// lineage is the same in all tokens of a family, secret in one alone.
	lineage string
	secret  string
}

func newRefreshToken(family domain.ID) refreshToken {
	lineage, secret := newSecret(), newSecret()
	return refreshToken{family: family, lineage: encode(lineage[:16]), secret: encode(secret[:])}
}

func (t refreshToken) String() string { return t.written(refreshPrefix) }

func (t refreshToken) written(prefix string) string {
	return prefix + string(t.family) + "." + t.lineage + "." + t.secret
}

func parseRefreshToken(text string) (refreshToken, bool) { return parseToken(refreshPrefix, text) }

func parseToken(prefix, text string) (t refreshToken, ok bool) {
	parts := strings.Split(strings.TrimPrefix(text, prefix), ".")
	if !strings.HasPrefix(text, prefix) || len(text) > 256 || len(parts) != 3 || !isID(domain.ID(parts[0])) {
		return t, false
	}
	return refreshToken{family: domain.ID(parts[0]), lineage: parts[1], secret: parts[2]}, true
}

// successor derives the token that follows: HMAC-SHA-256 of a stored random
// salt, keyed by the token's own secret, which only its holder has. So whoever
// repeats the refresh gets the very same successor, and yet the store, which has
// the salt and digests alone, gives nobody a token.
func (t refreshToken) successor(salt Digest) refreshToken {
	mac := hmac.New(sha256.New, []byte(t.secret))
	mac.Write([]byte("fringework refresh successor\x00"))
	mac.Write(salt[:])
	t.secret = encode(mac.Sum(nil))
	return t
}
