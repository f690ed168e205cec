package app

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"time"

	"fringework/auth"
	"fringework/cmd/fringework/demo"
	"fringework/cmd/fringework/services"
)

type demoCmd struct {
	Dir      string `help:"Keep the embedded database in this directory, which must be empty or new. By default a temporary one is used." type:"path" placeholder:"DIR"`
	Database string `help:"Fill this empty database instead of the embedded one, such as postgres://…" placeholder:"URL" env:"FRINGEWORK_DEMO_DATABASE"`
	Seed     uint64 `help:"Seed of the random numbers." default:"7"`
	Students int    `help:"How many students there are, ${demo_students}." default:"12"`
	Weeks    int    `help:"How many weeks they practise, ${demo_weeks}." default:"8"`
	Listen   string `help:"Address to listen on; port 0 picks a free port." default:"127.0.0.1:8080" env:"FRINGEWORK_LISTEN"`
	Once     bool   `help:"Exit after printing the dashboard."`
}

// Help is printed under the command's own --help.
func (demoCmd) Help() string {
	return `Starts the service on an empty database and calls its API as a coach and students
would: twelve, or as many as you say. The coach writes a programme and gives it to
groups; the students practise for eight weeks, or as many as you say, and log every
ball, some of them late and out of order. There is a student for every reason that
practice gives to look at one; two more join last, without a programme. Then it
prints the coach's dashboard and how to sign in, and keeps serving until you stop
it.

The same seed gives the same dashboard on the same day, with either database.`
}

// Validate refuses sizes that there are not.
func (c demoCmd) Validate() error { return c.config().Check() }

func (c demoCmd) config() demo.Config {
	return demo.Config{Seed: c.Seed, Students: c.Students, Weeks: c.Weeks}
}

// Run fills a database and shows it.
func (c demoCmd) Run(s *session) error {
	database, cleanUp, err := c.place()
	if err != nil {
		return err
	}
	defer cleanUp()
	db, err := database.open(s)
	if err != nil {
		return err
	}
	defer closeAll(db, s.log)
	if err := mustBeEmpty(s.ctx, db); err != nil {
		return err
	}
	keys, err := auth.GenerateKeyring()
	if err != nil {
		return err
	}
	listener, err := listen(c.address())
	if err != nil {
		return err
	}
	base := "http://" + listener.Addr().String()
	quiet := slog.New(slog.DiscardHandler)
	h, err := newServer(s.ctx, db, keys, serviceFlags{PublicURL: base}, nil, s.clock, quiet)
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(s.ctx)
	served := make(chan error, 1)
	go func() { served <- h.serve(ctx, listener, 0, 5*time.Second, quiet) }()
	err = c.show(ctx, s, base, h.services)
	if err == nil && !c.Once {
		fmt.Fprintf(s.Out, "Serving at %s until you stop it (Ctrl-C).\n", base)
		<-ctx.Done()
	}
	stop()
	return errors.Join(err, <-served)
}

// show fills the service at base and prints what came of it.
func (c demoCmd) show(ctx context.Context, s *session, base string, all *services.Services) error {
	config := c.config()
	config.Base, config.Today = base, s.clock.Now()
	config.Progress = func(line string) { fmt.Fprintln(s.Err, "demo:", line) }
	academy, err := demo.Fill(ctx, config)
	if err != nil {
		return err
	}
	if err := all.LearnAll(ctx); err != nil {
		return err
	}
	if err := academy.PrintDashboard(ctx, s.Out); err != nil {
		return err
	}
	if c.Once {
		return nil
	}
	return academy.PrintWays(ctx, s.Out)
}

// address takes a free port when the demo exits at once.
func (c demoCmd) address() string {
	if c.Once {
		return "127.0.0.1:0"
	}
	return c.Listen
}

// place finds where the demo's database is, and how to leave nothing behind.
func (c demoCmd) place() (databaseFlag, func(), error) {
	if c.Database != "" {
		return databaseFlag{Database: c.Database}, func() {}, nil
	}
	dir, cleanUp := c.Dir, func() {}
	if dir == "" {
		var err error
		if dir, err = os.MkdirTemp("", "fringework-demo-"); err != nil {
			return databaseFlag{}, cleanUp, err
		}
		cleanUp = func() { _ = os.RemoveAll(dir) }
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return databaseFlag{}, cleanUp, err
	}
	return databaseFlag{Database: "sqlite:" + filepath.Join(dir, "fringework.db")}, cleanUp, nil
}
