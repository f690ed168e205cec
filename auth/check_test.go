package auth

import (
	"strings"
	"testing"

	"fringework/domain"
)

func TestNormalEmail(t *testing.T) {
	for in, want := range map[string]string{
		"ann@example.org":                        "ann@example.org",
		"  Ann.O'Neill+golf@Example.ORG\t":       "ann.o'neill+golf@example.org",
		"ÄNN@exämple.org":                        "änn@exämple.org",
		"root@localhost":                         "root@localhost",
		strings.Repeat("a", 64) + "@example.org": strings.Repeat("a", 64) + "@example.org",
		strings.Repeat("a", 65) + "@example.org": "",
		"a@" + strings.Repeat("b", 252):          "a@" + strings.Repeat("b", 252),
		"a@" + strings.Repeat("b", 253):          "",
		"":                                       "",
		"ann":                                    "",
		"@example.org":                           "",
		"ann@":                                   "",
		"ann@home@example.org":                   "",
		"ann o@example.org":                      "",
		"ann@exam ple.org":                       "",
		"Ann <ann@example.org>":                  "",
		"ann@example.org\r\nBcc: everybody@other.org": "",
		"ann@example.org,bob@example.org":             "",
		"ann\x00@example.org":                         "",
		"ann\u200b@example.org":                       "",
		"ann@example..org":                            "",
		"ann@.example.org":                            "",
		"ann@example.org.":                            "",
		"ann\xff@example.org":                         "",
	} {
		got, ok := NormalEmail(in)
		if ok != (want != "") || ok && got != want {
			t.Errorf("%q: got %q, %v; want %q", in, got, ok, want)
		}
		if again, _ := NormalEmail(got); ok && again != got {
			t.Errorf("%q: normalised twice it is %q", in, again)
		}
	}
}

func TestCheckName(t *testing.T) {
	for in, want := range map[string]string{
		" Ann O'Neill ":                "Ann O'Neill",
		"<script>alert(1)</script>":    "<script>alert(1)</script>", // escaped where it is shown
		strings.Repeat("ö", 100):       "",
		strings.Repeat("ö", 100) + " ": strings.Repeat("ö", 100),
		strings.Repeat("ö", 101):       "",
		" ":                            "",
		"two\nlines":                   "",
		"nul\x00":                      "",
		"bad \xff":                     "",
	} {
		if in == strings.Repeat("ö", 100) {
			want = in
		}
		var p domain.Problems
		got := checkName(&p, "/name", in)
		ok := len(p.Fields()) == 0
		if ok != (want != "") || ok && got != want {
			t.Errorf("%q: got %q, %v; want %q", in, got, p.Fields(), want)
		}
	}
}

func TestCheckZone(t *testing.T) {
	for zone, want := range map[string]bool{
		"Europe/Dublin": true, "UTC": true, "America/Argentina/Buenos_Aires": true,
		"": false, "Local": false, "Europe/Atlantis": false, "../etc/passwd": false, "GMT+25": false, "europe/dublin\x00": false,
	} {
		var p domain.Problems
		checkZone(&p, zone)
		if got := len(p.Fields()) == 0; got != want {
			t.Errorf("%q: accepted %v, want %v", zone, got, want)
		}
	}
}

func TestIsID(t *testing.T) {
	const good = "0190a000-0000-7000-8000-00000000000f"
	for id, want := range map[domain.ID]bool{
		good: true, domain.ID(strings.ToUpper(good)): false, good + "0": false, domain.ID(good[:35]): false, "": false,
		"0190a000-0000-7000-8000-00000000000g":   false,
		"0190a00000000-7000-8000-00000000000ff":  false,
		"0190a000-0000-7000-8000_00000000000f":   false,
		"{190a000-0000-7000-8000-00000000000}":   false,
		"0190a000-0000-7000-8000-0000000000\x00": false,
		"------------------------------------":   false,
	} {
		if got := isID(id); got != want {
			t.Errorf("%q: got %v, want %v", id, got, want)
		}
	}
}
