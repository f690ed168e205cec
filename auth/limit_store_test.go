package auth_test

import (
	"testing"
	"time"

	"fringework/auth"
	"fringework/auth/authtest"
)

// A clock that was a day ahead, and is right again, leaves no wait longer than that
// for one attempt, whether it is asked about or tried.
func TestClockAheadLocksNobodyOut(t *testing.T) {
	bucket := auth.Bucket{Name: "b", Burst: 3, Every: 10 * time.Second}
	ahead := start.Add(24 * time.Hour)
	for _, ask := range []string{"Take", "Wait"} {
		limiter := auth.NewStoreLimiter(authtest.NewMemory())
		try := func(now time.Time) time.Duration {
			wait, err := limiter.Take(t.Context(), now, bucket)
			if err != nil {
				t.Fatal(err)
			}
			return wait
		}
		for range 4 {
			try(ahead)
		}
		look := try
		if ask == "Wait" {
			look = func(now time.Time) time.Duration {
				wait, err := limiter.Wait(t.Context(), now, bucket)
				if err != nil {
					t.Fatal(err)
				}
				return wait
			}
		}
		if wait := look(start); wait != bucket.Every {
			t.Errorf("%s: told to wait %v, want %v", ask, wait, bucket.Every)
		}
		if wait := look(start.Add(4 * time.Second)); wait != 6*time.Second {
			t.Errorf("%s again after 4 s: told to wait %v, want the rest, 6 s", ask, wait)
		}
		if wait := try(start.Add(10 * time.Second)); wait != 0 {
			t.Errorf("%s: refused after the wait that was told, for %v", ask, wait)
		}
		if wait := try(start.Add(10 * time.Second)); wait != bucket.Every {
			t.Errorf("%s: the clock that was ahead gave more than one attempt back: wait %v", ask, wait)
		}
	}
}
