package browser

import (
	"strings"
	"testing"

	"fringework/integration/browser/fixture"
)

// TestFirstVisit: whoever has never signed in on a device is asked to, and the
// service is not asked for tokens that cannot be there. Who has stays signed in,
// even when the browser has forgotten all but its cookies.
func TestFirstVisit(t *testing.T) {
	s := firstVisit(t)
	p := s.laptop()
	for _, path := range []string{"/", "/desk", "/green"} {
		p.open(path)
		p.see("Sign in")
	}
	if log := s.Log(); strings.Contains(log, "/v1/tokens/refresh") {
		t.Errorf("a first visit asks for tokens:\n%s", log)
	}
	p.signInDesk(s.OwnerEmail)
	p.wait("what is stored to be cleared", `(() => {
		window.clearing ??= indexedDB.databases().then((all) => Promise.all(all.map(({ name }) => new Promise((done) => {
			const request = indexedDB.deleteDatabase(name);
			request.onsuccess = request.onblocked = done;
		})))).then(() => (window.cleared = true));
		return window.cleared;
	})()`)
	p.reload()
	p.see("Today")
}

// TestOwnersPages: a coach who comes to an owner's page by its address reads
// that only an owner can open it, and finds the way back.
func TestOwnersPages(t *testing.T) {
	s := newSetup(t)
	code, err := s.Invite(t.Context(), "coach", "Cleo Marsh")
	s.must(err)
	const email = "cleo@example.org"
	s.call(s.Anybody(), "POST", "/v1/invitations/accept", object{"code": code, "name": "Cleo Marsh", "email": email, "password": fixture.Password, "time_zone": "Europe/Lisbon"}, nil)
	p := s.laptop()
	p.signInDesk(email)
	for _, place := range []string{"#/keys", "#/log"} {
		p.place(place)
		p.see("Only an owner of the academy can open this page")
		p.gone("Try again")
	}
	p.press("Back to People")
	p.heading("People")
}
