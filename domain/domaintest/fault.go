package domaintest

import (
	"errors"
	"reflect"
	"testing"

	"fringework/domain"
)

// EveryFault runs a use case once for each store call it makes, with that call
// failing, and then once without a failure, whose error it returns. Each
// failure must come out as it is and leave the academy as it was.
func EveryFault(t testing.TB, mem *Memory, of domain.ID, do func() error) error {
	t.Helper()
	defer mem.FailAt(0)
	before := mem.Snapshot(of)
	for n := 1; ; n++ {
		mem.FailAt(n)
		err := do()
		if mem.Calls() < n {
			return err // the call that was to fail never came
		}
		if !errors.Is(err, ErrFault) {
			t.Errorf("store call %d failed, but the use case gave %v", n, err)
		}
		if !reflect.DeepEqual(mem.Snapshot(of), before) {
			t.Fatalf("store call %d failed, and something was kept all the same", n)
		}
	}
}
