package practice_test

import (
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
	"fringework/domain/streak"
)

// TestMatch: two halves come to the same result in either order, twice, and after a
// deletion; a stranger finds nothing, and a coach no names of others' students.
func TestMatch(t *testing.T) {
	match := curriculum.Match{Kind: curriculum.Pitch, Balls: 6, Seed: 5}
	outcomes := func(inside int) (balls []practice.Ball) {
		for i := range match.Balls {
			ball := practice.Ball{Outcome: streak.Out}
			if i < inside {
				ball.Outcome = streak.In
			}
			balls = append(balls, ball)
		}
		return balls
	}
	for _, order := range [][2]int{{0, 1}, {1, 0}} {
		h := open(t)
		mem := h.mem
		as := func(id domain.ID, role domain.Role) domain.Actor {
			return domain.Actor{Academy: domaintest.Hollow, Member: id, Role: role}
		}
		players := [2]domain.Actor{as(domaintest.AdaID, domain.Student), as(domaintest.BenID, domain.Student)}
		half := func(i, inside, revision int) practice.Session {
			return practice.Session{
				ID: mem.NewID(), Student: players[i].Member, TimeZone: "UTC", StartedAt: mem.Now().Add(-time.Hour), Revision: revision, Match: match.ID(),
				Blocks: []practice.Block{{Kind: curriculum.Random, Skill: h.pitch, Radius: 4 * domain.Metre, Seconds: 600, Balls: outcomes(inside)}},
			}
		}
		halves := [2]practice.Session{half(0, 4, 1), half(1, 3, 1)}
		for n, i := range order {
			for range 2 {
				if _, err := mem.Practice().Put(t.Context(), players[i], halves[i]); err != nil {
					t.Fatal(err)
				}
			}
			r, err := mem.Matches().Match(t.Context(), players[i], match.ID())
			if want := []practice.MatchStanding{practice.MatchAlone, practice.MatchWon}[n]; err != nil || r.Standing() != want {
				t.Fatalf("after %d halves: %s, %v; want %s", n+1, r.Standing(), err, want)
			}
		}
		for _, p := range players {
			r, err := mem.Matches().Match(t.Context(), p, match.ID())
			if err != nil || r.Players[0].Student != players[0].Member || r.Players[0].Inside != 4 || r.Players[1].Name == "" {
				t.Errorf("%+v, %v", r, err)
			}
		}
		r, err := mem.Matches().Match(t.Context(), as(domaintest.CoachID, domain.Coach), match.ID())
		if err != nil || r.Players[0].Name != "Ada" || r.Players[1].Name != "" || r.Players[1].Student != "" {
			t.Errorf("to the coach of one: %+v, %v", r, err)
		}
		if _, err := mem.Matches().Match(t.Context(), as(domaintest.JuneID, domain.Student), match.ID()); domain.KindOf(err) != domain.NotFound {
			t.Errorf("to a stranger: %v", err)
		}
		if err := mem.Practice().Delete(t.Context(), players[1], halves[1].ID, domaintest.BenID, 2); err != nil {
			t.Fatal(err)
		}
		if r, err := mem.Matches().Match(t.Context(), players[0], match.ID()); err != nil || r.Standing() != practice.MatchAlone {
			t.Errorf("after a deletion: %s, %v", r.Standing(), err)
		}
		l, err := mem.Matches().Matches(t.Context(), players[0], domaintest.AdaID)
		if err != nil || len(l.Matches) != 1 {
			t.Errorf("listed: %+v, %v", l, err)
		}
	}
}
