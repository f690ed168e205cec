//go:build linux

package main

import (
	"context"
	"fmt"
)

// The students who upload in turn, and the sessions behind each.
const (
	uploaders = 60
	behind    = 30
)

// uploads sends fresh sessions of many students in turn.
func uploads(a *academy, to *service) *side {
	return &side{at: to, once: func(ctx context.Context, n int) error {
		u := a.students[n%len(a.students)].fresh(a.blocks[n%len(a.blocks)])
		_, _, err := send(ctx, "PUT", to.url+"/v1/sessions/"+string(u.id), u.token, u.body)
		return err
	}}
}

// barestUploads sends the same bodies to the barest handler.
func barestUploads(a *academy, to *service) *side {
	twin := &student{of: a, assignment: a.students[0].assignment, token: a.students[0].token}
	return &side{at: to, once: func(ctx context.Context, n int) error {
		u := twin.fresh(a.blocks[n%len(a.blocks)])
		_, _, err := send(ctx, "PUT", to.url+"/bodies/"+string(u.id), u.token, u.body)
		return err
	}}
}

func cpuGoal(engine string) *goal {
	if engine == sqliteEngine {
		return atMost(2.5)
	}
	return atMost(4)
}

func ms(v float64) string { return withUnit(v, "ms") }

// measureUpload stores fresh sessions of 80 balls.
func measureUpload(ctx context.Context, b *bench, engine string) (table, error) {
	t := table{title: "An upload of 80 balls in 4 blocks of 2 skills, 30 sessions behind the student, " + engine, theirs: "barest"}
	a, ours, theirs, err := b.founded(ctx, engine, uploaders)
	if err != nil {
		return t, err
	}
	t.notes = []string{fmt.Sprintf("A body has %s.", bytesText(float64(len(a.students[0].fresh(a.blocks[0]).body))))}
	err = b.profiled("upload", ours, func() error {
		for _, clients := range b.clients {
			x, y := uploads(a, ours), barestUploads(a, theirs)
			if err := b.duel(ctx, clients, x, y); err != nil {
				return err
			}
			at := fmt.Sprintf("%d clients", clients)
			if clients == 1 {
				at = "1 client"
			}
			t.rows = append(t.rows,
				row{"uploads a second, " + at, number(x.rate()), number(y.rate()), ratios(x.rates, y.rates), nil},
				row{"CPU an upload, " + at, ms(x.cost()), ms(y.cost()), ratios(x.costs, y.costs), cpuGoal(engine)})
			if engine == postgresEngine {
				t.rows = append(t.rows, row{"  of it the service's own", ms(median(x.own)), ms(median(y.own)), ratios(x.own, y.own), nil})
			}
		}
		return nil
	})
	return t, err
}
