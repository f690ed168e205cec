package curriculum

import (
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"fringework/domain"
)

// matchCase is one match of testdata/matches.json, which the phone must deal alike. Its
// cards are numbers of the shot's tasks, in the order of Tasks, counted from 0.
type matchCase struct {
	Kind  SkillKind `json:"kind"`
	Balls int       `json:"balls"`
	Own   bool      `json:"own"`
	Seed  uint32    `json:"seed"`
	Code  string    `json:"code"`
	ID    domain.ID `json:"id"`
	Cards []int     `json:"cards"`
}

// TestMatchCases: the cases were worked out in Python, from the doc comments alone.
func TestMatchCases(t *testing.T) {
	raw, err := os.ReadFile("testdata/matches.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []matchCase
	if err := json.Unmarshal(raw, &cases); err != nil || len(cases) < 8 {
		t.Fatalf("%d cases, %v", len(cases), err)
	}
	for _, c := range cases {
		m := Match{Kind: c.Kind, Balls: c.Balls, Own: c.Own, Seed: c.Seed}
		if m.Code() != c.Code || m.ID() != c.ID {
			t.Errorf("%+v: code %s and identity %s, want %s and %s", m, m.Code(), m.ID(), c.Code, c.ID)
		}
		tasks := Tasks(matchDrills[c.Kind].Drill)
		var cards []int
		for _, card := range m.Cards() {
			cards = append(cards, slices.Index(tasks, card))
		}
		if !slices.Equal(cards, c.Cards) {
			t.Errorf("%s deals %v, want %v", c.Code, cards, c.Cards)
		}
		read, err := ReadMatch(" " + strings.ToLower(strings.ReplaceAll(c.Code, "1", "l")))
		if err != nil || read != m {
			t.Errorf("%s is read as %+v, %v", c.Code, read, err)
		}
		if back, ok := MatchByID(c.ID); !ok || back != m {
			t.Errorf("%s is the identity of %+v, %v", c.ID, back, ok)
		}
	}
}

// TestCards: no card comes twice in a row, and each once before one comes again.
func TestCards(t *testing.T) {
	for _, kind := range MatchKinds() {
		tasks := len(Tasks(matchDrills[kind].Drill))
		for seed := range uint32(300) {
			m := Match{Kind: kind, Balls: 18, Seed: seed}
			seen := map[Task]int{}
			cards := m.Cards()
			for i, card := range cards {
				seen[card]++
				if i > 0 && cards[i-1] == card || seen[card] > i/tasks+1 && seen[card] > (18+tasks-1)/tasks {
					t.Fatalf("%s deals %v", m.Code(), cards)
				}
			}
			if len(cards) != 18 || len(seen) != tasks {
				t.Fatalf("%s deals %d cards, %d of them different", m.Code(), len(cards), len(seen))
			}
		}
		if (Match{Kind: kind}).Circle() < domain.Metre {
			t.Errorf("%s has no circle", kind)
		}
	}
}

// TestWrongCodes: every single wrong character is noticed.
func TestWrongCodes(t *testing.T) {
	code := strings.ReplaceAll(Match{Kind: Pitch, Balls: 12, Own: true, Seed: 123456789}.Code(), "-", "")
	for i := range code {
		for _, digit := range codeDigits {
			wrong := code[:i] + string(digit) + code[i+1:]
			if _, err := ReadMatch(wrong); (err == nil) != (wrong == code) {
				t.Errorf("%s for %s: %v", wrong, code, err)
			}
		}
	}
	for _, wrong := range []string{"", code[:7], code + "0", "U" + code[1:]} {
		if _, err := ReadMatch(wrong); domain.KindOf(err) != domain.Invalid {
			t.Errorf("%q: %v", wrong, err)
		}
	}
	for _, id := range []domain.ID{"", domain.Nobody, "zzzzzzzz-0000-8000-8000-6d6174636873", "00000000-0100-8000-8000-6d6174636873"} {
		if _, ok := MatchByID(id); ok {
			t.Errorf("%q is a match", id)
		}
	}
	var p domain.Problems
	Match{Kind: Lob, Balls: 7, Seed: MaxMatchSeed}.Check(&p)
	if len(p.Fields()) != 3 {
		t.Errorf("%v; want three problems", p.Fields())
	}
	p = domain.Problems{}
	if (Match{Kind: Pitch, Balls: 6}).Check(&p); len(p.Fields()) != 0 {
		t.Errorf("%v", p.Fields())
	}
}
