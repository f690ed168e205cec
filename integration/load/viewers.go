//go:build linux

package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net/http"
	"sync"
	"sync/atomic"
	"time"
)

// Who looks on and who practises; a student uploads every few seconds.
const (
	viewers    = 100
	practising = 12
	pause      = 3 * time.Second
)

// measureViewers compares the processor time of an academy that practises with
// and without people who follow it live.
func measureViewers(ctx context.Context, b *bench, engine string) (table, error) {
	t := table{title: fmt.Sprintf("%d live viewers of %d students practising, CPU a second, %s", viewers, practising, engine), theirs: "without"}
	ours, err := b.serve(ctx, engine, serviceRole)
	if err != nil {
		return t, err
	}
	a, err := found(ctx, ours.url, practising)
	if err != nil {
		return t, err
	}
	if err := ours.seeded(ctx, func(seed seeder) error { return seed(a, behind, a.from) }); err != nil {
		return t, err
	}
	stint := max(2*pause, time.Duration(b.seconds*float64(time.Second)).Round(pause))
	var with, without []float64
	var told atomic.Int64
	day := 0
	practise := func(long time.Duration) (float64, error) {
		day++
		return a.practise(ctx, ours, day, long)
	}
	if _, err := practise(pause); err != nil { // warms up
		return t, err
	}
	err = b.profiled("viewers", ours, func() error {
		for range 3 {
			cost, err := practise(stint)
			if err != nil {
				return err
			}
			without = append(without, cost)
			leave, err := a.watch(ctx, ours, &told)
			if err == nil {
				_, err = practise(pause) // all have come, and looked whom they may see
			}
			if err == nil {
				cost, err = practise(stint)
			}
			leave()
			if err != nil {
				return err
			}
			with = append(with, cost)
		}
		return nil
	})
	watched, alone := median(with), median(without)
	t.rows = []row{{"service and database", ms(watched), ms(alone), ratios(with, without), atMost(1.2)}}
	t.notes = []string{fmt.Sprintf("Each student uploads a growing session every %v; each viewer was told of %.0f events. Three stints of %v each.", pause, float64(told.Load())/viewers, stint)}
	return t, err
}

// practise lets every student upload a growing session for a while, one after
// another through each pause, and gives the milliseconds of processor time that
// a second cost.
func (a *academy) practise(ctx context.Context, ours *service, day int, long time.Duration) (float64, error) {
	ownBefore, dbBefore, err := ours.cpu()
	if err != nil {
		return 0, err
	}
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	begin := time.Now()
	var all sync.WaitGroup
	for i, s := range a.students {
		session := s.growing(rand.New(rand.NewPCG(uint64(day), uint64(i))), a.from.Add(time.Duration(day)*24*time.Hour))
		next := time.Duration(i) * pause / practising
		all.Go(func() {
			for _, u := range session {
				if next >= long {
					return
				}
				select {
				case <-ctx.Done():
					return
				case <-time.After(time.Until(begin.Add(next))):
				}
				if _, _, err := send(ctx, "PUT", ours.url+"/v1/sessions/"+string(u.id), u.token, u.body); err != nil {
					cancel(err)
					return
				}
				next += pause
			}
		})
	}
	all.Wait()
	select {
	case <-ctx.Done():
		return 0, context.Cause(ctx)
	case <-time.After(time.Until(begin.Add(long))):
	}
	took := time.Since(begin)
	own, db, err := ours.cpu()
	return (own + db - ownBefore - dbBefore).Seconds() * 1000 / took.Seconds(), err
}

// watch connects the viewers and waits until each follows; leave ends them.
func (a *academy) watch(ctx context.Context, ours *service, told *atomic.Int64) (leave func(), err error) {
	ctx, cancel := context.WithCancel(ctx)
	var all sync.WaitGroup
	leave = func() {
		cancel()
		all.Wait()
	}
	following := &http.Client{Transport: &http.Transport{DisableCompression: true, MaxIdleConnsPerHost: viewers}}
	for range viewers {
		req, err := http.NewRequestWithContext(ctx, http.MethodGet, ours.url+"/v1/live", nil)
		if err != nil {
			return leave, err
		}
		req.Header.Set("Authorization", "Bearer "+a.coach)
		res, err := following.Do(req)
		if err != nil {
			return leave, err
		}
		if res.StatusCode != http.StatusOK {
			res.Body.Close()
			return leave, fmt.Errorf("the live view answers %d", res.StatusCode)
		}
		all.Go(func() {
			defer res.Body.Close()
			buffer := make([]byte, 4096)
			for {
				n, err := res.Body.Read(buffer)
				for _, b := range buffer[:n] {
					if b == '{' { // an event's data is one object
						told.Add(1)
					}
				}
				if err != nil { // the end, for one
					return
				}
			}
		})
	}
	return leave, nil
}
