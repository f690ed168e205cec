package repo

import (
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"fringework/auth"
	"fringework/domain"
	"fringework/migrations"
)

// Three replicas share a limit of 200 a minute, which is reserved 10 at a time: all
// together they take the limit, and at most 10 more each on trust.
func TestReplicasShareRequestLimits(t *testing.T) {
	t.Parallel()
	for _, e := range engines {
		db := openAt(t, e.url(t))
		buckets := db.RequestBuckets()
		if (buckets != nil) != (db.engine == migrations.Postgres) {
			t.Fatalf("%s: buckets %v; want them on PostgreSQL alone", e.name, buckets)
		}
		if buckets == nil {
			continue
		}
		const replicas, most = 3, 200
		who := auth.Identity{Account: domain.ID("anybody")}
		var taken, refused atomic.Int64
		now := monday
		ask := func(q *auth.Quota, times int) {
			for range times {
				all, err := q.Take(t.Context(), now, who)
				if err != nil {
					t.Error(err)
					return
				}
				if all[0].Wait > 0 {
					refused.Add(1)
				} else {
					taken.Add(1)
				}
			}
		}
		quotas := make([]*auth.Quota, replicas)
		var group sync.WaitGroup
		for i := range quotas {
			quotas[i] = auth.NewQuota(auth.RequestLimits{Member: most}, buckets)
			for range 2 {
				group.Go(func() { ask(quotas[i], most) })
			}
		}
		group.Wait()
		// By hand: of the 200, 190 are shared, and each replica takes 10 on trust.
		if got := taken.Load(); got != 190+replicas*10 {
			t.Errorf("%d requests taken at once; want 220", got)
		}
		if got := refused.Load(); got != replicas*2*most-220 {
			t.Errorf("%d refused; want the rest", got)
		}
		// Ten seconds refill a sixth: 33, of which whole tens can be reserved.
		now, before := now.Add(10*time.Second), taken.Load()
		for _, q := range quotas {
			ask(q, most)
		}
		if got := taken.Load() - before; got != 30 {
			t.Errorf("%d taken after ten seconds; want 30", got)
		}
		// A clock that was ahead locks nobody out for as long.
		ahead := auth.NewQuota(auth.RequestLimits{Member: most}, buckets)
		now = now.Add(365 * 24 * time.Hour)
		ask(ahead, most)
		now = now.Add(-365*24*time.Hour + 2*time.Minute)
		before = taken.Load()
		ask(auth.NewQuota(auth.RequestLimits{Member: most}, buckets), 10+1)
		now = now.Add(time.Minute)
		ask(auth.NewQuota(auth.RequestLimits{Member: most}, buckets), 10+1)
		if got := taken.Load() - before; got != 21 {
			t.Errorf("%d taken a minute after a clock was ahead; want 21", got)
		}
	}
}

// Whoever asks often costs one statement in thirty requests at 600 a minute, and
// whoever asks seldom none.
func TestRequestLimitsCostLittle(t *testing.T) {
	t.Parallel()
	for _, e := range engines {
		db := openAt(t, e.url(t))
		q := auth.NewQuota(auth.RequestLimits{Member: 600}, db.RequestBuckets())
		ctx, n := countStatements(t.Context(), nil)
		take := func(times int) {
			for range times {
				if _, err := q.Take(ctx, monday, auth.Identity{Account: "somebody"}); err != nil {
					t.Fatal(err)
				}
			}
		}
		want := 0
		take(30)
		if n.count() != 0 {
			t.Errorf("%s: %d statements for 30 requests; want none", e.name, n.count())
		}
		take(570)
		if db.RequestBuckets() != nil {
			want = 19
		}
		if n.count() != want {
			t.Errorf("%s: %d statements for 600 requests; want %d", e.name, n.count(), want)
		}
		take(600) // all refused: one statement to be refused, and one to learn the wait
		if want > 0 {
			want += 2
		}
		if n.count() != want {
			t.Errorf("%s: %d statements after 600 refusals; want %d", e.name, n.count(), want)
		}
	}
}
