package repo

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// A history is what happens to one student: versions are assigned, and sessions
// are uploaded, in revisions, in any order and more than once.
type history struct {
	acts    []act
	uploads []practice.Session
}

// act gives the student a version at an instant.
type act struct {
	at      time.Time
	version int
}

// ladders are what the versions of the test's programme train, two skills each.
// In the second technique counts for one of them, and the third judges tests alone.
var ladders = [][2]streak.Ladder{
	{{Tiers: []streak.Tier{{Run: 2, Radius: 5 * domain.Foot}, {Run: 3, Radius: 5 * domain.Foot, Holed: 1}}}, {Tiers: []streak.Tier{{Run: 2, Radius: 3 * domain.Foot}}}},
	{{Tiers: []streak.Tier{{Run: 2, Radius: 5 * domain.Foot}, {Run: 4, Radius: 5 * domain.Foot}}, Technique: true}, {Tiers: []streak.Tier{{Run: 2, Radius: 3 * domain.Foot}, {Run: 3, Radius: 3 * domain.Foot}}}},
	{{Tiers: []streak.Tier{{Run: 3, Radius: 3 * domain.Foot}}, TestOnly: true}, {Tiers: []streak.Tier{{Run: 2, Radius: 3 * domain.Foot}}, TestOnly: true}},
}

// The names in a history's academy; its rows are its own by the academy alone,
// so that two academies may use the same names.
const (
	historyStudent    domain.ID = "019b0000-0000-7000-8000-000000000001"
	historyOwner      domain.ID = "019b0000-0000-7000-8000-000000000002"
	historyAssignment domain.ID = "019b0000-0000-7000-8000-000000000003"
)

var historySkills = []domain.ID{"019b0000-0000-7000-8000-00000000000a", "019b0000-0000-7000-8000-00000000000b", "019b0000-0000-7000-8000-00000000000c"}

// played is an academy in which a history happens.
type played struct {
	t       *rapid.T
	w       *fixture
	db      *DB
	academy domain.ID
}

// newPlayed makes an academy with the programme's versions and the student.
func newPlayed(t *rapid.T, w *fixture) *played {
	s := &played{t: t, w: w, db: w.db, academy: newID()}
	if err := s.db.Auth().Write(w.ctx, s.people); err != nil {
		t.Fatal(err)
	}
	write := everything(s.db)
	err := write.Write(w.ctx, s.academy, func(a *store) error { return s.versions(a) })
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func (s *played) people(tx auth.Tx) error {
	if err := tx.AddAcademy(s.w.ctx, auth.Academy{ID: s.academy, Name: "Hazel Dell", TimeZone: "UTC", Created: monday}); err != nil {
		return err
	}
	for id, role := range map[domain.ID]domain.Role{historyOwner: domain.Owner, historyStudent: domain.Student} {
		account := newID()
		if err := tx.AddAccount(s.w.ctx, auth.Account{ID: account, Email: string(account), Created: monday}); err != nil {
			return err
		}
		m := auth.Member{ID: id, Account: account, Role: role, Name: "Ash", TimeZone: "America/St_Johns", Created: monday}
		if err := tx.AddMember(s.w.ctx, s.academy, m); err != nil {
			return err
		}
	}
	return nil
}

func (s *played) versions(a *store) error {
	ctx := s.w.ctx
	for _, id := range historySkills {
		if err := a.SaveSkill(ctx, curriculum.Skill{ID: id, Name: "Skill", Kind: curriculum.Own, Revision: 1, CreatedAt: monday, UpdatedAt: monday}); err != nil {
			return err
		}
	}
	c := domaintest.Programme(historySkills[0], historySkills[1])
	if err := a.SaveProgramme(ctx, curriculum.Programme{ID: historyOwner, Draft: c, Revision: 1, CreatedAt: monday, UpdatedAt: monday}); err != nil {
		return err
	}
	for i, l := range ladders {
		v := curriculum.Version{Programme: historyOwner, Number: i + 1, Content: c, PublishedAt: monday}
		for j, ladder := range l {
			v.Skills = append(v.Skills, curriculum.Skill{ID: historySkills[j], Name: "Skill", Ladder: ladder})
		}
		if err := a.AddVersion(ctx, v); err != nil {
			return err
		}
	}
	return nil
}

func (s *played) actor() domain.Actor {
	return domain.Actor{Academy: s.academy, Member: historyOwner, Role: domain.Owner}
}

// do carries out the i-th act: the first assigns, the others move.
func (s *played) do(i int, a act) {
	service := peopleOf(s.db, domain.Env{
		Now: func() time.Time { return a.at }, NewID: func() domain.ID { return historyAssignment },
	})
	var err error
	if i == 0 {
		_, err = service.Assign(s.w.ctx, s.actor(), academy.AssignRequest{
			Programme: historyOwner, Version: a.version, Students: []domain.ID{historyStudent}, Start: domain.DateOf(historyStart, time.UTC),
		})
	} else {
		_, err = service.Move(s.w.ctx, s.actor(), historyAssignment, 0, a.version, true)
	}
	if err != nil {
		s.t.Fatalf("act %d: %v", i, err)
	}
}

// upload delivers a revision. What was overtaken is refused, and nothing else.
func (s *played) upload(up practice.Session) {
	service := practiceOf(s.db, env(monday))
	var err error
	if up.Deleted() {
		err = service.Delete(s.w.ctx, s.actor(), up.ID, up.Student, up.Revision)
	} else {
		_, err = service.Put(s.w.ctx, s.actor(), up)
	}
	if err != nil && domain.KindOf(err) != domain.Conflict {
		s.t.Fatalf("revision %d of %s: %v", up.Revision, up.ID, err)
	}
}

// kept is what is kept of the student, which must be what the log implies.
func (s *played) kept() (k practice.Kept) {
	r := practice.Rebuilder{Store: s.db.Rebuilding(), Env: env(monday)}
	students, found, err := r.Rebuild(s.w.ctx, s.academy, false)
	if err != nil || students != 1 {
		s.t.Fatalf("rebuild of %d students: %v", students, err)
	}
	for _, d := range found {
		s.t.Errorf("%v", d)
	}
	err = everything(s.db).Read(s.w.ctx, s.academy, func(a *store) error {
		k, err = a.Kept(s.w.ctx, historyStudent)
		return err
	})
	if err != nil {
		s.t.Fatal(err)
	}
	return k
}

var historyStart = monday.AddDate(0, 0, -40)

// drawHistory draws the acts, and for each session its revisions.
func drawHistory(t *rapid.T) history {
	var h history
	for i := range rapid.IntRange(1, 3).Draw(t, "acts") {
		h.acts = append(h.acts, act{historyStart.AddDate(0, 0, 10*i), rapid.IntRange(1, len(ladders)).Draw(t, "version")})
	}
	for i := range rapid.IntRange(1, 6).Draw(t, "sessions") {
		id := domain.ID(fmt.Sprintf("019c0000-0000-7000-8000-%012x", i))
		for r := range rapid.IntRange(1, 3).Draw(t, "revisions") {
			h.uploads = append(h.uploads, drawUpload(t, id, r+1))
		}
	}
	return h
}

func drawUpload(t *rapid.T, id domain.ID, revision int) practice.Session {
	s := practice.Session{ID: id, Student: historyStudent, Revision: revision}
	if rapid.IntRange(0, 4).Draw(t, "deleted") == 0 {
		s.DeletedAt = monday
		return s
	}
	// Few starts, so that sessions share them, some around midnight.
	s.StartedAt = historyStart.Add(time.Duration(rapid.IntRange(0, 60).Draw(t, "start")) * 12 * time.Hour)
	s.TimeZone = rapid.SampledFrom([]string{"", "America/St_Johns", "Pacific/Auckland"}).Draw(t, "zone")
	if rapid.Bool().Draw(t, "ended") {
		s.EndedAt = s.StartedAt.Add(time.Hour)
	}
	if rapid.Bool().Draw(t, "planned") {
		s.Assignment, s.Week, s.Plan = historyAssignment, rapid.IntRange(1, 3).Draw(t, "week"), 1
	}
	for range rapid.IntRange(0, 4).Draw(t, "blocks") {
		s.Blocks = append(s.Blocks, drawBlock(t))
	}
	return s
}

func drawBlock(t *rapid.T) practice.Block {
	b := practice.Block{
		PlanBlock: rapid.IntRange(0, 5).Draw(t, "plan block"),
		Kind:      rapid.SampledFrom(curriculum.BlockKinds()).Draw(t, "kind"),
		Skill:     rapid.SampledFrom(historySkills).Draw(t, "skill"),
		Radius:    rapid.SampledFrom([]domain.Length{3 * domain.Foot, 5 * domain.Foot}).Draw(t, "radius"),
		Seconds:   rapid.IntRange(0, 900).Draw(t, "seconds"),
	}
	if rapid.IntRange(0, 5).Draw(t, "card") == 0 {
		n := rapid.IntRange(0, 40).Draw(t, "attested")
		b.Attested = &progress.Attested{Balls: n, Inside: n / 2, Holed: n / 4, BestRun: n / 2}
		return b
	}
	for range rapid.IntRange(0, 8).Draw(t, "balls") {
		ball := practice.Ball{Outcome: rapid.SampledFrom([]streak.Outcome{streak.Out, streak.In, streak.In, streak.In, streak.Holed}).Draw(t, "outcome")}
		if b.Kind == curriculum.Playout && ball.Outcome == streak.Holed {
			ball.Strokes = 1
		}
		if ball.Outcome == streak.In && rapid.Bool().Draw(t, "measured") {
			ball.Measured, ball.Leave = true, b.Radius/domain.Length(rapid.IntRange(1, 3).Draw(t, "nearness"))
		}
		b.Balls = append(b.Balls, ball)
	}
	return b
}

// final gives the highest revision of each session.
func (h history) final() []practice.Session {
	highest := map[domain.ID]practice.Session{}
	for _, s := range h.uploads {
		if s.Revision > highest[s.ID].Revision {
			highest[s.ID] = s
		}
	}
	var all []practice.Session
	for _, s := range highest {
		all = append(all, s)
	}
	slices.SortFunc(all, func(a, b practice.Session) int { return a.StartedAt.Compare(b.StartedAt) })
	return all
}

// play carries a history out with the uploads in the given order, the acts
// spread among them.
func (s *played) play(acts []act, uploads []practice.Session, after []int) {
	s.do(0, acts[0]) // a session of a plan needs one
	done := 1
	for i, up := range uploads {
		for done < len(acts) && after[done] <= i {
			s.do(done, acts[done])
			done++
		}
		s.upload(up)
	}
	for ; done < len(acts); done++ {
		s.do(done, acts[done])
	}
}

// Any order and any repetition of the same uploads ends in the same state, which
// is what the log of balls implies.
func TestAnyOrderEndsInTheSameState(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := &fixture{t: t, db: db, ctx: t.Context()}
		rapid.Check(t, func(t *rapid.T) {
			h := drawHistory(t)
			uploads := slices.Concat(h.uploads, rapid.SliceOfN(rapid.SampledFrom(h.uploads), 0, 5).Draw(t, "again"))
			uploads = rapid.Permutation(uploads).Draw(t, "order")
			place := rapid.SliceOfN(rapid.IntRange(0, len(uploads)), len(h.acts), len(h.acts))
			first := newPlayed(t, w)
			first.play(h.acts, uploads, place.Draw(t, "acts at"))
			second := newPlayed(t, w)
			second.play(h.acts, h.final(), place.Draw(t, "acts at"))
			if d := cmp.Diff(first.kept(), second.kept(), cmpopts.EquateEmpty()); d != "" {
				t.Errorf("the order of arrival shows (-any order +final revisions alone)\n%s", d)
			}
		})
	})
}
