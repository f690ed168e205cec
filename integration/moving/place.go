package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"os"
	"runtime"
	"time"

	"fringework/api"
	"fringework/auth"
	"fringework/cmd/fringework/clock"
	"fringework/cmd/fringework/services"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
	"fringework/repo"
)

// place is an open database with the services over it.
type place struct {
	*repo.DB
	all  *services.Services
	auth *auth.Service
	env  domain.Env
}

var quiet = slog.New(slog.DiscardHandler)

func openAt(ctx context.Context, database string) (*place, error) {
	db, err := repo.Open(ctx, repo.Config{URL: database, Log: quiet, Timeout: time.Hour, Relaxed: true})
	if err != nil {
		return nil, err
	}
	var c clock.Clock
	p := &place{DB: db, env: domain.Env{Now: c.Now, NewID: c.NewID}}
	if p.all, err = services.New(db, p.env); err != nil {
		return nil, err
	}
	keys, err := auth.Ephemeral()
	if err != nil {
		return nil, err
	}
	p.auth, err = p.all.Auth(keys, auth.CheapHashParams(), "http://localhost")
	return p, err
}

func (p *place) close() {
	if err := p.Close(); err != nil {
		fmt.Fprintln(os.Stderr, "moving:", err)
	}
}

// The owner of the academy.
const (
	email    = "owner@moving.example"
	password = "nine flat stones"
)

// fill makes the academy. Its sessions are stored as the service stores them,
// without judging each against those before: progress is made from all at once.
func (p *place) fill(ctx context.Context, students, years int) (domain.ID, error) {
	in, err := p.auth.SignUpAcademy(ctx, auth.SignUp{
		AcademyName: "Moving Short Game", TimeZone: "Europe/Lisbon", Name: "Owner", Email: email, Password: password, Address: "127.0.0.1",
	})
	if err != nil {
		return "", err
	}
	id, owner := in.Current.Academy, domain.Actor{Academy: in.Current.Academy, Member: in.Current.Member, Role: domain.Owner}
	var skills [2]domain.ID
	for i, kind := range []curriculum.SkillKind{curriculum.Pitch, curriculum.ChipAndRun} {
		made, err := p.all.Curriculum.CreateSkill(ctx, owner, curriculum.Skill{Name: string(kind), Kind: kind, Ladder: domaintest.PitchLadder()})
		if err != nil {
			return "", err
		}
		skills[i] = made.ID
	}
	programme, err := p.all.Curriculum.CreateProgramme(ctx, owner, domaintest.Programme(skills[0], skills[1]))
	if err != nil {
		return "", err
	}
	if _, err := p.all.Curriculum.Publish(ctx, owner, programme.ID, 0); err != nil {
		return "", err
	}
	for n := range students {
		student, err := p.join(ctx, id, n)
		if err != nil {
			return "", err
		}
		_, err = p.all.Academy.Assign(ctx, owner, academy.AssignRequest{
			Programme: programme.ID, Version: 1, Students: []domain.ID{student}, Start: domain.DateOf(p.env.Now(), time.UTC)})
		if err != nil {
			return "", err
		}
		log := history(n, student, skills, 104*years, p.env)
		err = p.Practice().Write(ctx, id, func(tx practice.Store) error {
			for _, s := range log {
				bare := practice.Change{Session: s, Fingerprint: s.Fingerprint(), Habit: progress.Habit{Student: student}}
				told := owner.Event(s.ReceivedAt, "session.stored", s.ID, student, map[string]any{"revision": 1})
				if err := errors.Join(tx.Save(ctx, bare), tx.Record(ctx, told)); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			return "", err
		}
	}
	_, err = p.all.Rebuild.Renew(ctx, id)
	fmt.Printf("made %d students with %d sessions of 40 balls each\n", students, 104*years)
	return id, err
}

func (p *place) join(ctx context.Context, in domain.ID, n int) (domain.ID, error) {
	account, member := p.env.NewID(), p.env.NewID()
	name := fmt.Sprintf("Student %d", n+1)
	return member, p.DB.Auth().Write(ctx, func(tx auth.Tx) error {
		return errors.Join(
			tx.AddAccount(ctx, auth.Account{ID: account, Email: fmt.Sprintf("s%d@moving.example", n), Name: name, Password: "none", Created: p.env.Now()}),
			tx.AddMember(ctx, in, auth.Member{ID: member, Account: account, Role: domain.Student, Name: name, TimeZone: "Europe/Lisbon", Created: p.env.Now()}))
	})
}

// history is a student's sessions, two a week up to now.
func history(n int, student domain.ID, skills [2]domain.ID, sessions int, env domain.Env) []practice.Session {
	rng := rand.New(rand.NewPCG(uint64(n), 7))
	log := make([]practice.Session, sessions)
	for i := range log {
		start := env.Now().Add(-time.Duration(sessions-i) * 84 * time.Hour).Truncate(time.Second)
		log[i] = practice.Session{ID: env.NewID(), Student: student, TimeZone: "Europe/Lisbon", StartedAt: start, EndedAt: start.Add(time.Hour),
			Note: "Windy.", Revision: 1, By: student, ReceivedAt: start.Add(time.Hour)}
		for j, skill := range skills {
			b := practice.Block{Kind: curriculum.Test, Skill: skill, Radius: 5 * domain.Foot, Seconds: 1200}
			for k := range 20 {
				ball := practice.Ball{Outcome: streak.Outcomes()[rng.IntN(3)], Club: "54°", After: time.Duration(1200*j+60*k+1) * time.Second}
				if ball.Outcome == streak.In {
					ball.Measured, ball.Leave = true, domain.Length(rng.IntN(15))*domain.Metre/10
				}
				b.Balls = append(b.Balls, ball)
			}
			log[i].Blocks = append(log[i].Blocks, b)
		}
	}
	return log
}

// bulk exports all balls through the API, as a table.
func (p *place) bulk(ctx context.Context) error {
	in, err := p.auth.SignIn(ctx, auth.Credentials{Email: email, Password: password, Address: "127.0.0.1"})
	if err != nil {
		return err
	}
	server := api.New(p.all.API(p.auth, quiet))
	for _, kind := range []string{"sessions", "balls", "milestones", "progress"} {
		r, err := http.NewRequestWithContext(ctx, http.MethodGet, "/v1/exports/"+kind, http.NoBody)
		if err != nil {
			return err
		}
		r.Header.Set("Authorization", "Bearer "+in.Access)
		r.Header.Set("Accept", "text/csv")
		var out counted
		if err := measured("export of "+kind, func() error { server.ServeHTTP(&out, r); return nil }); err != nil {
			return err
		}
		if out.status != http.StatusOK {
			return fmt.Errorf("the export of %s answers %d", kind, out.status)
		}
		fmt.Printf("    %d lines, %.1f MB\n", out.lines, float64(out.bytes)/1e6)
	}
	return nil
}

// counted is an answer of which only the size is kept.
type counted struct {
	header       http.Header
	status       int
	bytes, lines int64
}

// Header implements http.ResponseWriter.
func (c *counted) Header() http.Header {
	if c.header == nil {
		c.header = http.Header{}
	}
	return c.header
}

// WriteHeader implements http.ResponseWriter.
func (c *counted) WriteHeader(status int) { c.status = status }

// Write implements http.ResponseWriter.
func (c *counted) Write(b []byte) (int, error) {
	c.bytes += int64(len(b))
	for _, x := range b {
		if x == '\n' {
			c.lines++
		}
	}
	return len(b), nil
}

// export writes the archive.
func (p *place) export(ctx context.Context, id domain.ID, name string) (err error) {
	file, err := os.Create(name)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	var m repo.Manifest
	err = measured("archive from "+string(p.Engine()), func() (err error) {
		m, err = p.ExportAcademy(ctx, id, p.env.Now(), true, file)
		return err
	})
	size, seekErr := file.Seek(0, io.SeekEnd)
	if err = errors.Join(err, seekErr); err != nil {
		return err
	}
	rows := 0
	for _, part := range m.Parts {
		rows += part.Rows
	}
	fmt.Printf("    %d rows, %.1f MB\n", rows, float64(size)/1e6)
	return nil
}

// take imports an archive and makes the progress anew.
func (p *place) take(ctx context.Context, name string) error {
	file, err := os.Open(name)
	if err != nil {
		return err
	}
	defer func() { _ = file.Close() }() // only read
	size, err := file.Seek(0, io.SeekEnd)
	if err != nil {
		return err
	}
	err = measured("import to "+string(p.Engine()), func() error {
		_, err := p.ImportAcademy(ctx, p.env.Now(), file, size)
		return err
	})
	if err != nil {
		return err
	}
	return measured("progress made anew", func() error { return p.all.Prepare(ctx, quiet) })
}

// measured prints what memory of the heap some work took at most, beyond what
// was taken before it.
func measured(what string, work func() error) error {
	used := func() uint64 {
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	runtime.GC()
	before, peak := used(), uint64(0)
	done, sampled := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(sampled)
		ticker := time.NewTicker(5 * time.Millisecond)
		defer ticker.Stop()
		for {
			select {
			case <-done:
				return
			case <-ticker.C:
				peak = max(peak, used())
			}
		}
	}()
	start := time.Now()
	err := work()
	close(done)
	<-sampled
	fmt.Printf("%-28s at most %5.1f MB of heap more, %.1f s\n", what, float64(max(peak, before)-before)/1e6, time.Since(start).Seconds())
	return err
}
