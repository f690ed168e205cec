package auth

import (
	"context"
	"sync"
	"time"

	"fringework/domain"
)

// RequestLimits are how many requests a minute are taken; 0 for any number. They
// may come all at once, and then one by one as the minute refills.
type RequestLimits struct {
	// Member is for one person, and for each app that one person has let in.
	Member int
	// Key is for one application key.
	Key int
	// App is for one app, whoever it asks for.
	App int
}

// requestWindow is the time that limits on requests are for.
const requestWindow = time.Minute

// Standing is how a limit on requests stands after a request.
type Standing struct {
	// Policy names the limit: "member", "member-app", "app" or "key".
	Policy string
	// Limit is how many requests are taken in Window, and Remaining how many may
	// come at once now.
	Limit     int
	Window    time.Duration
	Remaining int
	// Full is how long until all may come at once again, if none comes before.
	Full time.Duration
	// Wait is how long until the next is taken; 0 when this one was.
	Wait time.Duration
}

// SharedBuckets are buckets that replicas share.
type SharedBuckets interface {
	// Reserve spends n attempts of a bucket at once, or none when it has not as many.
	// It gives the bucket's one number (Bucket.take) after it.
	Reserve(ctx context.Context, now time.Time, b Bucket, n int) (full time.Time, reserved bool, err error)
}

// share is the part of a limit that a replica reserves at once: a twentieth.
const share = 20

// Quota limits requests, per member, key and app.
//
// Replicas share the limits without a statement for each request: a replica takes
// the first twentieth of a limit on trust, and then reserves a twentieth at a time
// from what all share. So whoever asks seldom costs nothing, whoever asks often one
// statement in thirty requests at 600 a minute, and whoever asks too often none,
// since the wait is remembered. With n replicas at most n twentieths more than the
// limit are taken. One process alone, without shared buckets, counts exactly.
type Quota struct {
	limits RequestLimits
	shared SharedBuckets

	mu     sync.Mutex
	kept   map[string]*allowance
	pruned time.Time
}

// NewQuota makes limits; shared is nil for a process that shares them with nobody.
func NewQuota(limits RequestLimits, shared SharedBuckets) *Quota {
	return &Quota{limits: limits, shared: shared, kept: map[string]*allowance{}}
}

// allowance is what this process knows of one bucket.
type allowance struct {
	mu sync.Mutex
	// full is the bucket's one number as last heard.
	full time.Time
	// left is what is reserved and not spent.
	left int
	// until is when the next attempt may be reserved.
	until time.Time
	used  time.Time
}

// limit is one limit that a request meets.
type limit struct {
	policy string
	most   int
	of     domain.ID
}

func (l RequestLimits) of(id Identity) []limit {
	switch {
	case id.Key != "":
		return []limit{{"key", l.Key, id.Key}}
	case id.App != "":
		return []limit{{"member-app", l.Member, id.App + " " + id.Member}, {"app", l.App, id.App}}
	}
	return []limit{{"member", l.Member, id.Account}}
}

// Take counts one request of somebody and tells how their limits stand; none of
// them stands when there is no limit. The request is refused when any has a Wait.
func (q *Quota) Take(ctx context.Context, now time.Time, id Identity) (all []Standing, err error) {
	for _, l := range q.limits.of(id) {
		if l.most <= 0 {
			continue
		}
		b := Bucket{Name: label("requests-"+l.policy, string(l.of)), Burst: l.most, Every: requestWindow / time.Duration(l.most)}
		s, err := q.take(ctx, now, b)
		if err != nil {
			return nil, err
		}
		s.Policy = l.policy
		if all = append(all, s); s.Wait > 0 {
			break
		}
	}
	return all, nil
}

func (q *Quota) take(ctx context.Context, now time.Time, b Bucket) (Standing, error) {
	a := q.allowance(b.Name, now)
	a.mu.Lock()
	defer a.mu.Unlock()
	idle := now.Sub(a.used) >= requestWindow
	a.used = now
	if q.shared == nil {
		next, wait := b.take(a.full, now)
		a.full = next
		return b.standing(now, a.full, 0, wait), nil
	}
	chunk := max(1, b.Burst/share)
	// What is taken on trust is no more than the limit leaves.
	common := b
	common.Burst = max(1, b.Burst-chunk)
	if idle {
		a.left, a.until, a.full = chunk, time.Time{}, time.Time{}
	}
	wait := earlier(a.until, now.Add(requestWindow)).Sub(now)
	if wait <= 0 && a.left == 0 {
		full, reserved, err := q.shared.Reserve(ctx, now, common, chunk)
		if err != nil {
			return Standing{}, err
		}
		a.full = full
		if reserved {
			a.left = chunk
		} else {
			wait = full.Add(time.Duration(chunk-common.Burst) * b.Every).Sub(now)
			a.until = now.Add(wait)
		}
	}
	if wait <= 0 {
		a.left--
	}
	s := common.standing(now, a.full, a.left, wait)
	s.Limit = b.Burst
	return s, nil
}

// standing tells how a bucket stands that has some reserved attempts beside it.
func (b Bucket) standing(now, full time.Time, reserved int, wait time.Duration) Standing {
	spent := 0
	if full.After(now) {
		spent = int((full.Sub(now) + b.Every - 1) / b.Every)
	}
	free := max(0, b.Burst-spent) + reserved
	if wait > 0 {
		free = 0
	}
	return Standing{
		Limit: b.Burst, Window: requestWindow, Remaining: free, Full: time.Duration(spent) * b.Every, Wait: wait,
	}
}

// allowance finds what is known of a bucket, and now and then forgets those that
// nobody used for a while.
func (q *Quota) allowance(name string, now time.Time) *allowance {
	q.mu.Lock()
	defer q.mu.Unlock()
	if now.Sub(q.pruned) >= requestWindow || now.Before(q.pruned) {
		q.pruned = now
		for name, a := range q.kept {
			if a.mu.TryLock() {
				if now.Sub(a.used) >= requestWindow {
					delete(q.kept, name)
				}
				a.mu.Unlock()
			}
		}
	}
	a := q.kept[name]
	if a == nil {
		a = &allowance{}
		q.kept[name] = a
	}
	return a
}
