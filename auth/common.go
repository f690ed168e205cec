package auth

import (
	"bytes"
	"compress/gzip"
	_ "embed"
	"io"
	"slices"
	"strings"
	"sync"
	"unicode"

	"fringework/domain"
)

// commonGzip is the 10,000 most used passwords of at least MinPassword
// characters, in lower case and sorted, one a line. They are from "Ten million
// passwords" (Mark Burnett, 2015; given to the public domain), counted by the
// authors of zxcvbn (D. Wheeler, USENIX Security 2016).
//
//go:embed common.txt.gz
var commonGzip []byte

// common is the list as a set, unpacked when it is first asked.
var common = sync.OnceValue(func() map[string]bool {
	z, err := gzip.NewReader(bytes.NewReader(commonGzip))
	if err != nil {
		panic(err) // the list is part of the program
	}
	text, err := io.ReadAll(z)
	if err != nil {
		panic(err)
	}
	set := map[string]bool{}
	for line := range strings.Lines(string(text)) {
		set[strings.TrimSuffix(line, "\n")] = true
	}
	return set
})

// checkGuessable notes at pointer a password that is tried first: one that many
// people use (NIST SP 800-63B §5.1.1.2 asks for such a list), or one that is only
// a name or an e-mail of those given, perhaps with digits around it.
func checkGuessable(p *domain.Problems, pointer, password string, names ...string) {
	lower := strings.ToLower(password)
	bare := strings.TrimFunc(letters(lower), unicode.IsDigit)
	if common()[lower] || len(strings.Trim(lower, lower[:min(1, len(lower))])) == 0 {
		p.Add(pointer, "is one of the passwords that are guessed first; choose another, such as three or four words that do not belong together")
		return
	}
	if slices.Contains(namesIn(names), bare) {
		p.Add(pointer, "is only a name or an e-mail address that others know; choose another, such as three or four words that do not belong together")
	}
}

// namesIn gives the letters and digits of names, and of the parts of e-mails.
func namesIn(names []string) (out []string) {
	for _, name := range append(names, "fringework") {
		name = strings.ToLower(name)
		local, host, isEmail := strings.Cut(name, "@")
		all := []string{name}
		if isEmail {
			all = append(all, local, host)
		}
		for _, n := range all {
			if n = strings.TrimFunc(letters(n), unicode.IsDigit); n != "" {
				out = append(out, n)
			}
		}
	}
	return out
}

// letters leaves out everything but letters and digits.
func letters(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
		return -1
	}, text)
}
