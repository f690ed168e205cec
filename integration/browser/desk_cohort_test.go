package browser

import (
	"fmt"
	"testing"
	"time"

	"github.com/google/uuid"

	"fringework/cmd/fringework/client"
	"fringework/integration/browser/fixture"
)

// cohort is a programme of one pitch and one chip step in three weeks, given six
// weeks ago in two versions to two groups of six, named by how long each takes to
// pass the first step.
type cohort struct {
	*setup
	programme string
}

func newCohort(t *testing.T) *cohort {
	c := &cohort{setup: newSetup(t)}
	content := func(text string) object {
		block := func(kind string, share int) object {
			return object{"kind": kind, "share": share, "drill": object{"text": text, "radius_m": 1.524}}
		}
		week := func(skill string) object {
			return object{"skill_id": skill, "plans": array{object{"minutes": 40, "times": 3, "blocks": array{block("warmup", 50), block("test", 50)}}}}
		}
		return object{"name": "Three weeks of pitching", "weeks": array{week(c.PitchID), week(c.PitchID), week(c.ChipID)}}
	}
	var made struct {
		ID string `json:"id"`
	}
	c.call(c.Owner, "POST", "/v1/programmes", content("One spot."), &made)
	c.programme = "/v1/programmes/" + made.ID
	c.call(c.Owner, "POST", c.programme+"/versions", nil, nil)
	c.call(c.Owner, "PUT", c.programme, content("One spot, one club."), nil)
	c.call(c.Owner, "POST", c.programme+"/versions", nil, nil)
	// On which day of the programme each passes the first step; 0 for never.
	for version, days := range [][]int{{4, 9, 11, 16, 0, 0}, {1, 2, 2, 4, 7, 0}} {
		var ids array
		for i, day := range days {
			ids = append(ids, c.pupil(fmt.Sprintf("Pupil %c%d", 'A'+version, i+1), day, version+1))
		}
		c.call(c.Owner, "POST", "/v1/groups", object{"name": []string{"Tuesday", "Friday"}[version], "student_ids": ids}, nil)
	}
	return c
}

// pupil lets a student join, gives them a version of three weeks, and lets them
// practise every other day until they pass.
func (c *cohort) pupil(name string, day, version int) string {
	c.t.Helper()
	code, err := c.Invite(c.t.Context(), "student", name)
	c.must(err)
	pupil := c.Anybody()
	var in client.SignedIn
	c.call(pupil, "POST", "/v1/invitations/accept", object{
		"code": code, "name": name, "email": uuid.NewString() + "@example.org", "password": fixture.Password, "time_zone": "UTC",
	}, &in)
	pupil.Token = in.AccessToken
	start := c.Clock.Now().UTC().AddDate(0, 0, -42).Truncate(24 * time.Hour)
	var given struct {
		Items []struct {
			ID string `json:"id"`
		} `json:"items"`
	}
	c.call(c.Owner, "POST", "/v1/assignments", object{
		"programme_id": c.programme[len("/v1/programmes/"):], "version": version, "student_ids": array{in.Membership.MemberID}, "start_date": start.Format(time.DateOnly),
	}, &given)
	last := day
	if day == 0 {
		last = 12
	}
	for d := 1 + (last+1)%2; d <= last; d += 2 {
		balls := array{}
		for i := range 8 {
			outcome := "out"
			if d == day && i >= 5 {
				outcome = "in"
			}
			balls = append(balls, object{"outcome": outcome, "after_s": 1200 + 60*i})
		}
		c.call(pupil, "PUT", "/v1/sessions/"+uuid.Must(uuid.NewV7()).String(), object{
			"revision": 1, "started_at": start.AddDate(0, 0, d-1).Add(10 * time.Hour), "ended_at": start.AddDate(0, 0, d-1).Add(11 * time.Hour),
			"assignment_id": given.Items[0].ID, "week": min(3, 1+(d-1)/7), "plan": 1,
			"blocks": array{
				object{"kind": "warmup", "plan_block": 1, "skill_id": c.PitchID, "radius_m": 1.524, "seconds": 1200, "balls": array{}},
				object{"kind": "test", "plan_block": 2, "skill_id": c.PitchID, "radius_m": 1.524, "seconds": 600, "balls": balls},
			},
		}, nil)
	}
	return in.Membership.MemberID
}

// TestCohort: a coach sees a programme's students together, by pictures and by
// tables, chooses what to compare, and finds the way there and on to a student.
func TestCohort(t *testing.T) {
	c := newCohort(t)
	p := c.laptop()
	p.signInDesk(c.OwnerEmail)
	p.press("Programmes")
	p.press("Students of Three weeks of pitching")
	p.heading("Students of Three weeks of pitching")
	p.see("Most steps since the start: Pupil A1, Pupil A2, Pupil A3 and 6 others, 1 each.")
	p.see("Most are working on Chip and run, 2 in a row inside 5 ft: 12 students.")
	// By hand, version 2 of six: 1, 3, 4 and 5 of 6 by days 1, 2, 4 and 7; all together
	// half of twelve have passed by day 7.
	p.see("9 of 12 passed it; half had by day 7", "Version 1 and version 2: luck alone makes such a difference in")
	p.see("Test is cut short most: 50 % of its planned time is spent.")
	p.see("No step in 21 days, 6 sessions, finished")
	p.wait("two courses to be drawn", `document.querySelectorAll(".curves .line.c0[d]").length > 0 && document.querySelectorAll(".curves .line.c1[d]").length > 0`)
	p.press("Show as table")
	p.wait("a table", `document.querySelector("main figure table")`)

	p.choose("Time in", "Sessions")
	p.see("half had by session", "by sessions since the start")
	p.choose("Compare", "Groups")
	p.see("Tuesday and Friday: luck alone makes such a difference in")
	p.choose("Group", "Tuesday")
	p.see("4 of 6 passed it")
	p.gone("Pupil B1")
	p.choose("Group", "All students")
	p.choose("Version", "Version 2")
	p.see("5 of 6 passed it")
	p.gone("Pupil A1")
	p.press("Pupil B2")
	p.heading("Pupil B2")
	p.see("None in the last five weeks.")
}
