// Command fringework serves short-game programmes to coaches and their
// students.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	_ "time/tzdata" // a static image has no time zone database of its own

	"fringework/cmd/fringework/app"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := app.Run(ctx, os.Args[1:], app.Streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr})
	stop()
	os.Exit(code)
}
