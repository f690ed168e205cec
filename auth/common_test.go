package auth

import (
	"strings"
	"testing"
	"unicode/utf8"

	"fringework/domain"
)

// TestCommonList: the list is what its comment says.
func TestCommonList(t *testing.T) {
	if n := len(common()); n != 10_000 {
		t.Errorf("%d passwords; want 10000", n)
	}
	for word := range common() {
		if utf8.RuneCountInString(word) < MinPassword || word != strings.ToLower(word) {
			t.Errorf("%q could not be given or found", word)
		}
	}
}

// TestGuessable: NIST SP 800-63B §5.1.1.2 names common passwords, repeated
// characters, and the names of the service and of the person.
func TestGuessable(t *testing.T) {
	names := []string{"Petra Oyelaran", "Saltmarsh Short Game", "p.oyelaran@saltmarsh.example"}
	for password, want := range map[string]string{
		"password":                     "guessed first",
		"Password":                     "guessed first",
		"12345678":                     "guessed first",
		"qwertyuiop":                   "guessed first",
		"zzzzzzzzzzzz":                 "guessed first",
		"petra oyelaran":               "only a name",
		"PetraOyelaran1984":            "only a name",
		"saltmarsh-short-game!":        "only a name",
		"p.oyelaran":                   "only a name",
		"p.oyelaran@saltmarsh.example": "only a name",
		"Fringework2026":               "only a name",
		"petra likes short games":      "",
		"three blue oysters":           "",
		"8317 2296 4410":               "",
	} {
		var p domain.Problems
		checkPassword(&p, "/password", password, names...)
		got := ""
		if fields := p.Fields(); len(fields) > 0 {
			got = fields[0].Detail
		}
		if (got == "") != (want == "") || !strings.Contains(got, want) {
			t.Errorf("%q: got %q, want %q in it", password, got, want)
		}
	}
}

// TestNormalPassword: the examples of RFC 8265 §4.3.
func TestNormalPassword(t *testing.T) {
	for typed, want := range map[string]string{
		"correct horse battery staple": "correct horse battery staple",
		"Correct Horse Battery Staple": "Correct Horse Battery Staple",
		"πßå":                          "πßå",
		"Jack of ♦s":                   "Jack of ♦s",
		"foo\u1680bar":                 "foo bar",
		"e\u0301":                      "\u00e9",
	} {
		if got, ok := NormalPassword(typed); !ok || got != want {
			t.Errorf("%q: got %q, %v; want %q", typed, got, ok, want)
		}
	}
	for _, typed := range []string{"", "my cat is a \tby"} {
		if got, ok := NormalPassword(typed); ok {
			t.Errorf("%q: got %q; want it refused", typed, got)
		}
	}
}

// TestVerifyTyped: a password from before passwords were normalised fits as it
// was typed then, and is to be hashed anew; one hashed today fits however it is
// typed.
func TestVerifyTyped(t *testing.T) {
	h := cheapHasher(t, 1)
	hash := func(password string) string {
		encoded, err := h.Hash(t.Context(), password)
		if err != nil {
			t.Fatal(err)
		}
		return encoded
	}
	const composed, decomposed = "caf\u00e9 on the tee", "cafe\u0301 on the tee"
	for _, c := range []struct {
		typed, kept string
		ok, stale   bool
	}{
		{composed, composed, true, false},
		{decomposed, composed, true, false},
		{decomposed, decomposed, true, true},
		{composed, decomposed, false, false},
		{"a \x00 byte in it", "a \x00 byte in it", true, false},
		{"wrong cafe\u0301", composed, false, true},
	} {
		ok, stale, err := h.VerifyTyped(t.Context(), c.typed, hash(c.kept))
		if err != nil || ok != c.ok || ok && stale != c.stale {
			t.Errorf("%q for %q: got %v, stale %v, %v; want %v, %v", c.typed, c.kept, ok, stale, err, c.ok, c.stale)
		}
	}
}
