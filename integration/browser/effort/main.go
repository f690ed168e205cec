// Command effort measures, in a real browser, how many clicks and keys a coach's
// first evening takes by the pages alone, and prints them:
//
//	go run ./integration/browser/effort
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"fringework/cmd/fringework/client"
	"fringework/cmd/fringework/clock"
	"fringework/integration/browser/chrome"
	"fringework/integration/browser/evening"
	"fringework/integration/browser/fixture"
)

func main() {
	if err := run(context.Background()); err != nil {
		fmt.Fprintln(os.Stderr, "effort:", err)
		os.Exit(1)
	}
}

const email = "ines.duarte@example.org"

func run(ctx context.Context) error {
	dir, err := os.MkdirTemp("", "fringework-effort-")
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(dir) }()
	s, err := fixture.Open(ctx, filepath.Join(dir, "effort.db"), clock.From(time.Date(2026, 5, 6, 19, 30, 0, 0, time.UTC)))
	if err != nil {
		return err
	}
	defer func() { _ = s.Close() }()
	coach, err := evening.Found(ctx, s, email)
	if err != nil {
		return err
	}
	b, err := chrome.Launch(ctx, filepath.Join(dir, "profile"))
	if err != nil {
		return err
	}
	defer b.Quit()
	profile := b.Kept()
	profile.Before(chrome.ClockOff(s.Clock.Off))
	return measure(ctx, s, profile, coach)
}

func measure(ctx context.Context, s *fixture.Service, profile *chrome.Profile, coach client.Client) error {
	profile.Before(evening.Counter)
	tab, err := profile.Tab(1440, 900)
	if err != nil {
		return err
	}
	if err := evening.SignIn(tab, s.URL, email); err != nil {
		return err
	}
	fmt.Printf("%-60s %6s %5s\n", "", "clicks", "keys")
	var all evening.Effort
	for _, part := range evening.Parts() {
		if err := errors.Join(evening.Reset(tab), part.Do(tab), part.Check(ctx, coach)); err != nil {
			return fmt.Errorf("%s: %w", part.Name, err)
		}
		took, err := evening.Counted(tab)
		if err != nil {
			return err
		}
		fmt.Printf("%-60s %6d %5d\n", part.Name, took.Clicks, took.Keys)
		all.Clicks += took.Clicks
		all.Keys += took.Keys
	}
	fmt.Printf("%-60s %6d %5d\n%-60s %6d %5d\n", "in all", all.Clicks, all.Keys, "at most", evening.MostClicks, evening.MostKeys)
	return nil
}
