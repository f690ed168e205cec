package house

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"time"
)

// Password is everybody's in these tests.
const Password = "seventeen brass kettles"

// Client calls the API as one person, beside the browser.
type Client struct {
	Base  string
	Token string
}

// Call sends in as JSON (nothing when nil) and reads the answer into out
// (nothing when nil). An answer of 400 or above is an error with its text.
func (c Client) Call(ctx context.Context, method, path string, in, out any) error {
	var body io.Reader
	if in != nil {
		text, err := json.Marshal(in)
		if err != nil {
			return err
		}
		body = bytes.NewReader(text)
	}
	req, err := http.NewRequestWithContext(ctx, method, c.Base+path, body)
	if err != nil {
		return err
	}
	if in != nil {
		req.Header.Set("Content-Type", "application/json")
	}
	if c.Token != "" {
		req.Header.Set("Authorization", "Bearer "+c.Token)
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		return err
	}
	defer res.Body.Close()
	answer, err := io.ReadAll(res.Body)
	if err != nil {
		return err
	}
	if res.StatusCode >= 400 {
		return fmt.Errorf("%s %s: %d %s", method, path, res.StatusCode, answer)
	}
	if out == nil {
		return nil
	}
	return json.Unmarshal(answer, out)
}

// object is a JSON object, array a JSON array.
type (
	object = map[string]any
	array  = []any
)

// World is a small invented academy: an owner who teaches, and one student with
// a plan of all five kinds of block for this week.
type World struct {
	Owner, Student           Client
	OwnerEmail, StudentEmail string
	StudentName              string
	StudentID                string
	ChipID, PitchID          string
	AssignmentID             string
	programmeID              string

	// What things are called, and when the programme starts; see FurnishAs.
	PlanName, ProgrammeName, SkillPrefix, Text string
	Start                                      time.Time
}

// feet gives metres.
func feet(n float64) float64 { return n * 0.3048 }

// Furnish makes a world in the house. Its tiers are short, so that a test can
// make one: chip-and-run wants 2 and 4 in a row inside 5 ft, pitch 3 and, with
// one holed, 5.
func (h *House) Furnish(ctx context.Context) (*World, error) {
	return h.FurnishAs(ctx, func(*World) {})
}

// FurnishAs makes a world whose names were changed by rename first.
func (h *House) FurnishAs(ctx context.Context, rename func(*World)) (*World, error) {
	w := &World{
		Owner: Client{Base: h.inside.url}, OwnerEmail: "maren.holt@example.org",
		StudentEmail: "tomas.brandt@example.org", StudentName: "Tomas Brandt",
		PlanName: "Long session", ProgrammeName: "Six weeks around the green", Text: "Same spot, same club, one landing spot.",
		Start: time.Now().UTC().AddDate(0, 0, -1),
	}
	rename(w)
	for _, step := range []func(context.Context) error{w.found, w.enrol, w.author} {
		if err := step(ctx); err != nil {
			return nil, err
		}
	}
	return w, nil
}

type signedIn struct {
	AccessToken string `json:"access_token"`
	Membership  struct {
		MemberID string `json:"member_id"`
	} `json:"membership"`
}

func (w *World) found(ctx context.Context) error {
	var in signedIn
	err := w.Owner.Call(ctx, "POST", "/v1/academies", object{
		"academy_name": "Saltmarsh Short Game", "time_zone": "Europe/Lisbon",
		"name": "Maren Holt", "email": w.OwnerEmail, "password": Password,
	}, &in)
	w.Owner.Token = in.AccessToken
	return err
}

func (w *World) enrol(ctx context.Context) error {
	code, err := w.Invite(ctx, "student", w.StudentName)
	if err != nil {
		return err
	}
	w.Student = Client{Base: w.Owner.Base}
	var in signedIn
	err = w.Student.Call(ctx, "POST", "/v1/invitations/accept", object{
		"code": code, "name": w.StudentName, "email": w.StudentEmail, "password": Password, "time_zone": "Europe/Lisbon",
	}, &in)
	w.Student.Token, w.StudentID = in.AccessToken, in.Membership.MemberID
	return err
}

// Invite makes an invitation and gives its code.
func (w *World) Invite(ctx context.Context, role, name string) (string, error) {
	var made struct {
		Code string `json:"code"`
	}
	err := w.Owner.Call(ctx, "POST", "/v1/invitations", object{"role": role, "name": name}, &made)
	return made.Code, err
}

func (w *World) author(ctx context.Context) error {
	var err error
	if w.ChipID, err = w.skill(ctx, "Chip and run", "chip_and_run", object{"run": 2, "radius_m": feet(5)}, object{"run": 4, "radius_m": feet(5)}); err != nil {
		return err
	}
	if w.PitchID, err = w.skill(ctx, "Pitch to a landing spot", "pitch", object{"run": 3, "radius_m": feet(5)}, object{"run": 5, "radius_m": feet(5), "holed": 1}); err != nil {
		return err
	}
	var programme struct {
		ID string `json:"id"`
	}
	if err := w.Owner.Call(ctx, "POST", "/v1/programmes", w.programme(), &programme); err != nil {
		return err
	}
	w.programmeID = programme.ID
	if err := w.Owner.Call(ctx, "POST", "/v1/programmes/"+w.programmeID+"/versions", nil, nil); err != nil {
		return err
	}
	var made struct {
		Items []struct {
			ID string `json:"id"`
		} `json:"items"`
	}
	err = w.Owner.Call(ctx, "POST", "/v1/assignments", object{
		"programme_id": w.programmeID, "student_ids": array{w.StudentID}, "start_date": w.Start.Format(time.DateOnly),
	}, &made)
	if err == nil {
		w.AssignmentID = made.Items[0].ID
	}
	return err
}

// Republish publishes the programme again, with its skills as they are now, and
// moves the student to that version.
func (w *World) Republish(ctx context.Context) error {
	var version struct {
		Number int `json:"number"`
	}
	if err := w.Owner.Call(ctx, "POST", "/v1/programmes/"+w.programmeID+"/versions", nil, &version); err != nil {
		return err
	}
	return w.Owner.Call(ctx, "POST", "/v1/assignments/"+w.AssignmentID+"/move", object{"version": version.Number}, nil)
}

func (w *World) skill(ctx context.Context, name, kind string, tiers ...any) (string, error) {
	var made struct {
		ID string `json:"id"`
	}
	err := w.Owner.Call(ctx, "POST", "/v1/skills", object{"name": w.SkillPrefix + name, "kind": kind, "ladder": object{"tiers": tiers}}, &made)
	return made.ID, err
}

func (w *World) programme() object {
	spot := object{"text": w.Text, "lies": array{"fairway"}, "distances_m": array{feet(36)}, "clubs": array{"56"}, "radius_m": feet(5)}
	return object{
		"name": w.ProgrammeName, "weeks": array{object{
			"title": "Pitching from the fairway", "skill_id": w.PitchID, "plans": array{object{
				"name": w.PlanName, "minutes": 60, "times": 2, "blocks": array{
					object{"kind": "warmup", "share": 15, "skill_id": w.ChipID, "drill": spot},
					object{"kind": "technique", "share": 20, "drill": spot},
					object{"kind": "stations", "share": 20, "drill": object{"text": "One landing spot, three clubs in turn.", "clubs": array{"52", "56", "60"}, "radius_m": feet(8)}},
					object{"kind": "random", "share": 20, "drill": object{"text": "One ball, one chance.", "lies": array{"fairway", "light rough", "bare lie"}, "distances_m": array{feet(30), feet(45), feet(60)}, "clubs": array{"52", "56"}, "radius_m": feet(8)}},
					object{"kind": "test", "share": 25, "drill": spot},
				},
			}},
		}},
	}
}
