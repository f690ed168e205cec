//go:build unix

package repo

import (
	"context"
	"math/rand/v2"
	"syscall"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/practice"
	"fringework/migrations"
)

// benchEngines runs a benchmark on careers in each engine.
func benchEngines(b *testing.B, students, sessions int, bench func(b *testing.B, c *careers)) {
	for _, e := range engines {
		b.Run(e.name, func(b *testing.B) {
			c := fillCareers(b, openAt(b, e.url(b)), students, sessions)
			if c.db.engine == migrations.Postgres { // which does so by itself in time
				if err := c.db.writer.Exec("ANALYZE").Error; err != nil {
					b.Fatal(err)
				}
			}
			b.ReportAllocs()
			b.ResetTimer()
			before := cpu(b)
			bench(b, c)
			b.ReportMetric(float64((cpu(b)-before).Microseconds())/1000/float64(b.N), "cpu-ms/op")
		})
	}
}

// cpu is the processor time that this process has used: steadier than the
// clock on a busy machine. PostgreSQL's own is not in it.
func cpu(b *testing.B) time.Duration {
	b.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// BenchmarkPut stores new sessions of sixty balls, students with half a year
// behind them taking turns.
func BenchmarkPut(b *testing.B) {
	benchEngines(b, 20, 50, func(b *testing.B, c *careers) {
		rng := rand.New(rand.NewPCG(5, 6))
		for i := 0; b.Loop(); i++ {
			student := c.students[i%len(c.students)]
			s := c.fresh(rng, student, "")
			s.Week, s.Plan = 0, 0
			s.StartedAt = monday.Add(-time.Hour - time.Duration(i)*time.Minute)
			as := domain.Actor{Academy: c.academy, Member: student, Role: domain.Student}
			if _, err := c.practice(monday).Put(c.ctx, as, s); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "puts/s")
	})
}

// BenchmarkPutAtOnce is BenchmarkPut by many at once.
func BenchmarkPutAtOnce(b *testing.B) {
	benchEngines(b, 20, 50, func(b *testing.B, c *careers) {
		b.SetParallelism(8)
		b.RunParallel(func(pb *testing.PB) {
			rng := rand.New(rand.NewPCG(rand.Uint64(), 6))
			for pb.Next() {
				student := c.students[rng.IntN(len(c.students))]
				s := c.fresh(rng, student, "")
				s.Week, s.Plan = 0, 0
				s.StartedAt = monday.Add(-time.Hour - time.Duration(rng.IntN(100_000))*time.Second)
				as := domain.Actor{Academy: c.academy, Member: student, Role: domain.Student}
				if _, err := c.practice(monday).Put(c.ctx, as, s); err != nil {
					b.Error(err)
					return
				}
			}
		})
		b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "puts/s")
	})
}

// BenchmarkDashboard reads 200 students, with a month and with two years behind
// each: the second must not be slower for its years.
func BenchmarkDashboard(b *testing.B) {
	for _, span := range []struct {
		name     string
		sessions int
	}{{"month", 8}, {"two years", 208}} {
		b.Run(span.name, func(b *testing.B) {
			benchEngines(b, 200, span.sessions, func(b *testing.B, c *careers) {
				read := academy.ReadService{Store: c.db.Reading(), Env: env(monday)}
				ctx, count := countStatements(context.Background(), nil)
				for b.Loop() {
					if _, err := read.Dashboard(ctx, c.asOwner(), academy.DashboardFilter{}); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(count.count())/float64(b.N), "statements/op")
			})
		})
	}
}

// BenchmarkRebuild recomputes a student with two years behind them.
func BenchmarkRebuild(b *testing.B) {
	benchEngines(b, 1, 208, func(b *testing.B, c *careers) {
		r := practice.Rebuilder{Store: c.db.Rebuilding(), Env: env(monday)}
		for b.Loop() {
			if _, found, err := r.Rebuild(c.ctx, c.academy, false); err != nil || len(found) > 0 {
				b.Fatal(found, err)
			}
		}
	})
}
