//go:build linux

package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"time"

	"fringework/domain/practice"
)

// How often a growing session is uploaded, and how many balls more each time
// has.
const (
	revisions = 20
	more      = 4
)

// firstBalls are the blocks that the first balls of a session fill.
func firstBalls(blocks []practice.Block, n int) []practice.Block {
	var part []practice.Block
	for _, b := range blocks {
		if n == 0 {
			break
		}
		b.Balls = b.Balls[:min(n, len(b.Balls))]
		b.Seconds = 45 * len(b.Balls)
		n -= len(b.Balls)
		part = append(part, b)
	}
	return part
}

// growing is a session that goes on, as its uploads one after another.
func (s *student) growing(rng *rand.Rand, start time.Time) []upload {
	blocks := played(rng, s.of.two())
	all := make([]upload, revisions)
	for i := range all {
		all[i] = s.request(start, i+1, false, sent(firstBalls(blocks, more*(i+1))))
		all[i].id = all[0].id
	}
	return all
}

// measureGrowing stores many sessions twenty times each, and looks at the
// twentieth.
func measureGrowing(ctx context.Context, b *bench, engine string) (table, error) {
	t := table{title: "The twentieth upload of a session that grows by 4 balls, " + engine, theirs: "barest"}
	const students, batches = 40, 3
	a, ours, theirs, err := b.founded(ctx, engine, students)
	if err != nil {
		return t, err
	}
	rng := rand.New(rand.NewPCG(3, 4))
	var sessions [][]upload
	revision := 0
	x := &side{at: ours, once: func(ctx context.Context, n int) error {
		u := sessions[n%students][revision]
		_, _, err := send(ctx, "PUT", ours.url+"/v1/sessions/"+string(u.id), u.token, u.body)
		return err
	}}
	y := &side{at: theirs, once: func(ctx context.Context, n int) error {
		u := sessions[n%students][revision]
		_, _, err := send(ctx, "PUT", fmt.Sprintf("%s/bodies/%s-%d", theirs.url, u.id, n), u.token, u.body)
		return err
	}}
	first, last := &side{at: ours, once: x.once}, x
	err = b.profiled("growing", ours, func() error {
		for batch := range batches {
			sessions = nil
			for _, s := range a.students {
				sessions = append(sessions, s.growing(rng, a.from.Add(time.Duration(batch)*24*time.Hour)))
			}
			for revision = range revisions - 1 {
				by := first
				if revision > 0 {
					by = &side{at: ours, once: x.once}
				}
				if err := by.round(ctx, 1, 0, students); err != nil {
					return err
				}
			}
			revision = revisions - 1
			for _, s := range []*side{last, y} {
				if err := s.round(ctx, 1, 0, students); err != nil {
					return err
				}
			}
		}
		return nil
	})
	t.rows = []row{
		{"CPU of the twentieth", ms(x.cost()), ms(y.cost()), ratios(x.costs, y.costs), atMost(2)},
		{"CPU of the first", ms(first.cost()), "", first.cost(), nil},
	}
	return t, err
}
