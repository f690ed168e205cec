// Package demo fills a running service with an invented academy by calling its
// API: a coach authors a programme and gives it to students, a dozen or more, who
// log sessions ball by ball for eight weeks or more, some of them late and out of
// order. Everything but identities follows from the configuration and today's
// date.
package demo

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/google/uuid"

	"fringework/cmd/fringework/client"
)

// Config says what to fill and how.
type Config struct {
	// Base is the service's address, without a slash at the end.
	Base string
	Seed uint64
	// Students is how many there are, from MinStudents to MaxStudents, and Weeks
	// how many weeks they practise, from MinWeeks to MaxWeeks.
	Students int
	Weeks    int
	// Today is the day that the weeks end before, at any time of it.
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
	groups   []string
}

// Student is one who practises.
type Student struct {
	career
	id         string
	assignment string
	client.Client
}

// The sizes that there may be. The least has a student for every reason that
// practice gives to look at one.
const (
	MinStudents = 12
	MaxStudents = 200
	MinWeeks    = 8
	MaxWeeks    = 104
)

// baselineWeeks are practised before the programme begins, so that the sessions
// end in its last week.
const baselineWeeks = 2

// Fill makes the academy.
func Fill(ctx context.Context, c Config) (*Academy, error) {
	if err := c.Check(); err != nil {
		return nil, err
	}
	w := &Academy{Base: c.Base}
	for _, step := range []struct {
		what string
		do   func(context.Context, Config) error
	}{
		{"the owner creates the academy and invites a coach", w.found},
		{fmt.Sprintf("the coach writes three skills with their ladders and a programme of %d weeks", c.programme()), w.author},
		{fmt.Sprintf("%d students accept their invitations", c.Students), w.enrol},
		{"they say which clubs they carry; one plays left-handed", w.fillBags},
		{fmt.Sprintf("students log %d weeks of practice of their own", baselineWeeks), w.logBaseline},
		{"the coach gives the programme to every group", w.assign},
		{fmt.Sprintf("students log %d weeks of the programme ball by ball, some of them late and out of order", c.programme()), w.logProgramme},
		{"every third of them logs the rounds of the weekends", w.logRounds},
		{"the coach gives lessons", w.giveLessons},
		{"the coach gives all but one of them what follows, and two more students join", w.goOn},
		{"two of them say what they play for, and when", w.fillSeasons},
	} {
		c.Progress(step.what)
		if err := step.do(ctx, c); err != nil {
			return nil, fmt.Errorf("%s: %w", step.what, err)
		}
	}
	return w, nil
}

// Check refuses sizes that there are not.
func (c Config) Check() error {
	if c.Students < MinStudents || c.Students > MaxStudents {
		return fmt.Errorf("the demo has %d to %d students, not %d", MinStudents, MaxStudents, c.Students)
	}
	if c.Weeks < MinWeeks || c.Weeks > MaxWeeks {
		return fmt.Errorf("the demo has %d to %d weeks, not %d", MinWeeks, MaxWeeks, c.Weeks)
	}
	return nil
}

// programme is how many weeks the programme has.
func (c Config) programme() int { return c.Weeks - baselineWeeks }

func (w *Academy) as(token string) client.Client {
	return client.Client{Base: w.Base, Token: token}
}

// email is an address by some of somebody's names.
func email(names ...string) string {
	return strings.ToLower(strings.Join(names, ".")) + "@" + mailDomain
}

// email is by the first name among the dozen, and else by both.
func (c career) email() string {
	names := strings.Fields(c.name)
	if c.late {
		return email(names...)
	}
	return email(names[0])
}

func (w *Academy) found(ctx context.Context, _ Config) error {
	var in client.SignedIn
	err := w.as("").Call(ctx, "POST", "/v1/academies", map[string]any{
		"academy_name": academyName, "time_zone": "Europe/London", "name": ownerName, "email": ownerEmail, "password": password,
	}, &in)
	if err != nil {
		return err
	}
	w.Owner = w.as(in.AccessToken)
	w.Coach, _, err = w.join(ctx, w.Owner, coachName, coachEmail, "Europe/London", map[string]any{"role": "coach"})
	return err
}

// join invites somebody and accepts as them.
func (w *Academy) join(ctx context.Context, by client.Client, name, email, zone string, invitation map[string]any) (client.Client, string, error) {
	var invited struct {
		Code string `json:"code"`
	}
	invitation["name"] = name
	if err := by.Call(ctx, "POST", "/v1/invitations", invitation, &invited); err != nil {
		return client.Client{}, "", err
	}
	var in client.SignedIn
	err := w.as("").Call(ctx, "POST", "/v1/invitations/accept", map[string]any{
		"code": invited.Code, "name": name, "email": email, "password": password, "time_zone": zone,
	}, &in)
	return w.as(in.AccessToken), in.Membership.MemberID, err
}

func (w *Academy) author(ctx context.Context, c Config) error {
	for _, s := range allSkills {
		s.Ladder = s.steps(c.programme())
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
	if err := w.Coach.Call(ctx, "POST", "/v1/programmes", w.programme(c.programme()), &programme); err != nil {
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

// programme writes so many weeks as the API takes them.
func (w *Academy) programme(weeks int) map[string]any {
	var out []map[string]any
	for i := range weeks {
		wk := weekAt(i)
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
		"name": programmeName(weeks), "text": "Pitch, chip and bunker shot: one at a time, and none of them lost on the way.",
		"limits": []map[string]any{{"kind": "technique", "at_least": 0, "at_most": 40}, {"kind": "test", "at_least": 15, "at_most": 100}},
		"weeks":  out,
	}
}

func programmeName(weeks int) string {
	if weeks == sixWeeks {
		return "Six weeks around the green"
	}
	return fmt.Sprintf("%d weeks around the green", weeks)
}

func (w *Academy) enrol(ctx context.Context, c Config) error {
	for _, x := range careers(c.Students, c.Seed) {
		student, id, err := w.join(ctx, w.Coach, x.name, x.email(), x.zone, map[string]any{"role": "student"})
		if err != nil {
			return err
		}
		w.Students = append(w.Students, Student{career: x, id: id, Client: student})
	}
	return w.gather(ctx)
}

// gather puts the students into groups.
func (w *Academy) gather(ctx context.Context) error {
	for some := range slices.Chunk(w.Students, perGroup) {
		name := groupNames[len(w.groups)%len(groupNames)]
		if again := len(w.groups) / len(groupNames); again > 0 {
			name = fmt.Sprintf("%s %d", name, again+1)
		}
		var ids []string
		for _, s := range some {
			ids = append(ids, s.id)
		}
		var group struct {
			ID string `json:"id"`
		}
		if err := w.Coach.Call(ctx, "POST", "/v1/groups", map[string]any{"name": name, "student_ids": ids}, &group); err != nil {
			return err
		}
		w.groups = append(w.groups, group.ID)
	}
	return nil
}

func (w *Academy) assign(ctx context.Context, c Config) error {
	given := map[string]string{}
	for _, group := range w.groups {
		var made struct {
			Items []struct {
				ID        string `json:"id"`
				StudentID string `json:"student_id"`
			} `json:"items"`
		}
		err := w.Coach.Call(ctx, "POST", "/v1/assignments", map[string]any{
			"programme_id": w.program, "version": w.version, "group_id": group,
			"start_date": c.firstMonday().AddDate(0, 0, 7*baselineWeeks).Format(time.DateOnly),
		}, &made)
		if err != nil {
			return err
		}
		for _, a := range made.Items {
			given[a.StudentID] = a.ID
		}
	}
	for i := range w.Students {
		w.Students[i].assignment = given[w.Students[i].id]
	}
	return nil
}

// goOn gives what follows from next Monday to all but the student for whom nothing
// does. Of two who join last, one has no programme, and one has no coach either.
func (w *Academy) goOn(ctx context.Context, c Config) error {
	var next struct {
		ID string `json:"id"`
	}
	if err := w.Coach.Call(ctx, "POST", "/v1/programmes/"+w.program+"/clone", map[string]any{"name": followingName}, &next); err != nil {
		return err
	}
	if err := w.Coach.Call(ctx, "POST", "/v1/programmes/"+next.ID+"/versions", nil, nil); err != nil {
		return err
	}
	var ids []string
	for _, s := range w.Students {
		if !s.ending {
			ids = append(ids, s.id)
		}
	}
	err := w.Coach.Call(ctx, "POST", "/v1/assignments", map[string]any{
		"programme_id": next.ID, "version": 1, "student_ids": ids,
		"start_date": c.firstMonday().AddDate(0, 0, 7*c.Weeks).Format(time.DateOnly),
	}, nil)
	if err != nil {
		return err
	}
	for name, by := range map[string]client.Client{newcomer: w.Coach, stray: w.Owner} {
		names := strings.Fields(name)
		if _, _, err := w.join(ctx, by, name, email(names[0]), "Europe/London", map[string]any{"role": "student"}); err != nil {
			return err
		}
	}
	return nil
}

// firstMonday is the Monday that begins the weeks, the last of which is the
// present one.
func (c Config) firstMonday() time.Time {
	monday := c.today().AddDate(0, 0, -(int(c.Today.Weekday())+6)%7)
	return monday.AddDate(0, 0, -7*(c.Weeks-1))
}

// weekOf is the week that a session is in, counted from 0.
func (c Config) weekOf(o sessionBody) int {
	return int(o.StartedAt.Sub(c.firstMonday()).Hours() / (24 * 7))
}

func (c Config) today() time.Time {
	return time.Date(c.Today.Year(), c.Today.Month(), c.Today.Day(), 0, 0, 0, 0, time.UTC)
}

func (w *Academy) logBaseline(ctx context.Context, c Config) error {
	return w.log(ctx, c, 0, baselineWeeks)
}

func (w *Academy) logProgramme(ctx context.Context, c Config) error {
	return w.log(ctx, c, baselineWeeks, c.Weeks)
}

// uploaders is how many students upload at once: enough to keep a service busy.
const uploaders = 4

// log uploads the sessions of some of the weeks, each student's one by one.
func (w *Academy) log(ctx context.Context, c Config, from, until int) error {
	failed := make([]error, len(w.Students))
	var all sync.WaitGroup
	turns := make(chan struct{}, uploaders)
	for i := range w.Students {
		all.Go(func() {
			turns <- struct{}{}
			failed[i] = w.logOf(ctx, c, i, from, until)
			<-turns
		})
	}
	all.Wait()
	return errors.Join(failed...)
}

func (w *Academy) logOf(ctx context.Context, c Config, i, from, until int) error {
	s := w.Students[i]
	sessions, err := s.sessions(w, rand.New(rand.NewPCG(c.Seed, uint64(i))), c)
	if err != nil {
		return err
	}
	rng := rand.New(rand.NewPCG(c.Seed, 3000+uint64(i)))
	for j := range sessions {
		if wk := c.weekOf(sessions[j]); wk >= c.Weeks-watched {
			s.watch(rng, i, wk, &sessions[j])
		}
	}
	sessions = slices.DeleteFunc(sessions, func(o sessionBody) bool {
		week := c.weekOf(o)
		return week < from || week >= until
	})
	if err := s.upload(ctx, rand.New(rand.NewPCG(c.Seed, 1000+uint64(i))), sessions, c.today().AddDate(0, 0, -7*MinWeeks)); err != nil {
		return fmt.Errorf("%s: %w", s.name, err)
	}
	return nil
}

// days of the week that sessions fall on, by how many there are.
var days = map[int][]int{2: {1, 5}, 3: {1, 3, 5}}

// sessions plays a whole career up to yesterday.
func (s Student) sessions(w *Academy, rng *rand.Rand, c Config) ([]sessionBody, error) {
	zone, err := time.LoadLocation(s.zone)
	if err != nil {
		return nil, err
	}
	monday, today := c.firstMonday(), c.today()
	var all []sessionBody
	for wk := range c.Weeks - s.quit {
		for _, d := range days[s.perWeek] {
			date := monday.AddDate(0, 0, 7*wk+d)
			start := time.Date(date.Year(), date.Month(), date.Day(), 17, rng.IntN(60), 0, 0, zone)
			day := 0.15 * rng.NormFloat64()
			o := s.session(w, rng, s.insideRate(len(all), s.perWeek*c.Weeks, day), wk, start)
			if date.Before(today) {
				all = append(all, o)
			}
		}
	}
	return all, nil
}

// session plays one session: of the plan once the programme runs, and before
// that a plain one of the first week's skill.
func (s Student) session(w *Academy, rng *rand.Rand, inside float64, wk int, start time.Time) sessionBody {
	o := sessionBody{id: uuid.Must(uuid.NewV7()).String(), Revision: 1, TimeZone: s.zone, StartedAt: start}
	plan := weekAt(max(0, wk-baselineWeeks))
	if wk >= baselineWeeks {
		o.AssignmentID, o.Week, o.Plan = s.assignment, wk-baselineWeeks+1, 1
	}
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
		o.Blocks = append(o.Blocks, s.play(rng, p, inside, b, spent))
		spent += seconds
	}
	o.EndedAt = start.Add(time.Duration(spent) * time.Second)
	return o
}

// upload sends sessions as phones do: most in order and at once, and a tardy
// phone's in any order. Of those since an instant a few are sent block by block
// while they go on, and some twice.
func (s Student) upload(ctx context.Context, rng *rand.Rand, sessions []sessionBody, since time.Time) error {
	if s.tardy {
		rng.Shuffle(len(sessions), func(i, j int) { sessions[i], sessions[j] = sessions[j], sessions[i] })
	}
	for _, o := range sessions {
		growing, again := rng.IntN(6) == 0, rng.IntN(10) == 0
		if o.StartedAt.Before(since) {
			growing, again = false, false // to be fast: of a year ago nobody sees it
		}
		if growing {
			if err := s.live(ctx, &o); err != nil {
				return err
			}
		}
		if err := s.put(ctx, o); err != nil {
			return err
		}
		if again { // a reply was lost
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
