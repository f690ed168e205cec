package curriculum_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"testing"

	"fringework/domain"
	"fringework/domain/curriculum"
)

// TestLotsOfFile: what the file says is also what the phone must draw.
func TestLotsOfFile(t *testing.T) {
	raw, err := os.ReadFile("testdata/lots.json")
	if err != nil {
		t.Fatal(err)
	}
	var lots []struct {
		Session domain.ID `json:"session"`
		Block   int       `json:"block"`
		Hidden  bool      `json:"hidden"`
	}
	if err := json.Unmarshal(raw, &lots); err != nil || len(lots) < 8 {
		t.Fatalf("%d lots, %v", len(lots), err)
	}
	for _, l := range lots {
		if got := curriculum.Hidden(l.Session, l.Block); got != l.Hidden {
			t.Errorf("block %d of %s: hidden is %v", l.Block, l.Session, got)
		}
	}
}

// TestLotsAreEven: half are hidden, and blocks of a session and sessions in turn do not
// hang together, though their IDs begin alike. Of 20,000 even ones 0.485 to 0.515 is
// more than four standard deviations wide either way.
func TestLotsAreEven(t *testing.T) {
	r := rand.New(rand.NewPCG(12, 3))
	const n = 20_000
	var hidden, both, turn int
	was := false
	for i := range n {
		id := domain.ID(fmt.Sprintf("%08x-%04x-7%03x-%04x-%012x", 0x019a0000+i/50, r.IntN(1<<16), r.IntN(1<<12), 1<<15|r.IntN(1<<14), r.Int64N(1<<48)))
		first, second := curriculum.Hidden(id, 3), curriculum.Hidden(id, 4)
		if first {
			hidden++
		}
		if first == second {
			both++
		}
		if first == was {
			turn++
		}
		was = first
	}
	for what, count := range map[string]int{"hidden": hidden, "alike in a session": both, "alike in turn": turn} {
		if share := float64(count) / n; share < 0.485 || share > 0.515 {
			t.Errorf("%s: %.4f", what, share)
		}
	}
}
