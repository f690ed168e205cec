package auth

import (
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"fringework/domain"
)

// maxName is the longest name of a person, academy or key, in characters.
const maxName = 100

// NormalEmail gives the form in which e-mails are kept and compared: trimmed,
// in lower case, and composed (Unicode's NFC, as RFC 6532 §3.1 asks). ok is false when it is no address of the shape
// local@domain of at most 254 bytes (RFC 5321 §4.5.3.1.3); whether it can be
// reached only a message would tell.
func NormalEmail(email string) (normal string, ok bool) {
	normal = norm.NFC.String(strings.ToLower(strings.TrimSpace(email)))
	local, host, found := strings.Cut(normal, "@")
	odd := func(r rune) bool {
		return unicode.IsSpace(r) || !unicode.IsPrint(r) || strings.ContainsRune(`<>()[],;:\"@`, r)
	}
	ok = found && utf8.ValidString(email) && len(normal) <= 254 && local != "" && len(local) <= 64 &&
		host != "" && !strings.ContainsFunc(local, odd) && !strings.ContainsFunc(host, odd) &&
		!strings.HasPrefix(host, ".") && !strings.HasSuffix(host, ".") && !strings.Contains(host, "..")
	return normal, ok
}

// checkEmail normalises an e-mail or notes what is wrong with it.
func checkEmail(p *domain.Problems, email string) string {
	normal, ok := NormalEmail(email)
	if !ok {
		p.Add("/email", "is not an e-mail address; write it like ann@example.org")
	}
	return normal
}

// checkName trims a name or notes what is wrong with it.
func checkName(p *domain.Problems, pointer, name string) string {
	name = strings.TrimSpace(name)
	n := utf8.RuneCountInString(name)
	switch {
	case !utf8.ValidString(name) || strings.ContainsFunc(name, unicode.IsControl):
		p.Add(pointer, "has characters that cannot be shown; use plain text on one line")
	case n == 0:
		p.Add(pointer, "is empty; give 1 to %d characters", maxName)
	case n > maxName:
		p.Add(pointer, "has %d characters; use at most %d", n, maxName)
	}
	return name
}

// checkZone notes a time zone that the tz database does not know.
func checkZone(p *domain.Problems, zone string) {
	_, err := time.LoadLocation(zone)
	if err != nil || zone == "" || zone == "Local" {
		p.Add("/time_zone", "%q is not a time zone; use an IANA name such as Europe/Dublin", zone)
	}
}

// isID reports whether text is an identity: a UUID in canonical lower-case
// form. Other text names nothing, and a store may choke on it.
func isID(id domain.ID) bool {
	if len(id) != 36 {
		return false
	}
	for i, c := range []byte(id) {
		dash := i == 8 || i == 13 || i == 18 || i == 23
		hex := c >= '0' && c <= '9' || c >= 'a' && c <= 'f'
		if dash != (c == '-') || !dash && !hex {
			return false
		}
	}
	return true
}
