package auth

import (
	"errors"
	"strings"
	"testing"
	"time"

	"fringework/domain"
)

func TestBucket(t *testing.T) {
	b := Bucket{Name: "b", Burst: 3, Every: 10 * time.Second}
	var full time.Time
	now := tokenTime
	take := func() (wait time.Duration) {
		full, wait = b.take(full, now)
		return wait
	}
	for i := range 3 {
		if wait := take(); wait != 0 {
			t.Fatalf("attempt %d of the burst: wait %v", i+1, wait)
		}
	}
	// By hand: three attempts at once fill 30 s; the fourth fits when 10 s of
	// them are over.
	for range 100 { // refused attempts cost nothing
		if wait := take(); wait != 10*time.Second {
			t.Fatalf("fourth attempt: wait %v, want 10 s", wait)
		}
	}
	now = now.Add(10*time.Second - time.Millisecond)
	if wait := take(); wait != time.Millisecond {
		t.Errorf("a millisecond early: wait %v, want 1 ms", wait)
	}
	now = now.Add(time.Millisecond)
	if wait := take(); wait != 0 {
		t.Errorf("after the wait it was told: wait %v", wait)
	}
	if wait := take(); wait != 10*time.Second {
		t.Errorf("and again: wait %v, want 10 s", wait)
	}
	now = now.Add(time.Hour)
	for i := range 3 {
		if wait := take(); wait != 0 {
			t.Errorf("attempt %d after an hour: wait %v", i+1, wait)
		}
	}
	if wait := take(); wait == 0 {
		t.Error("an hour of quiet gave more than the burst")
	}
}

func TestOrigin(t *testing.T) {
	same := [][2]string{
		{"192.0.2.1", "::ffff:192.0.2.1"},
		{"2001:db8:1:2:3:4:5:6", "2001:db8:1:2::1"},
		{"fe80::1%eth0", "fe80::1"},
		{"", ""},
	}
	for _, pair := range same {
		if Origin(pair[0]) != Origin(pair[1]) {
			t.Errorf("%q and %q should be one origin", pair[0], pair[1])
		}
	}
	differ := [][2]string{{"192.0.2.1", "192.0.2.2"}, {"2001:db8:1:2::1", "2001:db8:1:3::1"}, {"", "192.0.2.1"}}
	for _, pair := range differ {
		if Origin(pair[0]) == Origin(pair[1]) {
			t.Errorf("%q and %q should be two origins", pair[0], pair[1])
		}
	}
	if strings.Contains(Origin("192.0.2.1"), "192") {
		t.Error("the origin tells the address")
	}
}

func TestBucketNamesTellNobody(t *testing.T) {
	for _, known := range []bool{true, false} {
		seen := map[string]bool{}
		for _, b := range append(passwordBuckets("ann@example.org", Origin("192.0.2.1"), known), secretBucket("o"), signUpBucket("o")) {
			if strings.Contains(b.Name, "ann") || strings.Contains(b.Name, "192.0") {
				t.Errorf("bucket %s holds personal data", b.Name)
			}
			if seen[b.Name] || b.Burst < 1 || b.Every < time.Second {
				t.Errorf("bucket %+v", b)
			}
			seen[b.Name] = true
		}
	}
	// The parts of a name cannot run into each other.
	if label("k", "a", "b") == label("k", "a\x00b") && label("k", "ab") == label("k", "a", "b") {
		t.Error("labels run together")
	}
}

func TestTooManyRoundsUp(t *testing.T) {
	for wait, want := range map[time.Duration]int{time.Millisecond: 1, time.Second: 1, 1001 * time.Millisecond: 2, 15 * time.Minute: 900} {
		var e *domain.Error
		if err := tooMany(wait); !errors.As(err, &e) || e.Kind != domain.TooMany || e.RetryAfter != want {
			t.Errorf("%v: got %v, RetryAfter %d; want %d", wait, err, e.RetryAfter, want)
		}
	}
}
