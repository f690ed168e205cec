//go:build linux

package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net"
	"net/url"
	"sync"
	"sync/atomic"

	"fringework/domain"
)

// proxy stands between the service and PostgreSQL and counts turns: each time
// the service says something after the database has spoken.
type proxy struct {
	listener net.Listener
	to       string
	turns    atomic.Int64
	bytes    atomic.Int64
	open     sync.Map
}

func newProxy(to string) (*proxy, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	p := &proxy{listener: l, to: to}
	go p.accept()
	return p, nil
}

func (p *proxy) accept() {
	for {
		near, err := p.listener.Accept()
		if err != nil {
			return
		}
		far, err := net.Dial("tcp", p.to)
		if err != nil {
			near.Close()
			continue
		}
		p.open.Store(near, far)
		answered := &atomic.Bool{}
		answered.Store(true)
		go p.pass(near, far, func() {
			if answered.Swap(false) {
				p.turns.Add(1)
			}
		})
		go p.pass(far, near, func() { answered.Store(true) })
	}
}

func (p *proxy) pass(from, to net.Conn, heard func()) {
	defer from.Close()
	defer to.Close()
	buffer := make([]byte, 64<<10)
	for {
		n, err := from.Read(buffer)
		if n > 0 {
			heard()
			p.bytes.Add(int64(n))
			if _, err := to.Write(buffer[:n]); err != nil {
				return
			}
		}
		if err != nil {
			return
		}
	}
}

func (p *proxy) close() {
	p.listener.Close()
	p.open.Range(func(near, far any) bool {
		near.(net.Conn).Close()
		far.(net.Conn).Close()
		return true
	})
}

// measureTurns counts how often an upload waits for PostgreSQL.
func measureTurns(ctx context.Context, b *bench, engine string) (table, error) {
	t := table{title: "Round trips between the service and PostgreSQL for an upload of 4 blocks", theirs: ""}
	database, err := b.fresh(ctx, engine)
	if err != nil {
		return t, err
	}
	u, err := url.Parse(database)
	if err != nil {
		return t, err
	}
	p, err := newProxy(u.Host)
	if err != nil {
		return t, err
	}
	defer p.close()
	u.Host = p.listener.Addr().String()
	ours, err := b.serveOn(ctx, engine, serviceRole, u.String())
	if err != nil {
		return t, err
	}
	a, err := found(ctx, ours.url, uploaders)
	if err != nil {
		return t, err
	}
	if err := ours.seeded(ctx, func(seed seeder) error { return seed(a, behind, a.from) }); err != nil {
		return t, err
	}
	count := func(skills [4]domain.ID) (float64, error) {
		blocks := sent(played(rand.New(rand.NewPCG(5, 6)), skills))
		var each []float64
		for i := range 3 * uploaders {
			u := a.students[i%uploaders].fresh(blocks)
			before := p.turns.Load()
			if _, _, err := send(ctx, "PUT", ours.url+"/v1/sessions/"+string(u.id), u.token, u.body); err != nil {
				return 0, err
			}
			each = append(each, float64(p.turns.Load()-before))
		}
		return median(each[uploaders:]), nil // the first ones prepare statements
	}
	one, err := count([4]domain.ID{a.skills[1], a.skills[1], a.skills[1], a.skills[1]})
	if err != nil {
		return t, err
	}
	two, err := count(a.two())
	if err != nil {
		return t, err
	}
	four, err := count(a.skills)
	t.rows = []row{
		{"of 2 skills", number(two), "", two, atMost(6)},
		{"for each further skill", number((four - two) / 2), "", (four - two) / 2, atMost(0)},
	}
	t.notes = []string{fmt.Sprintf("Counted on the wire, median of %d uploads; of 1 skill %g, of 4 skills %g.", 2*uploaders, one, four)}
	return t, err
}
