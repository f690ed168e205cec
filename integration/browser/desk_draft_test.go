package browser

import (
	"context"
	"testing"

	"fringework/cmd/fringework/client"
)

// draftTitle is the title of the first week as the service has it.
func (s *setup) draftTitle(id string) string {
	s.t.Helper()
	var p struct {
		Draft struct {
			Weeks []struct {
				Title string `json:"title"`
			} `json:"weeks"`
		} `json:"draft"`
	}
	s.call(s.Owner, "GET", "/v1/programmes/"+id, nil, &p)
	return p.Draft.Weeks[0].Title
}

// programmeOf is the only programme of an academy.
func (s *setup) programmeOf(c client.Client) string {
	s.t.Helper()
	var list struct {
		Items []struct {
			ID string `json:"id"`
		} `json:"items"`
	}
	s.must(c.Call(context.Background(), "GET", "/v1/programmes", nil, &list))
	if len(list.Items) != 1 {
		s.t.Fatalf("got %d programmes, want 1", len(list.Items))
	}
	return list.Items[0].ID
}

const titleIs = `[...document.querySelectorAll("input")].some((e) => e.labels?.[0]?.innerText === "Title" && e.value === "`

// TestDraft writes on a programme with the network cut and the page reloaded in
// the middle: nothing that was typed is lost, and it is saved once there is a
// network.
func TestDraft(t *testing.T) {
	s := newSetup(t)
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	id := s.programmeOf(s.Owner)
	p.wait("the service worker", `navigator.serviceWorker?.controller`)
	p.place("#/programme/" + id)
	p.fill("Title", "Low and soft")
	p.see("Saved.")
	if got := s.draftTitle(id); got != "Low and soft" {
		t.Errorf("the service has the title %q", got)
	}

	s.Wire.Cut()
	s.must(p.Offline(true))
	p.fill("Title", "Written on the train")
	p.see("Kept on this device; it is saved once there is a connection")
	p.reload()
	p.wait("the title after a reload", titleIs+`Written on the train")`)
	p.see("Kept on this device")
	p.fill("Title", "Written on the train, twice")
	if got := s.draftTitle(id); got != "Low and soft" {
		t.Errorf("with the network cut the service has the title %q", got)
	}
	s.Wire.Mend()
	s.must(p.Offline(false))
	p.see("Saved.")
	if got := s.draftTitle(id); got != "Written on the train, twice" {
		t.Errorf("with the network back the service has the title %q", got)
	}

	p.press("Undo")
	p.wait("the last letter undone", titleIs+`Written on the train")`)
	p.see("Saved.")
}

// TestDraftConflict lets two people write on the same draft: each is shown what
// the other wrote, and decides.
func TestDraftConflict(t *testing.T) {
	s := newSetup(t)
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	id := s.programmeOf(s.Owner)
	p.place("#/programme/" + id)
	p.see("Saved.")
	other := func(title string) {
		t.Helper()
		var programme struct {
			Draft map[string]any `json:"draft"`
		}
		s.call(s.Owner, "GET", "/v1/programmes/"+id, nil, &programme)
		programme.Draft["weeks"].(array)[0].(object)["title"] = title
		s.call(s.Owner, "PUT", "/v1/programmes/"+id, programme.Draft, nil)
	}

	other("Theirs")
	p.fill("Title", "Ours")
	p.see("Two drafts differ", "week 1: title", "Theirs", "Ours")
	if got := s.draftTitle(id); got != "Theirs" {
		t.Errorf("before anybody decided the service has %q, want Theirs", got)
	}
	// The question survives a reload.
	p.reload()
	p.see("Two drafts differ", "1 difference")
	p.press("Keep yours")
	p.gone("Two drafts differ")
	p.see("Saved.")
	if got := s.draftTitle(id); got != "Ours" {
		t.Errorf("after keeping ours the service has %q", got)
	}

	other("Theirs again")
	p.fill("Title", "Ours again")
	p.see("Two drafts differ")
	p.press("Use theirs")
	p.wait("their title", titleIs+`Theirs again")`)
	p.press("Undo")
	p.wait("ours, undone", titleIs+`Ours again")`)
	p.see("Saved.")
}

// TestRefusedDraft keeps what the service does not take, and says why beside
// the field.
func TestRefusedDraft(t *testing.T) {
	s := newSetup(t)
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	p.place("#/programme/" + s.programmeOf(s.Owner))
	p.fill("Minutes", "3")
	p.see("Kept on this device: not accepted yet", "is 3; give a session of 5 to 240 minutes")
	p.reload()
	p.see("is 3; give a session of 5 to 240 minutes")
	p.fill("Minutes", "45")
	p.see("Saved.")
	p.gone("give a session of 5 to 240 minutes")
}
