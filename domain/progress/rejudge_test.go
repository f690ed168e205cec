package progress_test

import (
	"context"
	"errors"
	"reflect"
	"testing"

	"fringework/domain"
	"fringework/domain/progress"
)

// keeper keeps one record, and fails on request.
type keeper struct {
	plays          []progress.Play
	reads, replace error
	kept           []progress.Record
}

func (k *keeper) Tracks(context.Context, domain.ID, []domain.ID) (map[domain.ID]progress.Track, error) {
	return nil, errors.New("a track is given to judge by, not asked for")
}

func (k *keeper) History(_ context.Context, student, skill domain.ID) ([]progress.Play, error) {
	if student != "ada" || skill != "pitch" {
		return nil, errors.New("somebody else's history")
	}
	return k.plays, k.reads
}

func (k *keeper) ReplaceRecord(_ context.Context, r progress.Record) error {
	k.kept = append(k.kept, r)
	return k.replace
}

// TestRejudge: under another ladder the same balls pass other tiers.
func TestRejudge(t *testing.T) {
	tr := track(ladder(tight, nine))
	k := &keeper{plays: []progress.Play{
		play("b", day1.AddDate(0, 0, 1), block("test", "iiiiiiiii")), play("a", day1, block("test", "2h2i")),
	}}
	if _, _, err := progress.Rejudge(context.Background(), k, progress.Track{}, tr); err != nil || len(k.kept) != 1 {
		t.Fatalf("got %v, and %d records kept, want one", err, len(k.kept))
	}
	r := k.kept[0]
	if !reflect.DeepEqual(r.Track, tr) || !r.Whole || r.State.Held != 2 || r.State.Totals.Balls != 13 {
		t.Errorf("got %+v, want both tiers held after 13 balls", r)
	}
	if made := r.State.Milestones(); len(made) != 2 || made[0].Tier != tight || made[0].Session != "a" || made[0].Ball != 3 || made[1].Tier != nine || made[1].Session != "b" {
		t.Errorf("passed %+v, want three inside three feet in a, nine in b", made)
	}
}

// TestRejudgeFails: what fails comes out as it is, and nothing is kept of a
// history that could not be read.
func TestRejudgeFails(t *testing.T) {
	down := errors.New("down")
	k := &keeper{reads: down}
	if _, _, err := progress.Rejudge(context.Background(), k, progress.Track{}, track(ladder(three))); !errors.Is(err, down) || len(k.kept) != 0 {
		t.Errorf("reading failed: got %v, and %d records kept", err, len(k.kept))
	}
	k = &keeper{replace: down}
	if _, _, err := progress.Rejudge(context.Background(), k, progress.Track{}, track(ladder(three))); !errors.Is(err, down) {
		t.Errorf("keeping failed: got %v", err)
	}
}
