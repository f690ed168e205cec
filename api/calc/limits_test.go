package calc

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"fringework/domain"
)

// What takes time with the square of what is sent is bounded, and tells what to leave
// out.
func TestWalkIsBounded(t *testing.T) {
	sessions := func(n int) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, `,{"day":%d,"balls":30,"inside":%d}`, i, 10+i%9)
		}
		return fmt.Sprintf(`{"sessions":[%s],"walk":true}`, b.String()[1:])
	}
	if _, err := Run(t.Context(), "progress", []byte(sessions(maxWalk))); err != nil {
		t.Errorf("of %d sessions: %v", maxWalk, err)
	}
	_, err := Run(t.Context(), "progress", []byte(sessions(maxWalk+1)))
	if f := domain.FieldsOf(err); len(f) != 1 || f[0].Pointer != "/walk" {
		t.Errorf("of one more: got %v, want a refusal at /walk", err)
	}
}

// Nothing is calculated for whoever has gone.
func TestCalculationsEndWithTheRequest(t *testing.T) {
	gone, leave := context.WithCancel(t.Context())
	leave()
	for _, c := range All() {
		if _, err := Run(gone, c.Name, []byte(c.Example)); !errors.Is(err, context.Canceled) {
			t.Errorf("%s: got error %v, want that nobody waits for it", c.Name, err)
		}
	}
}
