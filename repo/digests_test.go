package repo

import (
	"context"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/domaintest"
)

// TestDigestCost: students' letters of one batch cost no statement each but the one
// that notes the week, and a coach's a fixed number.
func TestDigestCost(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		stores := StoresOf(t.Context(), db)
		f := domaintest.NewFixture(t, stores)
		students := []domain.ID{f.Student}
		for range 9 {
			students = append(students, f.Join(t, domain.Student))
		}
		for _, id := range append([]domain.ID{f.Coach}, students...) {
			if err := db.writer.Exec("UPDATE accounts SET verified_at = 1 WHERE id = (SELECT account_id FROM members WHERE id = ?)", id).Error; err != nil {
				t.Fatal(err)
			}
		}
		now := time.Date(2026, 4, 20, 5, 30, 0, 0, time.UTC)
		people := academy.Service{Store: db.People(), GroupStore: db.Groups(), AssignmentStore: db.Assignments(), Env: env(now)}
		_, err := people.Assign(t.Context(), f.Actor(), academy.AssignRequest{Programme: f.Programme, Version: 1, Students: students[1:], Start: domain.DateOf(now, time.UTC)})
		if err != nil {
			t.Fatal(err)
		}
		s := academy.DigestService{Store: db.Digests(), Reading: db.Reading(), Env: env(now), NewToken: func(domain.ID) (string, error) { return string(newID()), nil }}
		cost := func(members ...domain.ID) int {
			ctx, count := countStatements(context.WithoutCancel(t.Context()), nil)
			if n, err := s.Send(ctx, f.Academy, members); err != nil || n != len(members) {
				t.Fatalf("%d letters, %v; want %d", n, err, len(members))
			}
			return count.count()
		}
		one, eight, coach := cost(students[1]), cost(students[2:]...), cost(f.Coach)
		t.Logf("one student %d, eight students %d, a coach %d", one, eight, coach)
		if eight-one != 7 {
			t.Errorf("eight students take %d statements and one takes %d; want one more for each", eight, one)
		}
		if coach > 25 {
			t.Errorf("a coach takes %d statements", coach)
		}
		ctx, count := countStatements(t.Context(), nil)
		zones, err := db.DigestZones(ctx)
		if err != nil || len(zones) != 1 {
			t.Fatalf("zones %v, %v", zones, err)
		}
		due, err := db.DigestsDue(ctx, zones, domain.DateOf(now, time.UTC), MemberKey{}, 50)
		if err != nil || len(due) != 1 || due[0] != (MemberKey{f.Academy, f.Student}) || count.count() != 2 {
			t.Errorf("left are %v, %v, by %d statements; want the fixture's student by two", due, err, count.count())
		}
	})
}
