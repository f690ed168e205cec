//go:build linux

package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"sync"
	"sync/atomic"
	"time"
)

var plainClient = &http.Client{Timeout: time.Minute, Transport: &http.Transport{
	MaxIdleConns: 400, MaxIdleConnsPerHost: 200, DisableCompression: true,
}}

// send sends a request and reads the answer to its end.
func send(ctx context.Context, method, url, token string, body []byte, header ...string) (answer []byte, h http.Header, err error) {
	req, err := http.NewRequestWithContext(ctx, method, url, bytes.NewReader(body))
	if err != nil {
		return nil, nil, err
	}
	if token != "" {
		req.Header.Set("Authorization", "Bearer "+token)
	}
	if body != nil {
		req.Header.Set("Content-Type", "application/json")
	}
	for i := 0; i+1 < len(header); i += 2 {
		req.Header.Set(header[i], header[i+1])
	}
	res, err := plainClient.Do(req)
	if err != nil {
		return nil, nil, err
	}
	defer res.Body.Close()
	answer, err = io.ReadAll(res.Body)
	if err == nil && res.StatusCode >= 400 {
		err = fmt.Errorf("%s %s: %d %s", method, url, res.StatusCode, answer)
	}
	return answer, res.Header, err
}

// side is one of those that take turns.
type side struct {
	at *service
	// once sends one request; n counts them.
	once func(ctx context.Context, n int) error

	rates    []float64 // requests a second, by round
	costs    []float64 // milliseconds of processor time a request, by round
	own      []float64 // the service's process alone
	requests int
	answer   atomic.Int64 // bytes of the latest answer, of sides that read
}

func (s *side) rate() float64 { return median(s.rates) }
func (s *side) cost() float64 { return median(s.costs) }

// round sends requests from so many clients for a while, or, if many is given,
// so many requests.
func (s *side) round(ctx context.Context, clients int, long time.Duration, many int) error {
	ownBefore, dbBefore, err := s.at.cpu()
	if err != nil {
		return err
	}
	begin := time.Now()
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	var sent, done atomic.Int64
	var all sync.WaitGroup
	for range clients {
		all.Go(func() {
			for ctx.Err() == nil {
				n := int(sent.Add(1))
				if many > 0 && n > many || many == 0 && time.Since(begin) >= long {
					return
				}
				if err := s.once(ctx, s.requests+n-1); err != nil {
					cancel(err)
					return
				}
				done.Add(1)
			}
		})
	}
	all.Wait()
	took := time.Since(begin)
	if err := context.Cause(ctx); err != nil {
		return err
	}
	own, db, err := s.at.cpu()
	n := float64(done.Load())
	s.requests += int(sent.Load())
	s.rates = append(s.rates, n/took.Seconds())
	s.costs = append(s.costs, (own-ownBefore+db-dbBefore).Seconds()*1000/n)
	s.own = append(s.own, (own-ownBefore).Seconds()*1000/n)
	return err
}

// rounds is how many each side has, after one that warms up.
const rounds = 6

// duel lets the sides take turns in short rounds, so that what else happens on
// the machine hits all of them.
func (b *bench) duel(ctx context.Context, clients int, sides ...*side) error {
	long := time.Duration(b.seconds / rounds * float64(time.Second))
	for i := range rounds + 1 {
		for j := range sides {
			s := sides[(i+j)%len(sides)]
			if err := s.round(ctx, clients, long, 0); err != nil {
				return err
			}
			if i == 0 { // that one warmed up
				last := len(s.rates) - 1
				s.rates, s.costs, s.own = s.rates[:last], s.costs[:last], s.own[:last]
			}
		}
	}
	return nil
}

// profiled runs work while the service is profiled, if that is wanted.
func (b *bench) profiled(name string, s *service, work func() error) error {
	if b.profiles == "" {
		return work()
	}
	if _, err := s.ask(fmt.Sprintf("profile %s/%s-%s.pprof", b.profiles, name, s.engine)); err != nil {
		return err
	}
	err := work()
	_, stopped := s.ask("profiled")
	return errors.Join(err, stopped)
}
