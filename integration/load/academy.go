//go:build linux

package main

import (
	"context"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"sync/atomic"
	"time"

	"fringework/cmd/fringework/client"
	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/repo"
)

type object = map[string]any

// academy is an academy with a coach, skills, a published programme that every
// student has, and what they have practised.
type academy struct {
	id       domain.ID
	coach    string // the coach's token
	skills   [4]domain.ID
	students []*student
	start    time.Time // when the programme started, a Monday
	from     time.Time // when fresh sessions start
	blocks   [][]byte  // of some sessions of two skills, as requests have them
}

type student struct {
	of         *academy
	id         domain.ID
	token      string
	assignment domain.ID
	stored     atomic.Int64
}

// weeks that the programme has.
const weeks = 12

func (a *academy) week(at time.Time) int {
	return min(weeks, 1+max(0, int(at.Sub(a.start).Hours()/(7*24))))
}

// two gives the skills of a session's blocks, two of them.
func (a *academy) two() [4]domain.ID {
	return [4]domain.ID{a.skills[0], a.skills[1], a.skills[1], a.skills[1]}
}

// strangers counts addresses, so that the limits on guessing, which are per
// address, let everybody in.
var strangers atomic.Int64

// post asks the service for something; out is nil when the answer is not
// wanted.
func post(ctx context.Context, base, token, path string, in, out any) error {
	n := strangers.Add(1)
	from := http.Header{"X-Forwarded-For": {fmt.Sprintf("10.%d.%d.%d", n>>16&255, n>>8&255, n&255)}}
	return client.Client{Base: base, Token: token, Header: from}.Call(ctx, http.MethodPost, path, in, out)
}

type made struct {
	ID domain.ID `json:"id"`
}

// found opens an academy over HTTP, as a coach would.
func found(ctx context.Context, base string, students int) (*academy, error) {
	now := time.Now().UTC().Truncate(24 * time.Hour)
	a := &academy{start: now.AddDate(0, 0, -42-(int(now.Weekday())+6)%7), from: now.AddDate(0, 0, -40)}
	var in client.SignedIn
	err := post(ctx, base, "", "/v1/academies", object{
		"academy_name": "Load", "time_zone": "Europe/Lisbon", "name": "Coach", "email": someone(), "password": "six flat stones",
	}, &in)
	if err != nil {
		return nil, err
	}
	a.id, a.coach = domain.ID(in.Membership.AcademyID), in.AccessToken
	for i, name := range []string{"Chip", "Pitch", "Lob", "Bunker"} {
		var skill made
		const foot = 0.3048
		err := post(ctx, base, a.coach, "/v1/skills", object{"name": name, "kind": []string{"chip_and_run", "pitch", "lob", "bunker_shot"}[i], "ladder": object{"tiers": []object{
			{"run": 6, "radius_m": 5 * foot}, {"run": 9, "radius_m": 5 * foot}, {"run": 12, "radius_m": 5 * foot}, {"run": 18, "radius_m": 5 * foot, "holed": 1},
		}}}, &skill)
		if err != nil {
			return nil, err
		}
		a.skills[i] = skill.ID
	}
	ids := make([]domain.ID, students)
	for i := range students {
		s, err := a.join(ctx, base, i)
		if err != nil {
			return nil, err
		}
		ids[i], a.students = s.id, append(a.students, s)
	}
	if err := a.assign(ctx, base, ids); err != nil {
		return nil, err
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for range 16 {
		a.blocks = append(a.blocks, sent(played(rng, a.two())))
	}
	return a, nil
}

func someone() string { return string(newID()) + "@example.org" }

func (a *academy) join(ctx context.Context, base string, i int) (*student, error) {
	var invited struct {
		Code string `json:"code"`
	}
	if err := post(ctx, base, a.coach, "/v1/invitations", object{"role": "student"}, &invited); err != nil {
		return nil, err
	}
	var in client.SignedIn
	err := post(ctx, base, "", "/v1/invitations/accept", object{
		"code": invited.Code, "name": fmt.Sprintf("Student %d", i+1), "email": someone(), "password": "six flat stones", "time_zone": "Europe/Lisbon",
	}, &in)
	return &student{of: a, id: domain.ID(in.Membership.MemberID), token: in.AccessToken}, err
}

// assign publishes a programme of four blocks a session and gives it to all.
func (a *academy) assign(ctx context.Context, base string, students []domain.ID) error {
	distances := []float64{10, 12, 14, 16}
	var all []object
	for week := range weeks {
		var blocks []object
		for i, kind := range kinds {
			skill := a.skills[1]
			if i == 0 {
				skill = a.skills[(week%2)*2]
			} else if week%2 == 1 {
				skill = a.skills[3]
			}
			n := 1
			if kind == curriculum.Random {
				n = len(distances)
			}
			blocks = append(blocks, object{"kind": kind, "share": 25, "skill_id": skill, "drill": object{
				"text": "One spot, one club.", "lies": []string{"fringe"}, "distances_m": distances[:n], "clubs": []string{"56°"}, "radius_m": 1.524,
			}})
		}
		all = append(all, object{"title": fmt.Sprintf("Week %d", week+1), "skill_id": blocks[3]["skill_id"],
			"plans": []object{{"name": "An hour", "minutes": 60, "times": 3, "blocks": blocks}}})
	}
	var programme made
	if err := post(ctx, base, a.coach, "/v1/programmes", object{"name": "Twelve weeks", "weeks": all}, &programme); err != nil {
		return err
	}
	if err := post(ctx, base, a.coach, "/v1/programmes/"+string(programme.ID)+"/versions", nil, nil); err != nil {
		return err
	}
	var given struct {
		Items []struct {
			ID      domain.ID `json:"id"`
			Student domain.ID `json:"student_id"`
		} `json:"items"`
	}
	err := post(ctx, base, a.coach, "/v1/assignments", object{
		"programme_id": programme.ID, "student_ids": students, "start_date": a.start.Format(time.DateOnly),
	}, &given)
	assignment := map[domain.ID]domain.ID{}
	for _, a := range given.Items {
		assignment[a.Student] = a.ID
	}
	for _, s := range a.students {
		s.assignment = assignment[s.id]
	}
	return err
}

// career puts so many sessions behind each student, two a week up to an
// instant; fewer are the last ones of more. They are stored as the service
// stores them, without judging each against those before: what is kept of them
// is derived from all at once, as a rebuild does.
func career(ctx context.Context, db *repo.DB, a *academy, sessions int, until time.Time) error {
	store, keep := db.Practice(), db.Rebuilding()
	for n, s := range a.students {
		rng := rand.New(rand.NewPCG(uint64(n), 1))
		log := make([]practice.Session, sessions)
		for i := sessions - 1; i >= 0; i-- {
			start := until.Add(-time.Duration(sessions-i) * 84 * time.Hour).Truncate(time.Second)
			log[i] = practice.Session{
				ID: newID(), Student: s.id, TimeZone: "Europe/Lisbon", StartedAt: start, EndedAt: start.Add(time.Hour),
				Revision: 1, By: s.id, ReceivedAt: start.Add(time.Hour), Blocks: played(rng, a.two()),
			}
			if !start.Before(a.start) {
				log[i].Assignment, log[i].Week, log[i].Plan, log[i].Version = s.assignment, a.week(start), 1, 1
			}
			for j := range log[i].Blocks {
				log[i].Blocks[j].Planned = 900
				if log[i].Assignment == "" {
					log[i].Blocks[j].PlanBlock, log[i].Blocks[j].Planned = 0, 0
				}
			}
		}
		err := store.Write(ctx, a.id, func(tx practice.Store) error {
			for _, session := range log {
				bare := practice.Change{Session: session, Fingerprint: session.Fingerprint(), Habit: progress.Habit{Student: s.id}}
				if err := tx.Save(ctx, bare); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
		err = keep.Write(ctx, a.id, func(tx practice.RebuildStore) error {
			tracks, err := tx.AllTracks(ctx, s.id)
			if err != nil {
				return err
			}
			return tx.ReplaceKept(ctx, s.id, practice.Recompute(s.id, log, tracks))
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// openRepo opens a database; of an embedded one the service must be away.
func openRepo(ctx context.Context, database string) (*repo.DB, error) {
	return repo.Open(ctx, repo.Config{URL: database, Log: slog.New(slog.DiscardHandler), Timeout: 5 * time.Minute})
}
