package auth_test

import (
	"strings"
	"testing"

	"fringework/auth"
	"fringework/domain"
)

func TestLinkToken(t *testing.T) {
	const academy = domain.ID("01910000-0000-7000-8000-00000000000a")
	token, digest, err := auth.NewLinkToken(academy)
	if err != nil {
		t.Fatal(err)
	}
	got, read, ok := auth.ReadLinkToken(token)
	if !ok || got != academy || read != digest || digest != auth.DigestOf(token) || !strings.HasPrefix(token, "fwl_") {
		t.Errorf("%s is read as %s, %x, %v; want the academy and the digest of the token", token, got, read, ok)
	}
	if other, _, _ := auth.NewLinkToken(academy); other == token {
		t.Error("two tokens are the same")
	}
	if _, _, err := auth.NewLinkToken("none"); err == nil {
		t.Error("a token for no academy was made")
	}
	for _, bad := range []string{"", "fwl_", "fwl_!", token[:len(token)-2], token + "AA", "fwk_" + token[4:], token[4:]} {
		if _, _, ok := auth.ReadLinkToken(bad); ok {
			t.Errorf("%q is taken for a token", bad)
		}
	}
}

// Wrong links are slowed down; a good one costs nothing.
func TestByLink(t *testing.T) {
	w := newFixture(t)
	good := func() error { return nil }
	miss := func() error { return domain.Errorf(domain.NotFound, "no_report", "There is none.") }
	for range 40 {
		w.ok(w.ByLink(w.ctx, home, good))
	}
	for range 30 {
		w.refused("a wrong link", w.ByLink(w.ctx, home, miss), domain.NotFound, "no_report")
	}
	w.refused("one too many", w.ByLink(w.ctx, home, miss), domain.TooMany, "too_many_attempts")
	w.refused("a good one from there", w.ByLink(w.ctx, home, good), domain.TooMany, "too_many_attempts")
	w.ok(w.ByLink(w.ctx, away, good))
}
