// Package evening is a coach's first evening at the desk, by the pages alone: six
// weeks of six skills, each an hour in four equal parts, written, published and
// given to thirty students whose names are pasted.
// What must be pressed and typed for it is counted in the page.
package evening

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"fringework/cmd/fringework/client"
	"fringework/integration/browser/chrome"
	"fringework/integration/browser/fixture"
)

// What the evening may take.
const (
	MostClicks = 60
	MostKeys   = 250
)

// Effort is what was pressed and typed.
type Effort struct {
	// Clicks are presses of the mouse.
	Clicks int
	// Keys are keys pressed; a capital letter is two, with the shift key.
	Keys int
}

// Counter is to run before every page of the tab: it counts what a person does,
// and nothing that a script does in a person's place.
const Counter = `(() => {
	const count = (what, n) => sessionStorage.setItem(what, Number(sessionStorage.getItem(what)) + n);
	addEventListener("pointerdown", (e) => e.isTrusted && count("clicks", 1), { capture: true });
	addEventListener("keydown", (e) => e.isTrusted && count("keys", e.ctrlKey || (e.shiftKey && e.key.length === 1) ? 2 : 1), { capture: true });
})()`

// Reset begins to count from nothing.
func Reset(tab *chrome.Tab) error {
	_, err := chrome.Eval[bool](tab, `sessionStorage.removeItem("clicks"), sessionStorage.removeItem("keys"), true`)
	return err
}

// Counted is what was counted since Reset.
func Counted(tab *chrome.Tab) (Effort, error) {
	n, err := chrome.Eval[[]int](tab, `["clicks", "keys"].map((what) => Number(sessionStorage.getItem(what)))`)
	if err != nil {
		return Effort{}, err
	}
	return Effort{Clicks: n[0], Keys: n[1]}, nil
}

// Found makes an academy with nothing in it, and gives its owner, who coaches.
func Found(ctx context.Context, s *fixture.Service, email string) (client.Client, error) {
	err := s.Anybody().Call(ctx, "POST", "/v1/academies", map[string]any{
		"academy_name": "Heather Banks", "time_zone": "Europe/Lisbon", "name": "Ines Duarte", "email": email, "password": fixture.Password,
	}, nil)
	if err != nil {
		return client.Client{}, err
	}
	return s.SignIn(ctx, email)
}

// SignIn takes the tab to the desk.
func SignIn(tab *chrome.Tab, url, email string) error {
	return inTurn(
		func() error { return tab.Open(url + "/desk") },
		func() error { return tab.Type("E-mail", email) },
		func() error { return tab.Type("Password", fixture.Password) },
		func() error { return tab.Press("Sign in") },
		func() error { return tab.See("You have no students") },
	)
}

// inTurn takes steps until one fails.
func inTurn(steps ...func() error) error {
	for _, step := range steps {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// Skills are those of the six weeks, in order: starting points, by their names.
func Skills() []string {
	return []string{"Short putts", "Low chips", "Pitches over trouble", "Lag putts", "Out of the sand", "High and soft"}
}

// Part is one thing that the coach does, by the pages alone.
type Part struct {
	Name string
	Do   func(*chrome.Tab) error
	// Check asks the service, as the coach, whether it was done.
	Check func(context.Context, client.Client) error
}

// Parts are what the coach does, in order, at the desk of an academy that has
// nothing yet.
func Parts() []Part {
	return []Part{
		{"six weeks of six skills in four equal parts, published", write, written},
		{"given to thirty pasted names", give, given},
	}
}

// names are those of the thirty students.
func names() (all []string) {
	for _, family := range []string{"Abara", "Bexley", "Corrigan", "Dumas", "Ekholm", "Farrow"} {
		for _, first := range []string{"Aino", "Bram", "Carys", "Dov", "Elif"} {
			all = append(all, first+" "+family)
		}
	}
	return all
}

// give invites the thirty, who get the programme as they join. It goes on from
// where publishing ends.
func give(tab *chrome.Tab) error {
	return inTurn(
		func() error { return tab.Press("Assign it") },
		func() error { return tab.Press("Invite your students first.") },
		func() error { return tab.See("Week 1 starts on") },
		func() error { return tab.Paste("Paste your students", strings.Join(names(), "\n")) },
		func() error { return tab.Press("Invite 30 students") },
		func() error { return tab.See("30 invitations made") },
	)
}

// given tells whether the thirty are invited with the programme.
func given(ctx context.Context, coach client.Client) error {
	var invitations struct {
		Items []struct {
			Name  string `json:"name"`
			State string `json:"state"`
			Gives *struct {
				Version int `json:"version"`
			} `json:"gives"`
		} `json:"items"`
	}
	if err := coach.Call(ctx, "GET", "/v1/invitations?limit=200", nil, &invitations); err != nil {
		return err
	}
	var invited []string
	for _, i := range invitations.Items {
		if i.State == "open" && i.Gives != nil && i.Gives.Version == 1 {
			invited = append(invited, i.Name)
		}
	}
	slices.Sort(invited)
	wanted := names()
	slices.Sort(wanted)
	if !slices.Equal(invited, wanted) {
		return fmt.Errorf("invited with the programme are %q, want %q", invited, wanted)
	}
	return nil
}

// write writes and publishes the six weeks.
func write(tab *chrome.Tab) error {
	steps := []func() error{
		func() error { return tab.Press("Programmes") },
		func() error { return tab.See("Write a new programme") },
		func() error { return tab.Type("Name", "Six weeks") },
	}
	for _, skill := range Skills() {
		steps = append(steps, func() error { return tab.Press(skill) })
	}
	return inTurn(append(steps,
		func() error { return tab.Press("Begin") },
		func() error { return tab.See("Ready to publish") },
		func() error { return tab.Press("Publish version 1") },
		func() error { return tab.Press("Publish it") },
		func() error { return tab.See("Version 1 is published") },
	)...)
}

// What the API says, as far as it is looked at here.
type (
	drill struct {
		Text       string    `json:"text"`
		Lies       []string  `json:"lies"`
		DistancesM []float64 `json:"distances_m"`
		Clubs      []string  `json:"clubs"`
		Carry      int       `json:"carry_percent"`
		RadiusM    float64   `json:"radius_m"`
	}
	skill struct {
		ID     string `json:"id"`
		Name   string `json:"name"`
		Kind   string `json:"kind"`
		Ladder struct {
			Tiers []struct {
				RadiusM float64 `json:"radius_m"`
			} `json:"tiers"`
		} `json:"ladder"`
		Fitted []struct {
			Kind  string `json:"kind"`
			Drill drill  `json:"drill"`
		} `json:"fitted"`
	}
	block struct {
		Kind    string `json:"kind"`
		Share   int    `json:"share"`
		SkillID string `json:"skill_id"`
		Drill   drill  `json:"drill"`
	}
	week struct {
		SkillID string `json:"skill_id"`
		Plans   []struct {
			Minutes int     `json:"minutes"`
			Blocks  []block `json:"blocks"`
		} `json:"plans"`
	}
)

// written tells whether the six weeks are published: of six different skills,
// each an hour whose parts are equal, with the drills that their skills give them.
func written(ctx context.Context, coach client.Client) error {
	var programmes struct {
		Items []struct {
			ID string `json:"id"`
		} `json:"items"`
	}
	var skills struct {
		Items []skill `json:"items"`
	}
	err := errors.Join(coach.Call(ctx, "GET", "/v1/programmes", nil, &programmes), coach.Call(ctx, "GET", "/v1/skills", nil, &skills))
	if err != nil {
		return err
	}
	if len(programmes.Items) != 1 {
		return fmt.Errorf("there are %d programmes, want 1", len(programmes.Items))
	}
	var version struct {
		Content struct {
			Weeks []week `json:"weeks"`
		} `json:"content"`
	}
	if err := coach.Call(ctx, "GET", "/v1/programmes/"+programmes.Items[0].ID+"/versions/1", nil, &version); err != nil {
		return err
	}
	byID := map[string]skill{}
	for _, s := range skills.Items {
		byID[s.ID] = s
	}
	var names []string
	for i, w := range version.Content.Weeks {
		names = append(names, byID[w.SkillID].Name)
		if err := w.check(byID); err != nil {
			return fmt.Errorf("week %d: %w", i+1, err)
		}
	}
	if !slices.Equal(names, Skills()) {
		return fmt.Errorf("the weeks train %q, want %q", names, Skills())
	}
	return nil
}

// check tells what is wrong with a week.
func (w week) check(skills map[string]skill) error {
	if len(w.Plans) != 1 || w.Plans[0].Minutes != 60 {
		return fmt.Errorf("its plans are %+v, want one of an hour", w.Plans)
	}
	var parts []string
	var shares []int
	for _, b := range w.Plans[0].Blocks {
		trained := skills[w.SkillID]
		if b.Kind == "warmup" {
			trained = skills[b.SkillID]
		} else {
			parts, shares = append(parts, b.Kind), append(shares, b.Share)
		}
		if err := b.check(trained); err != nil {
			return fmt.Errorf("%s: %w", b.Kind, err)
		}
	}
	if want := []string{"technique", "stations", "random", "test"}; !slices.Equal(parts, want) || slices.Min(shares) != slices.Max(shares) {
		return fmt.Errorf("its parts are %v with shares %v, want %v, all equal", parts, shares, want)
	}
	return nil
}

// check tells what is wrong with the drill of a block that trains a skill.
func (b block) check(s skill) error {
	for _, f := range s.Fitted {
		if f.Kind == b.Kind && !reflect.DeepEqual(f.Drill, b.Drill) {
			return fmt.Errorf("the drill is %+v, want that of %s: %+v", b.Drill, s.Name, f.Drill)
		}
	}
	if s.ID == "" || b.Drill.RadiusM != s.Ladder.Tiers[0].RadiusM {
		return fmt.Errorf("the radius %v m is not that of the first step of %q", b.Drill.RadiusM, s.Name)
	}
	if putts := s.Kind == "lag_putt" || s.Kind == "short_putt"; slices.Contains(b.Drill.Clubs, "putter") != putts {
		return fmt.Errorf("%s is played with %v", s.Name, b.Drill.Clubs)
	}
	return nil
}
