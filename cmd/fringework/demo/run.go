// Package demo fills a running service with an invented academy by calling its
// API: a coach authors a six-week programme and gives it to a dozen students,
// who log eight weeks of sessions ball by ball, some of them late and out of
// order. Everything but identities follows from the seed and today's date.
package demo

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"fringework/cmd/fringework/client"
)

// Config says what to fill and how.
type Config struct {
	// Base is the service's address, without a slash at the end.
	Base string
	Seed uint64
	// Today is the day that the eight weeks end before, at any time of it.
	Today time.Time
	// Progress is told what goes on, a line each.
	Progress func(string)
}

// Academy is the academy that was made, for printing and for trying further.
type Academy struct {
	Base    string
	Owner   client.Client
	Coach   client.Client
	skills  []string
	version int
	// Students in the order of careers.
	Students []Student
	program  string
	group    string
}

// Student is one of the dozen.
type Student struct {
	career
	id         string
	email      string
	assignment string
	client.Client
}

// baselineWeeks are practised before the programme begins, so that eight weeks
// of sessions end in its sixth and last week.
const (
	baselineWeeks = 2
	allWeeks      = 8
)

// Fill makes the academy.
func Fill(ctx context.Context, c Config) (*Academy, error) {
	w := &Academy{Base: c.Base}
	for _, step := range []struct {
		what string
		do   func(context.Context, Config) error
	}{
		{"the owner creates the academy and invites a coach", w.found},
		{"the coach writes three skills with their ladders and a six-week programme", w.author},
		{"twelve students accept their invitations", w.enrol},
		{"students log two weeks of practice of their own", w.logBaseline},
		{"the coach gives the programme to the whole group", w.assign},
		{"students log six weeks of the programme ball by ball, some of them late and out of order", w.logProgramme},
	} {
		c.Progress(step.what)
		if err := step.do(ctx, c); err != nil {
			return nil, fmt.Errorf("%s: %w", step.what, err)
		}
	}
	return w, nil
}

func (w *Academy) as(token string) client.Client {
	return client.Client{Base: w.Base, Token: token}
}

func email(name string) string {
	return strings.ToLower(strings.Fields(name)[0]) + "@" + mailDomain
}

func (w *Academy) found(ctx context.Context, _ Config) error {
	var in client.SignedIn
	err := w.as("").Call(ctx, "POST", "/v1/academies", map[string]any{
		"academy_name": academyName, "time_zone": "Europe/London", "name": ownerName, "email": email(ownerName), "password": password,
	}, &in)
	if err != nil {
		return err
	}
	w.Owner = w.as(in.AccessToken)
	w.Coach, _, err = w.join(ctx, w.Owner, coachName, "Europe/London", map[string]any{"role": "coach"})
	return err
}

// join invites somebody and accepts as them.
func (w *Academy) join(ctx context.Context, by client.Client, name, zone string, invitation map[string]any) (client.Client, string, error) {
	var invited struct {
		Code string `json:"code"`
	}
	invitation["name"] = name
	if err := by.Call(ctx, "POST", "/v1/invitations", invitation, &invited); err != nil {
		return client.Client{}, "", err
	}
	var in client.SignedIn
	err := w.as("").Call(ctx, "POST", "/v1/invitations/accept", map[string]any{
		"code": invited.Code, "name": name, "email": email(name), "password": password, "time_zone": zone,
	}, &in)
	return w.as(in.AccessToken), in.Membership.MemberID, err
}

func (w *Academy) author(ctx context.Context, _ Config) error {
	for _, s := range skills() {
		var made struct {
			ID string `json:"id"`
		}
		if err := w.Coach.Call(ctx, "POST", "/v1/skills", s, &made); err != nil {
			return err
		}
		w.skills = append(w.skills, made.ID)
	}
	var programme struct {
		ID string `json:"id"`
	}
	if err := w.Coach.Call(ctx, "POST", "/v1/programmes", w.programme(), &programme); err != nil {
		return err
	}
	w.program = programme.ID
	var version struct {
		Number int `json:"number"`
	}
	if err := w.Coach.Call(ctx, "POST", "/v1/programmes/"+w.program+"/versions", nil, &version); err != nil {
		return err
	}
	w.version = version.Number
	return nil
}

// programme writes the six weeks as the API takes them.
func (w *Academy) programme() map[string]any {
	var out []map[string]any
	for _, wk := range weeks() {
		var blocks []map[string]any
		for _, b := range wk.blocks {
			blocks = append(blocks, map[string]any{
				"kind": b.kind, "share": b.share, "skill_id": w.skills[b.skill], "drill": map[string]any{
					"text": b.drill.text, "lies": b.drill.lies, "distances_m": b.drill.distances, "clubs": b.drill.clubs,
					"carry_percent": b.drill.carry, "radius_m": b.drill.radius,
				},
			})
		}
		out = append(out, map[string]any{
			"title": wk.title, "skill_id": w.skills[wk.skill],
			"plans": []map[string]any{{"name": "On the practice green", "minutes": wk.minutes, "times": times, "blocks": blocks}},
		})
	}
	return map[string]any{
		"name": "Six weeks around the green", "text": "Pitch, chip and bunker shot: one at a time, and none of them lost on the way.",
		"limits": []map[string]any{{"kind": "technique", "at_least": 0, "at_most": 40}, {"kind": "test", "at_least": 15, "at_most": 100}},
		"weeks":  out,
	}
}

func (w *Academy) enrol(ctx context.Context, _ Config) error {
	for _, c := range careers() {
		student, id, err := w.join(ctx, w.Coach, c.name, c.zone, map[string]any{"role": "student"})
		if err != nil {
			return err
		}
		w.Students = append(w.Students, Student{career: c, id: id, email: email(c.name), Client: student})
	}
	ids := make([]string, len(w.Students))
	for i, s := range w.Students {
		ids[i] = s.id
	}
	var group struct {
		ID string `json:"id"`
	}
	err := w.Coach.Call(ctx, "POST", "/v1/groups", map[string]any{"name": groupName, "student_ids": ids}, &group)
	w.group = group.ID
	return err
}

func (w *Academy) assign(ctx context.Context, c Config) error {
	var made struct {
		Items []struct {
			ID        string `json:"id"`
			StudentID string `json:"student_id"`
		} `json:"items"`
	}
	err := w.Coach.Call(ctx, "POST", "/v1/assignments", map[string]any{
		"programme_id": w.program, "version": w.version, "group_id": w.group,
		"start_date": firstMonday(c.Today).AddDate(0, 0, 7*baselineWeeks).Format(time.DateOnly),
	}, &made)
	if err != nil {
		return err
	}
	for _, a := range made.Items {
		for i := range w.Students {
			if w.Students[i].id == a.StudentID {
				w.Students[i].assignment = a.ID
			}
		}
	}
	return nil
}

// firstMonday is the Monday that begins the eight weeks, the last of which is
// the present one.
func firstMonday(today time.Time) time.Time {
	day := time.Date(today.Year(), today.Month(), today.Day(), 0, 0, 0, 0, time.UTC)
	monday := day.AddDate(0, 0, -(int(day.Weekday())+6)%7)
	return monday.AddDate(0, 0, -7*(allWeeks-1))
}

func (w *Academy) logBaseline(ctx context.Context, c Config) error {
	return w.log(ctx, c, 0, baselineWeeks)
}

func (w *Academy) logProgramme(ctx context.Context, c Config) error {
	return w.log(ctx, c, baselineWeeks, allWeeks)
}

// log uploads the sessions of some of the weeks, student by student.
func (w *Academy) log(ctx context.Context, c Config, from, until int) error {
	for i, s := range w.Students {
		sessions, err := s.sessions(w, rand.New(rand.NewPCG(c.Seed, uint64(i))), c.Today)
		if err != nil {
			return err
		}
		sessions = slices.DeleteFunc(sessions, func(o sessionBody) bool {
			week := int(o.StartedAt.Sub(firstMonday(c.Today)).Hours() / (24 * 7))
			return week < from || week >= until
		})
		if err := s.upload(ctx, rand.New(rand.NewPCG(c.Seed, 1000+uint64(i))), sessions); err != nil {
			return fmt.Errorf("%s: %w", s.name, err)
		}
	}
	return nil
}

// days of the week that sessions fall on, by how many there are.
var days = map[int][]int{2: {1, 5}, 3: {1, 3, 5}}

// sessions plays a whole career up to yesterday.
func (s Student) sessions(w *Academy, rng *rand.Rand, today time.Time) ([]sessionBody, error) {
	zone, err := time.LoadLocation(s.zone)
	if err != nil {
		return nil, err
	}
	monday := firstMonday(today)
	yesterday := time.Date(today.Year(), today.Month(), today.Day(), 0, 0, 0, 0, time.UTC).AddDate(0, 0, -1)
	var all []sessionBody
	for wk := range allWeeks {
		if s.quits > 0 && wk >= s.quits {
			break
		}
		for _, d := range days[s.perWeek] {
			date := monday.AddDate(0, 0, 7*wk+d)
			start := time.Date(date.Year(), date.Month(), date.Day(), 17, rng.IntN(60), 0, 0, zone)
			o := s.session(w, rng, len(all), wk, start)
			if !date.After(yesterday) {
				all = append(all, o)
			}
		}
	}
	return all, nil
}

// session plays one session: of the plan once the programme runs, and before
// that a plain one of the first week's skill.
func (s Student) session(w *Academy, rng *rand.Rand, n, wk int, start time.Time) sessionBody {
	o := sessionBody{id: uuid.Must(uuid.NewV7()).String(), Revision: 1, TimeZone: s.zone, StartedAt: start}
	plan := weeks()[max(0, wk-baselineWeeks)]
	if wk >= baselineWeeks {
		o.AssignmentID, o.Week, o.Plan = s.assignment, wk-baselineWeeks+1, 1
	}
	day := 0.15 * rng.NormFloat64()
	spent := 0
	for i, b := range plan.blocks {
		seconds := plan.minutes*60*b.share/100 + rng.IntN(90) - 45
		if s.skewed && wk >= baselineWeeks {
			switch b.kind {
			case "technique":
				seconds *= 3
			case "test", "random":
				seconds /= 5
			}
		}
		p := played{Kind: b.kind, SkillID: w.skills[b.skill], RadiusM: b.drill.radius, Seconds: seconds}
		if o.AssignmentID != "" {
			p.PlanBlock = i + 1
		}
		o.Blocks = append(o.Blocks, s.play(rng, p, n, day, b.drill, spent))
		spent += seconds
	}
	o.EndedAt = start.Add(time.Duration(spent) * time.Second)
	return o
}

// upload sends sessions as phones do: most in order and at once, a few block by
// block while they go on, some of them twice, and a tardy phone's in any order.
func (s Student) upload(ctx context.Context, rng *rand.Rand, sessions []sessionBody) error {
	if s.tardy {
		rng.Shuffle(len(sessions), func(i, j int) { sessions[i], sessions[j] = sessions[j], sessions[i] })
	}
	for _, o := range sessions {
		if rng.IntN(6) == 0 {
			if err := s.live(ctx, &o); err != nil {
				return err
			}
		}
		if err := s.put(ctx, o); err != nil {
			return err
		}
		if rng.IntN(10) == 0 { // a reply was lost
			if err := s.put(ctx, o); err != nil {
				return err
			}
		}
	}
	return nil
}

// live sends a session as it grows, a block at a time.
func (s Student) live(ctx context.Context, o *sessionBody) error {
	part := *o
	for n := 1; n < len(o.Blocks); n++ {
		part.Blocks, part.Revision = o.Blocks[:n], n
		open := map[string]any{"revision": part.Revision, "time_zone": part.TimeZone, "started_at": part.StartedAt, "blocks": part.Blocks}
		if part.AssignmentID != "" {
			open["assignment_id"], open["week"], open["plan"] = part.AssignmentID, part.Week, part.Plan
		}
		if err := s.Call(ctx, "PUT", "/v1/sessions/"+o.id, open, nil); err != nil {
			return err
		}
	}
	o.Revision = len(o.Blocks)
	return nil
}

func (s Student) put(ctx context.Context, o sessionBody) error {
	return s.Call(ctx, "PUT", "/v1/sessions/"+o.id, o, nil)
}
