package repo_test

import (
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"

	"fringework/cmd/fringework/services"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/domaintest"
	"fringework/integration/postgres"
	"fringework/repo"
)

// TestWeeklyLetters: over simulated weeks, with two replicas that look at once and a
// third that is started later, everybody gets each week's letter once.
func TestWeeklyLetters(t *testing.T) {
	t.Parallel()
	for name, url := range map[string]string{"sqlite": "sqlite:" + filepath.Join(t.TempDir(), "academy.db"), "postgres": postgres.Database(t)} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			ctx := t.Context()
			db := open(t, url)
			stores := repo.StoresOf(ctx, db)
			f := domaintest.NewFixture(t, stores)
			const more = 55 // so that one batch is not enough
			students := []domain.ID{f.Student}
			for range more {
				students = append(students, f.Join(t, domain.Student))
			}
			unproven := f.Join(t, domain.Student)
			verify(t, stores, f.Academy, append(students, f.Coach, f.Owner, f.Guardian)...)

			// Monday 20 April 2026, 07:30 in Oslo, where they all are.
			var now atomic.Int64
			now.Store(time.Date(2026, 4, 20, 5, 30, 0, 0, time.UTC).UnixMilli())
			replica := func() *services.Services {
				s, err := services.New(db, domain.Env{
					Now:   func() time.Time { return time.UnixMilli(now.Load()).UTC() },
					NewID: func() domain.ID { return domain.ID(uuid.Must(uuid.NewV7()).String()) },
				})
				if err != nil {
					t.Fatal(err)
				}
				return s
			}
			one, two := replica(), replica()
			_, err := one.Academy.Assign(ctx, f.Actor(), academy.AssignRequest{Programme: f.Programme, Version: 1, Students: append(students[1:], unproven), Start: domain.Date{Year: 2026, Month: 4, Day: 20}})
			if err != nil {
				t.Fatal(err)
			}
			pass := func(d time.Duration) { now.Add(d.Milliseconds()) }
			run := func(of ...*services.Services) int {
				var written atomic.Int64
				var group sync.WaitGroup
				for _, s := range of {
					group.Go(func() {
						n, err := s.WriteDigests(ctx)
						if err != nil {
							t.Error(err)
						}
						written.Add(int64(n))
					})
				}
				group.Wait()
				return int(written.Load())
			}
			pass(-time.Hour)
			if n := run(one, two); n != 0 {
				t.Errorf("%d letters before seven", n)
			}
			pass(time.Hour)
			// The coach and the students, and not the owner, who coaches nobody.
			if n := run(one, two); n != 1+1+more {
				t.Errorf("%d letters; want %d", n, 1+1+more)
			}
			if n := run(one, replica()); n != 0 {
				t.Errorf("%d letters more", n)
			}
			for range 5 { // weeks, in which nobody practises
				for range 14 {
					pass(12 * time.Hour)
					run(one, two)
				}
			}
			met := map[domain.ID]map[domain.Date]bool{}
			all, err := stores.Letters(f.Academy)
			if err != nil {
				t.Fatal(err)
			}
			for _, l := range all {
				if met[l.To.ID] == nil {
					met[l.To.ID] = map[domain.Date]bool{}
				}
				if met[l.To.ID][l.Digest.Week] {
					t.Errorf("two letters to %s for %s", l.To.ID, l.Digest.Week)
				}
				met[l.To.ID][l.Digest.Week] = true
			}
			if len(met[f.Coach]) < 2 || len(met[unproven])+len(met[f.Owner])+len(met[f.Guardian]) > 0 {
				t.Errorf("the coach got %v; want letters of two weeks at least, and others none", met[f.Coach])
			}
		})
	}
}

// verify shows the addresses of members to be theirs.
func verify(t *testing.T, stores domaintest.Stores, in domain.ID, members ...domain.ID) {
	t.Helper()
	for _, id := range members {
		var m academy.Member
		err := stores.Reading.Read(t.Context(), in, func(tx academy.ReadStore) (err error) {
			m, err = tx.Member(t.Context(), id)
			return err
		})
		if err == nil {
			err = stores.VerifyEmail(m.Account, time.UnixMilli(1).UTC())
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}
