//go:build unix

package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"time"

	"github.com/google/uuid"

	"fringework/api"
	"fringework/domain"
)

type object = map[string]any

func newID() domain.ID { return domain.ID(uuid.Must(uuid.NewV7()).String()) }

var patient = &http.Client{Timeout: time.Minute, Transport: &http.Transport{MaxIdleConnsPerHost: 64, DisableCompression: true}}

// person is somebody who has signed in.
type person struct {
	email string
	id    domain.ID
	token string
	since time.Time
}

const password = "seventeen brass kettles"

// send sends a request and reads the answer to its end; in is sent as JSON,
// nil not at all.
func (s *siege) send(ctx context.Context, token, method, path string, in any) (status int, answer []byte, err error) {
	var body io.Reader
	if in != nil {
		text, err := json.Marshal(in)
		if err != nil {
			return 0, nil, err
		}
		body = bytes.NewReader(text)
	}
	r, err := http.NewRequestWithContext(ctx, method, s.service.URL+path, body)
	if err != nil {
		return 0, nil, err
	}
	if in != nil {
		r.Header.Set("Content-Type", "application/json")
	}
	if token != "" {
		r.Header.Set("Authorization", "Bearer "+token)
	}
	response, err := patient.Do(r)
	if err != nil {
		return 0, nil, err
	}
	defer response.Body.Close()
	answer, err = io.ReadAll(response.Body)
	return response.StatusCode, answer, err
}

// call sends a request that must succeed and reads the answer into out, if any.
// A service whose database came back a moment ago is asked again.
func (s *siege) call(ctx context.Context, token, method, path string, in, out any) error {
	status, answer, err := s.insist(ctx, token, method, path, in)
	if err != nil {
		return err
	}
	if status >= 400 {
		return fmt.Errorf("%s %s: %d %s", method, path, status, answer)
	}
	if out == nil {
		return nil
	}
	return json.Unmarshal(answer, out)
}

// insist asks until there is an answer that is not a failure of the service.
func (s *siege) insist(ctx context.Context, token, method, path string, in any) (status int, answer []byte, err error) {
	for deadline := time.Now().Add(5 * time.Minute); ; {
		status, answer, err = s.send(ctx, token, method, path, in)
		if err == nil && status < 500 {
			return status, answer, nil
		}
		if ctx.Err() != nil {
			return 0, nil, ctx.Err()
		}
		if time.Now().After(deadline) {
			return 0, nil, fmt.Errorf("%s %s: no answer within five minutes: %d %s %w", method, path, status, answer, err)
		}
		time.Sleep(5 * time.Millisecond)
	}
}

func (s *siege) signUp(ctx context.Context, token, path string, in object) (*person, error) {
	p := &person{email: string(newID()) + "@example.org", since: time.Now()}
	in["email"], in["password"] = p.email, password
	var out api.SignedIn
	if err := s.call(ctx, token, http.MethodPost, path, in, &out); err != nil {
		return nil, err
	}
	p.id, p.token = out.Membership.MemberID, out.AccessToken
	return p, nil
}

// renew signs somebody in again whose token ends soon.
func (s *siege) renew(ctx context.Context, p *person) error {
	if time.Since(p.since) < 4*time.Minute { // tokens last ten
		return nil
	}
	var in api.SignedIn
	err := s.call(ctx, "", http.MethodPost, "/v1/sign-in", object{"email": p.email, "password": password}, &in)
	p.token, p.since = in.AccessToken, time.Now()
	return err
}

// student has phones, and what all of them stored.
type student struct {
	*person
	assignment domain.ID
}

// found makes an academy with two skills, and students who follow a programme.
func (s *siege) found(ctx context.Context) (err error) {
	s.owner, err = s.signUp(ctx, "", "/v1/academies", object{"academy_name": "Crash Academy", "time_zone": "Europe/Lisbon", "name": "Crawford"})
	if err != nil {
		return err
	}
	for i, name := range []string{"Pitch", "Lob"} {
		var made api.Skill
		tiers := []object{{"run": 4, "radius_m": radius}, {"run": 7, "radius_m": radius, "holed": 2}}
		if err := s.call(ctx, s.owner.token, http.MethodPost, "/v1/skills", object{"name": name, "kind": []string{"pitch", "lob"}[i], "ladder": object{"tiers": tiers}}, &made); err != nil {
			return err
		}
		s.skills[i] = made.ID
	}
	for range students {
		var invited api.InvitationCreated
		if err := s.call(ctx, s.owner.token, http.MethodPost, "/v1/invitations", object{"role": "student"}, &invited); err != nil {
			return err
		}
		p, err := s.signUp(ctx, "", "/v1/invitations/accept", object{"code": invited.Code, "name": "Phone"})
		if err != nil {
			return err
		}
		s.students = append(s.students, &student{person: p})
	}
	return s.assign(ctx)
}

// assign gives every student a programme.
func (s *siege) assign(ctx context.Context) error {
	drill := object{"text": "Pick a landing spot.", "radius_m": radius}
	wander := object{"text": "A new place each time.", "radius_m": radius, "lies": []string{"fairway", "light rough"}}
	plan := object{"name": "After work", "minutes": 50, "times": 3, "blocks": []object{
		{"kind": "random", "share": 40, "drill": wander}, {"kind": "test", "share": 60, "drill": drill},
	}}
	var programme api.Programme
	weeks := []object{{"title": "Week 1", "skill_id": s.skills[0], "plans": []object{plan}}}
	if err := s.call(ctx, s.owner.token, http.MethodPost, "/v1/programmes", object{"name": "A week", "weeks": weeks}, &programme); err != nil {
		return err
	}
	if err := s.call(ctx, s.owner.token, http.MethodPost, "/v1/programmes/"+string(programme.ID)+"/versions", nil, nil); err != nil {
		return err
	}
	ids := make([]domain.ID, students)
	for i, st := range s.students {
		ids[i] = st.id
	}
	var given api.AssignmentList
	err := s.call(ctx, s.owner.token, http.MethodPost, "/v1/assignments", object{
		"programme_id": programme.ID, "student_ids": ids, "start_date": s.start.Format(time.DateOnly),
	}, &given)
	for _, a := range given.Items {
		for _, st := range s.students {
			if st.id == a.StudentID {
				st.assignment = a.ID
			}
		}
	}
	return err
}
