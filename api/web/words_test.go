package web

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/course"
	"fringework/domain/curriculum"
	"fringework/domain/streak"
)

// names gives the names and, where they are texts, the values of an object that
// a module declares as a constant.
func names(t *testing.T, module, constant string) (keys []string, values map[string]string) {
	t.Helper()
	f := loaded(t).assets[module]
	if f == nil {
		t.Fatalf("there is no module %s", module)
	}
	declared := regexp.MustCompile(`(?s)const ` + constant + ` = [{\[](.*?)\n?[}\]];`).FindSubmatch(f.body)
	if declared == nil {
		t.Fatalf("%s declares no %s", module, constant)
	}
	values = map[string]string{}
	for _, m := range regexp.MustCompile(`(\w+): (?:"([^"]*)"|\[)`).FindAllSubmatch(declared[1], -1) {
		keys = append(keys, string(m[1]))
		values[string(m[1])] = string(m[2])
	}
	return keys, values
}

func texts[W any](all []W) (out []string) {
	for _, w := range all {
		out = append(out, fmt.Sprint(w))
	}
	return out
}

// TestRoundsCompared: the page says as many rounds as the comparison takes.
func TestRoundsCompared(t *testing.T) {
	want := fmt.Sprintf("const COMPARED = %d;", course.LeastCompared)
	if body := string(loaded(t).assets["base/course.js"].body); !strings.Contains(body, want) {
		t.Errorf("base/course.js lacks %q", want)
	}
}

// TestWordsAreTheDomains: the pages have a word for everything that the domain
// declares, in its order, and for nothing else.
func TestWordsAreTheDomains(t *testing.T) {
	for _, c := range []struct {
		module, constant string
		want             []string
	}{
		{"base/words.js", "kinds", texts(curriculum.BlockKinds())},
		{"base/words.js", "outcomes", texts(streak.Outcomes())},
		{"desk/reasons.js", "reasons", texts(advice.Reasons())},
		{"base/words.js", "roles", texts(domain.Roles())},
		{"base/skillkinds.js", "kinds", texts(curriculum.SkillKinds())},
	} {
		if got, _ := names(t, c.module, c.constant); !slices.Equal(got, c.want) {
			t.Errorf("%s: %s are %v, want %v", c.module, c.constant, got, c.want)
		}
	}
	_, labels := names(t, "desk/reasons.js", "reasons")
	for _, r := range advice.Reasons() {
		if labels[string(r)] != r.Label() {
			t.Errorf("%s is called %q, want %q", r, labels[string(r)], r.Label())
		}
	}
}
