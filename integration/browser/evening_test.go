package browser

import (
	"testing"

	"fringework/integration/browser/evening"
)

// TestEvening holds a coach's first evening to so many clicks and keys; the
// command effort prints the same.
func TestEvening(t *testing.T) {
	s := newSetup(t)
	const email = "ines.duarte@example.org"
	coach, err := evening.Found(t.Context(), s.Service, email)
	s.must(err)
	s.profile.Before(evening.Counter)
	p := s.laptop()
	s.must(evening.SignIn(p.Tab, s.URL, email))
	s.must(evening.Reset(p.Tab))
	for _, part := range evening.Parts() {
		s.must(part.Do(p.Tab))
		s.must(part.Check(t.Context(), coach))
	}
	took, err := evening.Counted(p.Tab)
	s.must(err)
	t.Logf("%d clicks, %d keys", took.Clicks, took.Keys)
	// Each of Programmes, Name, six skills, Begin and Publish is a click; "Six weeks" is ten keys.
	if took.Clicks < 10 || took.Clicks > evening.MostClicks || took.Keys < 10 || took.Keys > evening.MostKeys {
		t.Errorf("it took %d clicks and %d keys, want 10 to %d and 10 to %d", took.Clicks, took.Keys, evening.MostClicks, evening.MostKeys)
	}
}
