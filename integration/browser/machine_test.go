package browser

import (
	"errors"
	"sync"
	"testing"

	"fringework/integration/browser/chrome"
	"fringework/integration/browser/fixture"
)

// machine is what a person looks at the pages with: a profile of the browser, and
// an address for the service. It goes from one test to the next with the service
// worker and the pages that are kept, which take half a second of processor time
// to be installed, and without anything that a person has left.
type machine struct {
	profile *chrome.Profile
	front   *fixture.Front
	used    bool
}

// machines are those that no test has at present.
var machines struct {
	sync.Mutex
	idle []*machine
}

// newMachine is one that knows nothing, not even the pages.
func newMachine() (*machine, error) {
	profile, err := chromium.Fresh()
	if err != nil {
		return nil, err
	}
	return &machine{profile: profile, front: fixture.NewFront()}, nil
}

// takeMachine is an idle one, or another.
func takeMachine() (*machine, error) {
	machines.Lock()
	defer machines.Unlock()
	last := len(machines.idle) - 1
	if last < 0 {
		return newMachine()
	}
	m := machines.idle[last]
	machines.idle = machines.idle[:last]
	return m, nil
}

// giveBack lets another test have it.
func (m *machine) giveBack() {
	m.front.Leave()
	m.used = true
	machines.Lock()
	defer machines.Unlock()
	machines.idle = append(machines.idle, m)
}

// scrap ends it.
func (m *machine) scrap() error {
	err := m.profile.Close()
	m.front.Close()
	return err
}

func scrapMachines() (err error) {
	machines.Lock()
	defer machines.Unlock()
	for _, m := range machines.idle {
		err = errors.Join(err, m.scrap())
	}
	machines.idle = nil
	return err
}

// sitAt makes the next tabs those of a machine, until the test ends. Whoever
// finds a fault may have left it behind, so nobody has the machine after that.
func (s *setup) sitAt(m *machine, err error) {
	s.t.Helper()
	s.must(err)
	m.front.Lead(s.Service)
	s.machine, s.URL = m, m.front.URL
	s.profile = m.profile.Again()
	s.profile.Before(chrome.ClockOff(s.Clock.Off))
	s.t.Cleanup(func() {
		if !s.t.Failed() && !s.spoiled {
			m.giveBack()
		} else if err := m.scrap(); err != nil {
			s.t.Error(err)
		}
	})
}

// elsewhere makes the next tabs those of a person at another machine.
func (s *setup) elsewhere() { s.t.Helper(); s.sitAt(takeMachine()) }

// firstVisit is newSetup with a machine that knows nothing, not even the pages,
// and that no other test has afterwards.
func firstVisit(t *testing.T) *setup {
	t.Helper()
	t.Parallel()
	s := serviceOf(t, template)
	s.spoiled = true
	s.sitAt(newMachine())
	return s
}
