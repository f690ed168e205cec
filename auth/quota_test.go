package auth_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"fringework/auth"
	"fringework/domain"
)

// takes asks as often and gives how many were taken and how the first limit stands.
func takes(t *testing.T, q *auth.Quota, now time.Time, id auth.Identity, times int) (n int, last auth.Standing) {
	t.Helper()
	for range times {
		all, err := q.Take(t.Context(), now, id)
		if err != nil {
			t.Fatal(err)
		}
		last = all[len(all)-1]
		if last.Wait == 0 {
			n++
		}
	}
	return n, last
}

// By hand: 120 a minute are 120 at once and then one every half second.
func TestQuotaInOneProcess(t *testing.T) {
	q := auth.NewQuota(auth.RequestLimits{Member: 120, Key: 1}, nil)
	ann, ben := auth.Identity{Account: "ann"}, auth.Identity{Account: "ben"}
	n, last := takes(t, q, start, ann, 100)
	if want := (auth.Standing{Policy: "member", Limit: 120, Window: time.Minute, Remaining: 20, Full: 50 * time.Second}); n != 100 || last != want {
		t.Errorf("after 100: %d taken, %+v; want %+v", n, last, want)
	}
	n, last = takes(t, q, start, ann, 100)
	if n != 20 || last.Wait != 500*time.Millisecond || last.Remaining != 0 {
		t.Errorf("after 200: %d more taken, %+v; want 20 and a wait of half a second", n, last)
	}
	if n, _ = takes(t, q, start, ben, 1); n != 1 {
		t.Error("somebody else is refused, too")
	}
	if n, _ = takes(t, q, start.Add(499*time.Millisecond), ann, 1); n != 0 {
		t.Error("taken before the wait was over")
	}
	if n, _ = takes(t, q, start.Add(500*time.Millisecond), ann, 2); n != 1 {
		t.Errorf("%d taken after the wait; want 1", n)
	}
	if n, _ = takes(t, q, start.Add(2*time.Minute), ann, 200); n != 120 {
		t.Errorf("%d taken two minutes later; want 120", n)
	}
	if n, last = takes(t, q, start, auth.Identity{Actor: domain.Actor{Key: "k"}}, 2); n != 1 || last.Policy != "key" || last.Wait != time.Minute {
		t.Errorf("a key: %d taken, %+v; want 1 and a wait of a minute", n, last)
	}
}

func TestQuotaOfApps(t *testing.T) {
	q := auth.NewQuota(auth.RequestLimits{Member: 10, App: 25}, nil)
	of := func(member domain.ID) auth.Identity {
		return auth.Identity{Account: member, Actor: domain.Actor{Member: member, App: "app"}}
	}
	for member, want := range map[domain.ID]int{"ann": 10} {
		if n, last := takes(t, q, start, of(member), 20); n != want || last.Policy != "member-app" {
			t.Errorf("%s: %d taken, %+v; want %d, by the limit of one person's app", member, n, last, want)
		}
	}
	if n, _ := takes(t, q, start, auth.Identity{Account: "ann"}, 20); n != 10 {
		t.Errorf("%d taken of ann herself; want 10, whatever her app asks", n)
	}
	takes(t, q, start, of("ben"), 10)
	if n, last := takes(t, q, start, of("cyd"), 10); n != 5 || last.Policy != "app" {
		t.Errorf("the third: %d taken, %+v; want 5, by the limit of the app", n, last)
	}
	all, err := auth.NewQuota(auth.RequestLimits{}, nil).Take(t.Context(), start, of("ann"))
	if len(all) != 0 || err != nil {
		t.Errorf("without limits: %v, %v", all, err)
	}
}

// broken are shared buckets that cannot be asked.
type broken struct{}

var errBroken = errors.New("no database")

func (broken) Reserve(context.Context, time.Time, auth.Bucket, int) (time.Time, bool, error) {
	return time.Time{}, false, errBroken
}

func TestQuotaSaysWhatFails(t *testing.T) {
	q := auth.NewQuota(auth.RequestLimits{Member: 20}, broken{})
	takes(t, q, start, auth.Identity{Account: "ann"}, 1)
	if _, err := q.Take(t.Context(), start, auth.Identity{Account: "ann"}); !errors.Is(err, errBroken) {
		t.Errorf("got %v; want what the database said", err)
	}
}
