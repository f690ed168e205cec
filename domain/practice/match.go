package practice

import (
	"cmp"
	"context"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/streak"
)

// MatchStore is what reading matches needs kept.
type MatchStore interface {
	academy.Viewing
	academy.Gathering

	// MatchSessions gives the sessions that stand and name a match, with their balls, in
	// order of start, then of identity; at most so many.
	MatchSessions(ctx context.Context, match domain.ID, limit int) ([]Session, error)
	// Matches lists the matches that a student's sessions that stand name, latest start
	// first, each once; at most so many.
	Matches(ctx context.Context, student domain.ID, limit int) ([]domain.ID, error)
}

// MatchService reads matches: what those who dealt the same cards did with them. A
// match is kept nowhere but in the sessions that name it, so that it does not matter
// which phone sends first, or what is corrected and deleted later.
type MatchService struct {
	Store domain.Transactor[MatchStore]
}

// Bounds of what is read of matches: who plays one, and how many a list has.
const (
	maxPlayers = 50
	maxMatches = 20
)

// MatchResult is a match as it stands.
type MatchResult struct {
	ID domain.ID
	curriculum.Match
	// StartedAt is when the first of the players began.
	StartedAt time.Time
	// Players are in order of their balls inside, most first, then of name.
	Players []MatchPlayer
}

// MatchPlayer is what one player did in a match.
type MatchPlayer struct {
	// Student is empty, and Name as well, where the reader may not know who it is.
	Student domain.ID
	Name    string
	// Circle is what the player plays to.
	Circle domain.Length
	// Outcomes are what came of each card so far, in the order of the cards.
	Outcomes []streak.Outcome
	// Inside of them were inside the player's circle, those holed included.
	Inside int
}

// MatchStanding is how a match stands.
type MatchStanding string

// The standings: one player alone is there so far, somebody has cards left, somebody
// won, and two or more have as many balls inside as anybody.
const (
	MatchAlone   MatchStanding = "alone"
	MatchGoingOn MatchStanding = "going_on"
	MatchWon     MatchStanding = "won"
	MatchLevel   MatchStanding = "level"
)

// MatchStandings lists them.
func MatchStandings() []MatchStanding {
	return []MatchStanding{MatchAlone, MatchGoingOn, MatchWon, MatchLevel}
}

// Standing says how the match stands.
func (r MatchResult) Standing() MatchStanding {
	unfinished := func(p MatchPlayer) bool { return len(p.Outcomes) < r.Balls }
	switch {
	case len(r.Players) < 2:
		return MatchAlone
	case slices.ContainsFunc(r.Players, unfinished):
		return MatchGoingOn
	case r.Players[0].Inside == r.Players[1].Inside:
		return MatchLevel
	}
	return MatchWon
}

// Match reads a match for one of its players, or for whoever may see one of them.
// Players see each other; staff and guardians learn of the others' balls, and who they
// are only where they may see them. A junior is nobody to other players without a
// guardian's consent, and does not read the match either.
func (s MatchService) Match(ctx context.Context, a domain.Actor, id domain.ID) (r MatchResult, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx MatchStore) error {
		r, err = readMatch(ctx, tx, a, id)
		return err
	})
	return r, err
}

// MatchList is a student's matches, and the circles they would play to.
type MatchList struct {
	Student academy.Member
	Matches []MatchResult
	// Circles are of the skills the student practises of which matches are dealt.
	Circles []OwnCircle
}

// OwnCircle is the circle that a student hits half the time.
type OwnCircle struct {
	Skill curriculum.Skill
	// Circle is 0 while too little is known.
	Circle domain.Length
}

// Matches lists the matches of a student whom the actor may see, latest first, and the
// student's own circles.
func (s MatchService) Matches(ctx context.Context, a domain.Actor, student domain.ID) (l MatchList, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx MatchStore) error {
		l = MatchList{}
		if l.Student, err = academy.Student(ctx, tx, a, student); err != nil {
			return err
		}
		if l.Circles, err = ownCircles(ctx, tx, student); err != nil || !l.Student.ForMatches() {
			return err
		}
		ids, err := tx.Matches(ctx, student, maxMatches)
		for _, id := range ids {
			if _, known := curriculum.MatchByID(id); err != nil || !known {
				continue
			}
			var r MatchResult
			r, err = readMatch(ctx, tx, a, id)
			l.Matches = append(l.Matches, r)
		}
		return err
	})
	return l, err
}

// ownCircles gives the circles by the student's own rates alone, as they were when
// they last practised.
func ownCircles(ctx context.Context, tx MatchStore, student domain.ID) (all []OwnCircle, err error) {
	stored, err := tx.Stored(ctx, []domain.ID{student})
	if err != nil {
		return nil, err
	}
	var ids []domain.ID
	for _, state := range stored.States {
		ids = append(ids, state.Skill)
	}
	skills, err := tx.SkillsByID(ctx, ids)
	for _, state := range stored.States {
		own := OwnCircle{Skill: skills[state.Skill]}
		if !slices.Contains(curriculum.MatchKinds(), own.Skill.Kind) {
			continue
		}
		if focus, ok := state.Focus(); ok {
			own.Circle, _ = state.Assessment.FairCircle(focus.Radius)
		}
		all = append(all, own)
	}
	return all, err
}

func readMatch(ctx context.Context, tx MatchStore, a domain.Actor, id domain.ID) (r MatchResult, err error) {
	match, ok := curriculum.MatchByID(id)
	if !ok {
		return r, domain.ErrNotFound("match")
	}
	r = MatchResult{ID: id, Match: match}
	sessions, err := tx.MatchSessions(ctx, id, maxPlayers)
	if err != nil {
		return r, err
	}
	var ids []domain.ID
	for _, x := range sessions {
		for _, b := range x.Blocks {
			ids = append(ids, b.Skill)
		}
	}
	skills, err := tx.SkillsByID(ctx, ids)
	if err != nil {
		return r, err
	}
	mine, sees := false, false
	var hidden []int
	seen := map[domain.ID]bool{}
	for _, x := range sessions {
		cards := x.cardsOf(match, skills)
		if len(cards) == 0 || seen[x.Student] { // whoever dealt the code twice has played it once
			continue
		}
		seen[x.Student] = true
		m, err := tx.Member(ctx, x.Student)
		if err != nil {
			return r, err
		}
		own := a.Role == domain.Student && a.Member == m.ID
		if own && !m.ForMatches() {
			return r, errMatches(m, "the match is not shown")
		}
		if !m.ForMatches() || !m.Active() {
			continue
		}
		_, err = academy.Student(ctx, tx, a, m.ID)
		if err != nil && domain.KindOf(err) != domain.NotFound {
			return r, err
		}
		mine, sees = mine || own, sees || err == nil
		if err != nil {
			hidden = append(hidden, len(r.Players))
		}
		if r.StartedAt.IsZero() {
			r.StartedAt = x.StartedAt
		}
		r.Players = append(r.Players, matchPlayer(match, m, cards))
	}
	if !sees {
		return MatchResult{}, domain.ErrNotFound("match")
	}
	for _, i := range hidden {
		if !mine || a.ByApp() {
			r.Players[i].Student, r.Players[i].Name = "", ""
		}
	}
	slices.SortStableFunc(r.Players, func(x, y MatchPlayer) int {
		return cmp.Or(cmp.Compare(y.Inside, x.Inside), cmp.Compare(x.Name, y.Name), cmp.Compare(x.Student, y.Student))
	})
	return r, nil
}

// cardsOf gives the blocks in which cards were played: random ones of the match's shot,
// to no wider a circle than all play to, unless each plays to their own.
func (s Session) cardsOf(match curriculum.Match, skills map[domain.ID]curriculum.Skill) (blocks []Block) {
	for _, b := range s.Blocks {
		if b.Kind == curriculum.Random && len(b.Balls) > 0 && skills[b.Skill].Kind == match.Kind && (match.Own || b.Radius <= match.Circle()) {
			blocks = append(blocks, b)
		}
	}
	return blocks
}

// matchPlayer reads the balls of blocks as the cards in their order.
func matchPlayer(match curriculum.Match, m academy.Member, blocks []Block) MatchPlayer {
	p := MatchPlayer{Student: m.ID, Name: m.Name, Circle: blocks[0].Radius}
	for _, b := range blocks {
		for _, ball := range b.Balls {
			if len(p.Outcomes) == match.Balls {
				break
			}
			p.Outcomes = append(p.Outcomes, ball.Outcome)
			if ball.Outcome != streak.Out {
				p.Inside++
			}
		}
	}
	return p
}

// errMatches refuses what a junior's guardian has not agreed to; what says what was not
// done.
func errMatches(m academy.Member, what string) error {
	return domain.Errorf(domain.Conflict, "consent_matches",
		"%s is a junior, and no guardian has agreed to matches with others: %s. A guardian agrees to it on the junior's page.", m.Name, what)
}
