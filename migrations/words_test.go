package migrations_test

import (
	"io/fs"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/webhook"
)

// TestChecksAreTheDomains: a column that holds words of the domain lets in these
// and no other; before a later migration, the first of them.
func TestChecksAreTheDomains(t *testing.T) {
	want := map[string][]string{
		"surface": texts(curriculum.Surfaces()), "variant": texts(curriculum.Variants()),
		"side":  texts(academy.QuietSides()),
		"state": texts(webhook.States()), "role": texts(domain.Roles()), "kind": texts(curriculum.AdjustmentKinds()),
		"units": {string(academy.FeetAndYards), string(academy.InMetres)},
	}
	check := regexp.MustCompile(`CHECK \((\w+) IN \(('[^)]*)\)\)`)
	met := map[string]int{}
	for _, engine := range engines {
		files, err := fs.Glob(os.DirFS("."), string(engine.engine)+"/*.sql")
		if err != nil || len(files) == 0 {
			t.Fatalf("%s: %d files, %v", engine.engine, len(files), err)
		}
		latest := map[string][]string{}
		for _, file := range files { // by number
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			up, _, _ := strings.Cut(string(text), "-- +goose Down")
			for _, m := range check.FindAllStringSubmatch(up, -1) {
				got := strings.Split(strings.ReplaceAll(m[2], "'", ""), ", ")
				met[m[1]]++
				latest[m[1]] = got
				if n := len(got); n > len(want[m[1]]) || !slices.Equal(got, want[m[1]][:n]) {
					t.Errorf("%s: %s may be %v, want %v", file, m[1], got, want[m[1]])
				}
			}
		}
		for column, got := range latest {
			if !slices.Equal(got, want[column]) {
				t.Errorf("%s: %s may be %v in the end, want %v", engine.engine, column, got, want[column])
			}
		}
	}
	for column := range want {
		if met[column] < len(engines) {
			t.Errorf("%s is checked %d times, want it on every engine", column, met[column])
		}
	}
}

func texts[W ~string](all []W) (out []string) {
	for _, w := range all {
		out = append(out, string(w))
	}
	return out
}
