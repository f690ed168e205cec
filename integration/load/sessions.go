//go:build linux

package main

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"time"

	"github.com/google/uuid"

	"fringework/api"
	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/streak"
)

// perBlock is how many balls a block has; a session has four blocks.
const perBlock = 20

func newID() domain.ID { return domain.ID(uuid.Must(uuid.NewV7()).String()) }

var kinds = []curriculum.BlockKind{curriculum.Warmup, curriculum.Technique, curriculum.Random, curriculum.Test}

// played are four blocks of twenty balls as a phone logs them, one skill for
// each of the blocks: when each was struck, where it was played from and with
// what, and how far half of those that came to rest inside were from the hole.
func played(rng *rand.Rand, skills [4]domain.ID) []practice.Block {
	blocks := make([]practice.Block, len(kinds))
	at := time.Duration(0)
	for i, kind := range kinds {
		b := practice.Block{PlanBlock: i + 1, Kind: kind, Skill: skills[i], Radius: 5 * domain.Foot, Seconds: 900}
		for range perBlock {
			at += 30*time.Second + time.Duration(rng.IntN(15_000))*time.Millisecond
			ball := practice.Ball{Club: "56°", Lie: "fringe", Distance: 10 * domain.Metre, After: at}
			if kind == curriculum.Random {
				ball.Distance += domain.Length(rng.IntN(4)) * 2 * domain.Metre
			}
			switch p := rng.Float64(); {
			case p < 0.05:
				ball.Outcome = streak.Holed
			case p < 0.55:
				ball.Outcome = streak.In
				if rng.IntN(2) == 0 {
					ball.Measured, ball.Leave = true, domain.Length(1+rng.IntN(9))*domain.Foot/2
				}
			}
			b.Balls = append(b.Balls, ball)
		}
		blocks[i] = b
	}
	return blocks
}

// sent writes blocks as a request has them.
func sent(blocks []practice.Block) []byte {
	out := make([]api.SessionBlock, len(blocks))
	for i, b := range blocks {
		out[i] = api.SessionBlock{PlanBlock: b.PlanBlock, Kind: string(b.Kind), SkillID: b.Skill, RadiusM: b.Radius.Metres(), Seconds: b.Seconds}
		for _, x := range b.Balls {
			ball := api.Ball{Outcome: x.Outcome.String(), Club: x.Club, Lie: x.Lie, DistanceM: x.Distance.Metres(), AfterS: x.After.Seconds()}
			if x.Measured {
				leave := x.Leave.Metres()
				ball.LeaveM = &leave
			}
			out[i].Balls = append(out[i].Balls, ball)
		}
	}
	text, err := json.Marshal(out)
	if err != nil {
		panic(err) // plain values encode
	}
	return text
}

// upload is a request that stores a session.
type upload struct {
	id    domain.ID
	token string
	body  []byte
}

// request writes a session of the student's around blocks that are written
// already; one that goes on has no end.
func (s *student) request(start time.Time, revision int, ended bool, blocks []byte) upload {
	head := fmt.Sprintf(`{"revision":%d,"assignment_id":%q,"week":%d,"plan":1,"time_zone":"Europe/Lisbon","started_at":%q,`,
		revision, s.assignment, s.of.week(start), start.Format(time.RFC3339))
	if ended {
		head += fmt.Sprintf(`"ended_at":%q,`, start.Add(time.Hour).Format(time.RFC3339))
	}
	body := append([]byte(head+`"blocks":`), blocks...)
	return upload{id: newID(), token: s.token, body: append(body, '}')}
}

// fresh is the student's next session, an hour long, with some blocks of the
// academy's; each starts a while after the one before.
func (s *student) fresh(blocks []byte) upload {
	n := s.stored.Add(1)
	return s.request(s.of.from.Add(time.Duration(n)*70*time.Minute), 1, true, blocks)
}
