// Package app is the commands of the fringework binary: flags and wiring.
package app

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"runtime/debug"
	"time"

	"github.com/alecthomas/kong"

	"fringework/cmd/fringework/clock"
	"fringework/cmd/fringework/demo"
)

// Streams are where a command reads and writes.
type Streams struct {
	In  io.Reader
	Out io.Writer
	Err io.Writer
}

// cli is the whole command line. Every flag can be set in the environment and
// in a JSON file too; the command line wins, then the environment.
type cli struct {
	Config  kong.ConfigFlag  `help:"Read flags from a JSON file, such as {\"database\": \"sqlite:academy.db\"}." placeholder:"FILE" env:"FRINGEWORK_CONFIG"`
	Log     logFlags         `embed:"" prefix:"log-"`
	Version kong.VersionFlag `help:"Print the version and exit."`
	Clock   time.Time        `help:"Let the clock go on from this instant, for tests alone." hidden:"" env:"FRINGEWORK_CLOCK"`

	Serve   serveCmd   `cmd:"" help:"Run the service: the API and its pages."`
	Demo    demoCmd    `cmd:"" help:"Fill a database with an invented academy, print the coach's dashboard, and run the service."`
	Ready   readyCmd   `cmd:"" help:"Ask a running service on this machine whether it takes requests, for checks of its health."`
	Migrate migrateCmd `cmd:"" help:"Bring the database to the schema of this version, or show its state."`
	Backup  backupCmd  `cmd:"" help:"Copy the embedded database to a new file while the service runs, and verify the copy."`
	Restore restoreCmd `cmd:"" help:"Make an embedded database of a backup, and verify it."`
	Rebuild rebuildCmd `cmd:"" help:"Recompute all progress from the balls and report differences."`
	Calc    calcCmd    `cmd:"" help:"Calculate odds, rates, forecasts and more: JSON in, JSON out."`
	Admin   adminCmd   `cmd:"" help:"Manage passwords and signing keys, list the academies, and move one to another installation."`
}

type logFlags struct {
	Format string `help:"Format of the log: ${enum}." enum:"text,json" default:"text" env:"FRINGEWORK_LOG_FORMAT"`
	Level  string `help:"Least important messages to log: ${enum}." enum:"debug,info,warn,error" default:"info" env:"FRINGEWORK_LOG_LEVEL"`
}

func (f logFlags) logger(w io.Writer) (*slog.Logger, error) {
	var level slog.Level
	if err := level.UnmarshalText([]byte(f.Level)); err != nil {
		return nil, err
	}
	opts := &slog.HandlerOptions{Level: level, ReplaceAttr: readable(f.Format == "json")}
	if f.Format == "json" {
		return slog.New(slog.NewJSONHandler(w, opts)), nil
	}
	return slog.New(slog.NewTextHandler(w, opts)), nil
}

// session is what a command is given to run with.
type session struct {
	ctx context.Context
	Streams
	log   *slog.Logger
	clock clock.Clock
}

const about = `Short-game programmes for golf coaches and their students: write a programme
once, give it to many, log every ball on the green, and see who moves up, who is
stuck, and why.

Start with one of these:

  fringework demo      an invented academy to look at
  fringework serve     your own academy, stored in the current directory

You can also set a flag in the environment (the name in brackets) or in a JSON
file named by --config. The command line wins over the environment, and the
environment over the file.`

// Run runs the command line and gives the exit code: 0 done, 1 failed, 2 not
// understood.
func Run(ctx context.Context, args []string, io Streams) int {
	var c cli
	exited := -1
	parser, err := kong.New(&c, kong.Name("fringework"), kong.Description(about), kong.Writers(io.Out, io.Err),
		kong.Configuration(fromFile), kong.Vars{
			"version":       version(),
			"demo_students": fmt.Sprintf("%d to %d", demo.MinStudents, demo.MaxStudents), "demo_weeks": fmt.Sprintf("%d to %d", demo.MinWeeks, demo.MaxWeeks),
		}, kong.NamedMapper("proxies", whole(0, 10)), kong.NamedMapper("days", whole(0, 36_500)), kong.NamedMapper("requests", whole(0, maxRequests)), kong.ConfigureHelp(kong.HelpOptions{Compact: true}),
		kong.Exit(func(code int) { exited = code; panic(errExit) }))
	if err != nil {
		fmt.Fprintln(io.Err, "fringework:", err)
		return 1
	}
	return guard(&exited, func() int { return run(ctx, parser, &c, args, io) })
}

// errExit carries kong's wish to exit (after --help) out of its parser.
var errExit = errors.New("exit")

func guard(exited *int, fn func() int) (code int) {
	defer func() {
		if r := recover(); r != nil {
			if r != errExit { //nolint:errorlint // it is this very value or another panic
				panic(r)
			}
			code = *exited
		}
	}()
	return fn()
}

func run(ctx context.Context, parser *kong.Kong, c *cli, args []string, io Streams) int {
	if len(args) == 0 {
		args = []string{"--help"}
	}
	k, err := parser.Parse(args)
	if err != nil {
		wrong := plainWords(err)
		if hint := fromStandardInput(args); hint != "" {
			wrong = hint
		}
		fmt.Fprintf(io.Err, "fringework: %s\nSee: fringework --help\n", wrong)
		return 2
	}
	log, err := c.Log.logger(io.Err)
	if err != nil {
		fmt.Fprintln(io.Err, "fringework:", err)
		return 2
	}
	s := &session{ctx: ctx, Streams: io, log: log}
	if !c.Clock.IsZero() {
		s.clock = clock.From(c.Clock)
		log.Warn("the clock was set: for tests alone", "from", c.Clock)
	}
	if err := k.Run(s); err != nil {
		fmt.Fprintln(io.Err, "fringework:", err)
		return 1
	}
	return 0
}

// version is the module's version as it was built.
func version() string {
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" && info.Main.Version != "(devel)" {
		return info.Main.Version
	}
	return "development"
}
