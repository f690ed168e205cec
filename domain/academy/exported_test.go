package academy_test

import (
	"testing"

	"fringework/domain"
	"fringework/domain/domaintest"
)

// TestExportsAreLogged: whoever takes data out is in the log, with what it was.
func TestExportsAreLogged(t *testing.T) {
	h := open(t)
	for who, a := range map[domain.ID]domain.Actor{coach.Member: coach, key.Key: key} {
		must(0, h.people.Exported(ctx, a, "balls"))(t)
		log := h.mem.Events(hollow)
		if e := log[len(log)-1]; e.Kind != "export.made" || e.Actor != who || e.Subject != hollow || e.Student != "" || e.Data["what"] != "balls" || !e.At.Equal(h.mem.Now()) {
			t.Errorf("the log ends with %+v, want the export", e)
		}
	}
	if err := domaintest.EveryFault(t, h.mem, hollow, func() error { return h.people.Exported(ctx, owner, "academy") }); err != nil {
		t.Error(err)
	}
}
