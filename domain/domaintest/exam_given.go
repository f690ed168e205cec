package domaintest

import (
	"errors"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// asGiven: what is put in comes out the same.
func (e *exam) asGiven() {
	skill := curriculum.Skill{ID: examID(), Name: "Lob ⛳", Kind: curriculum.Lob, Text: "High & soft.\nStop it.", Ladder: pitchTiers,
		ArchivedAt: examNow.Add(time.Hour), Revision: 1, CreatedAt: examNow, UpdatedAt: examNow.Add(time.Minute)}
	skill.Ladder.TestOnly = true
	skill.Drills = []curriculum.SkillDrill{
		{Kind: curriculum.Random, Text: "High & soft ⛳", Lies: []string{"sand", "light rough"}, Distances: []domain.Length{11 * domain.Yard, 16 * domain.Yard}, Clubs: []string{"58°", "60°"}, Carry: 65},
		{Kind: curriculum.Test, Lies: []string{"fairway"}},
	}
	content := e.content()
	content.Text, content.Limits = "For spring.", []curriculum.Limit{{Kind: curriculum.Test, AtLeast: 15, AtMost: 60}}
	drill := &content.Weeks[0].Plans[0].Blocks[0].Drill
	drill.Lies, drill.Distances, drill.Carry = []string{"tight", "light rough"}, []domain.Length{9 * domain.Metre, 14 * domain.Metre}, 70
	drill.MoreOfMisses, drill.AskContact = true, true
	content.Weeks[0].Plans[0].Blocks[0].Skill, content.Weeks[0].Text = e.Chip, "NUL \x00, quote \", <tag> & \u2028"
	programme := curriculum.Programme{ID: examID(), Draft: content, Published: 3, ArchivedAt: examNow, Revision: 1, CreatedBy: e.Owner, CreatedAt: examNow, UpdatedAt: examNow}
	version := e.version(programme.ID, 3, []curriculum.Skill{skill})
	version.Content = content
	write(e, e.s.Curriculum, func(tx curriculum.Store) error {
		return errors.Join(tx.SaveSkill(e.ctx, skill), tx.SaveProgramme(e.ctx, programme), tx.AddVersion(e.ctx, version))
	})
	e.same("SkillsByID", get(e, e.s.Reading, func(tx academy.ReadStore) (map[domain.ID]curriculum.Skill, error) {
		return tx.SkillsByID(e.ctx, []domain.ID{skill.ID, examID(), skill.ID})
	}), map[domain.ID]curriculum.Skill{skill.ID: skill})
	e.same("Programme", get(e, e.s.Curriculum, func(tx curriculum.Store) (curriculum.Programme, error) { return tx.Programme(e.ctx, programme.ID) }), programme)
	e.same("Version", get(e, e.s.Assignments, func(tx academy.AssignmentStore) (curriculum.Version, error) {
		return tx.Version(e.ctx, programme.ID, 3)
	}), version)
	key := academy.VersionKey{Programme: programme.ID, Number: 3}
	for range 2 { // once from the database, once perhaps from memory
		e.same("VersionsOf", get(e, e.s.Reading, func(tx academy.ReadStore) (map[academy.VersionKey]curriculum.Version, error) {
			pins := []academy.Assignment{{Programme: programme.ID, Version: 3}, {Programme: programme.ID, Version: 3}, {Programme: programme.ID, Version: 9}, {Programme: examID(), Version: 1}}
			return tx.VersionsOf(e.ctx, pins)
		}), map[academy.VersionKey]curriculum.Version{key: version})
	}
	m := get(e, e.s.People, func(tx academy.Store) (academy.Member, error) { return tx.Member(e.ctx, e.Spare) })
	if m.Role != domain.Student || m.Account == "" || m.Email == "" || !m.JoinedAt.Equal(examNow) || m.Revision != 1 {
		e.Errorf("a member who joined is %+v", m)
	}
	m.Role, m.Name, m.TimeZone, m.Units, m.Junior = domain.Coach, "Kim ⛳", "Asia/Tokyo", academy.InMetres, true
	m.ConsentAt, m.ConsentBy, m.RemovedAt, m.Revision = examNow, e.Owner, examNow.Add(time.Millisecond), 2
	given := m
	given.Account, given.Email, given.JoinedAt = "other", "other@fairlight.example", examNow.Add(time.Hour) // which a save leaves alone
	write(e, e.s.People, func(tx academy.Store) error { return tx.SaveMember(e.ctx, given) })
	e.same("Member", get(e, e.s.Comments, func(tx practice.CommentStore) (academy.Member, error) { return tx.Member(e.ctx, e.Spare) }), m)
	write(e, e.s.People, func(tx academy.Store) error {
		return tx.SaveAcademy(e.ctx, academy.Academy{ID: e.Academy, Name: "Renamed", TimeZone: "Asia/Tokyo", Challenge: 85})
	})
	e.same("Academy", get(e, e.s.People, func(tx academy.Store) (academy.Academy, error) { return tx.Academy(e.ctx) }),
		academy.Academy{ID: e.Academy, Name: "Renamed", TimeZone: "Asia/Tokyo", Challenge: 85, CreatedAt: examNow})
}

// absent: what is not there is told as that, or is an empty answer.
func (e *exam) absent() {
	id := examID()
	refuse(e, "member", e.s.People, domain.NotFound, func(tx academy.Store) error { _, err := tx.Member(e.ctx, id); return err })
	refuse(e, "group", e.s.Groups, domain.NotFound, func(tx academy.GroupStore) error { _, err := tx.Group(e.ctx, id); return err })
	refuse(e, "assignment", e.s.Assignments, domain.NotFound, func(tx academy.AssignmentStore) error { _, err := tx.Assignment(e.ctx, id); return err })
	refuse(e, "programme", e.s.Curriculum, domain.NotFound, func(tx curriculum.Store) error { _, err := tx.Programme(e.ctx, id); return err })
	refuse(e, "version", e.s.Curriculum, domain.NotFound, func(tx curriculum.Store) error { _, err := tx.Version(e.ctx, e.Programme, 2); return err })
	refuse(e, "session", e.s.Sessions, domain.NotFound, func(tx practice.ReadStore) error { _, err := tx.Session(e.ctx, id); return err })
	refuse(e, "another academy", e.s.People, domain.NotFound, func(tx academy.Store) error {
		return tx.SaveAcademy(e.ctx, academy.Academy{ID: id, Name: "None", TimeZone: "UTC", Challenge: 70})
	})
	r := get(e, e.s.Reading, func(tx academy.ReadStore) (progress.Record, error) {
		return tx.SkillRecord(e.ctx, e.Spare, e.Chip, 9, 0)
	})
	e.same("a record of nothing", r, progress.Record{Track: progress.Track{Student: e.Spare, Skill: e.Chip}, Whole: true})
	e.same("habits of nobody who practises", get(e, e.s.Reading, func(tx academy.ReadStore) (map[domain.ID]progress.Habit, error) {
		kept, err := tx.Stored(e.ctx, []domain.ID{e.Spare})
		return kept.Habits, err
	}),
		map[domain.ID]progress.Habit{e.Spare: {Student: e.Spare}})
	e.same("states", len(get(e, e.s.Sessions, func(tx practice.ReadStore) ([]progress.State, error) { return tx.States(e.ctx, []domain.ID{e.Spare}) })), 0)
	e.same("no skills", len(get(e, e.s.Curriculum, func(tx curriculum.Store) (map[domain.ID]curriculum.Skill, error) { return tx.SkillsByID(e.ctx, nil) })), 0)
	e.same("tracks of no skills", len(get(e, e.s.Sessions, func(tx practice.ReadStore) (map[domain.ID]progress.Track, error) {
		return tx.Tracks(e.ctx, e.Student, nil)
	})), 0)
	e.same("versions of nothing", len(get(e, e.s.Reading, func(tx academy.ReadStore) (map[academy.VersionKey]curriculum.Version, error) {
		return tx.VersionsOf(e.ctx, nil)
	})), 0)
	e.same("comments", len(get(e, e.s.Sessions, func(tx practice.ReadStore) ([]practice.Comment, error) { return tx.Comments(e.ctx, id) })), 0)
}

// revisions: what is saved with a revision must follow what stands.
func (e *exam) revisions() {
	for what, save := range map[string]func(id domain.ID, revision int) error{
		"skill": func(id domain.ID, r int) error {
			return e.s.Curriculum.Write(e.ctx, e.Academy, func(tx curriculum.Store) error {
				return tx.SaveSkill(e.ctx, curriculum.Skill{ID: id, Name: "Lob", Kind: curriculum.Lob, Revision: r})
			})
		},
		"programme": func(id domain.ID, r int) error {
			return e.s.Curriculum.Write(e.ctx, e.Academy, func(tx curriculum.Store) error {
				return tx.SaveProgramme(e.ctx, curriculum.Programme{ID: id, Revision: r})
			})
		},
		"group": func(id domain.ID, r int) error {
			return e.s.Groups.Write(e.ctx, e.Academy, func(tx academy.GroupStore) error {
				return tx.SaveGroup(e.ctx, academy.Group{ID: id, Name: "Juniors", Revision: r})
			})
		},
		"assignment": func(id domain.ID, r int) error {
			return e.s.Assignments.Write(e.ctx, e.Academy, func(tx academy.AssignmentStore) error {
				return tx.SaveAssignment(e.ctx, academy.Assignment{ID: id, Student: e.Spare, Programme: e.Programme, Version: 1, Start: examDay, Revision: r})
			})
		},
	} {
		id := examID()
		kind := func(how string, err error, want domain.Kind) {
			if err == nil || domain.KindOf(err) != want {
				e.Errorf("%s %s: got error %v, want kind %d", what, how, err, want)
			}
		}
		kind("that is not there", save(id, 2), domain.NotFound)
		if err := errors.Join(save(id, 1), save(id, 2)); err != nil {
			e.Errorf("%s: revisions 1 and 2: %v", what, err)
		}
		for _, revision := range []int{1, 2, 4, 0, -1} {
			kind("again or out of turn", save(id, revision), domain.Stale)
		}
	}
	for what, c := range map[string]struct {
		id       domain.ID
		revision int
		want     domain.Kind
	}{"out of turn": {e.Student, 5, domain.Stale}, "again": {e.Student, 1, domain.Stale}, "that is not there": {examID(), 2, domain.NotFound}} {
		refuse(e, "member "+what, e.s.People, c.want, func(tx academy.Store) error {
			return tx.SaveMember(e.ctx, academy.Member{ID: c.id, Role: domain.Student, Units: academy.InMetres, Revision: c.revision})
		})
	}
	refuse(e, "a version that there is", e.s.Curriculum, domain.Conflict, func(tx curriculum.Store) error { return tx.AddVersion(e.ctx, e.version(e.Programme, 1, nil)) })
}

// references: nothing is kept that points at what is not there.
func (e *exam) references() {
	no := examID()
	refuse(e, "link of nobody", e.s.People, domain.NotFound, func(tx academy.Store) error { return tx.SetLink(e.ctx, e.Coach, no, true) })
	refuse(e, "link to nobody", e.s.People, domain.NotFound, func(tx academy.Store) error { return tx.SetLink(e.ctx, no, e.Student, true) })
	refuse(e, "group of nobody", e.s.Groups, domain.NotFound, func(tx academy.GroupStore) error {
		return tx.SaveGroup(e.ctx, academy.Group{ID: examID(), Name: "G", Students: []domain.ID{no}, Revision: 1})
	})
	refuse(e, "version of no programme", e.s.Curriculum, domain.NotFound, func(tx curriculum.Store) error { return tx.AddVersion(e.ctx, e.version(no, 1, nil)) })
	assignment := func(student, programme domain.ID, version int) func(tx academy.AssignmentStore) error {
		return func(tx academy.AssignmentStore) error {
			return tx.SaveAssignment(e.ctx, academy.Assignment{ID: examID(), Student: student, Programme: programme, Version: version, Start: examDay, Revision: 1})
		}
	}
	refuse(e, "assignment to nobody", e.s.Assignments, domain.NotFound, assignment(no, e.Programme, 1))
	refuse(e, "assignment of nothing", e.s.Assignments, domain.NotFound, assignment(e.Spare, no, 1))
	refuse(e, "assignment of no version", e.s.Assignments, domain.NotFound, assignment(e.Spare, e.Programme, 7))
	refuse(e, "record of nobody", e.s.Assignments, domain.NotFound, func(tx academy.AssignmentStore) error {
		return tx.ReplaceRecord(e.ctx, progress.Recompute(progress.Track{Student: no, Skill: e.Chip}, nil))
	})
	refuse(e, "record of nothing", e.s.Assignments, domain.NotFound, func(tx academy.AssignmentStore) error {
		return tx.ReplaceRecord(e.ctx, progress.Recompute(progress.Track{Student: e.Student, Skill: no}, nil))
	})
	for what, change := range map[string]func(a *academy.Adjustment){
		"adjustment of nobody": func(a *academy.Adjustment) { a.Student = no }, "adjustment of no assignment": func(a *academy.Adjustment) { a.Assignment = no },
	} {
		refuse(e, what, e.s.Adjustments, domain.NotFound, func(tx academy.AdjustmentStore) error {
			a := e.adjustment(examID())
			change(&a)
			return tx.SaveAdjustment(e.ctx, a)
		})
	}
	refuse(e, "acknowledgement of nobody", e.s.Acknowledgements, domain.NotFound, func(tx academy.AcknowledgementStore) error {
		return tx.SaveAcknowledgement(e.ctx, e.silence(no, "", advice.Lapsed))
	})
	refuse(e, "refusal for nobody", e.s.Proposals, domain.NotFound, func(tx academy.ProposalStore) error {
		return tx.SaveRefusal(e.ctx, e.refusal(no, curriculum.ExtraStep))
	})
	refuse(e, "comment on nothing", e.s.Comments, domain.NotFound, func(tx practice.CommentStore) error {
		return tx.AddComment(e.ctx, practice.Comment{ID: examID(), Session: no, Text: "?", At: examNow})
	})
	session := func(change func(s *practice.Session)) func(tx practice.Store) error {
		return func(tx practice.Store) error {
			s := e.Planned(examID(), 1, 2)
			change(&s)
			return tx.Save(e.ctx, bare(s))
		}
	}
	refuse(e, "session of nobody", e.s.Practice, domain.NotFound, session(func(s *practice.Session) { s.Student = no }))
	refuse(e, "session at nothing", e.s.Practice, domain.NotFound, func(tx practice.Store) error {
		s := e.Planned(examID(), 1, 2)
		s.Blocks[0].Skill = no
		c := bare(s)
		c.Skills = []practice.SkillChange{{State: progress.State{Student: s.Student, Skill: no, Totals: progress.Tally{Sessions: 1}}}}
		return tx.Save(e.ctx, c)
	})
	refuse(e, "session of no assignment", e.s.Practice, domain.NotFound, session(func(s *practice.Session) { s.Assignment = no }))
	refuse(e, "session of another's assignment", e.s.Practice, domain.NotFound, session(func(s *practice.Session) { s.Student = e.Spare }))
}

// curriculum: lists leave out what is not asked for.
func (e *exam) curriculum() {
	second := curriculum.Programme{ID: examID(), Draft: e.content(), Revision: 1, CreatedAt: examNow, UpdatedAt: examNow}
	write(e, e.s.Curriculum, func(tx curriculum.Store) error {
		found, err := tx.SkillsByID(e.ctx, []domain.ID{e.Chip})
		chip := found[e.Chip]
		chip.ArchivedAt, chip.Revision = examNow, 2
		p, programmeErr := tx.Programme(e.ctx, e.Programme)
		p.ArchivedAt, p.Published, p.Revision = examNow, 2, 2
		return errors.Join(err, programmeErr, tx.SaveSkill(e.ctx, chip), tx.SaveProgramme(e.ctx, p), tx.SaveProgramme(e.ctx, second), tx.AddVersion(e.ctx, e.version(e.Programme, 2, nil)))
	})
	skills := func(p domain.Page, archived bool) []domain.ID {
		got := get(e, e.s.Curriculum, func(tx curriculum.Store) ([]curriculum.Skill, error) { return tx.Skills(e.ctx, p, archived) })
		return idsOf(got, func(s curriculum.Skill) domain.ID { return s.ID })
	}
	e.same("skills in use", skills(all, false), []domain.ID{e.Pitch})
	e.same("all skills", skills(all, true), []domain.ID{e.Pitch, e.Chip})
	e.same("the first", skills(domain.Page{Limit: 1}, true), []domain.ID{e.Pitch})
	e.same("those after it", skills(domain.Page{Limit: 1, After: e.Pitch}, true), []domain.ID{e.Chip})
	programmes := func(p domain.Page, archived bool) []curriculum.Programme {
		return get(e, e.s.Curriculum, func(tx curriculum.Store) ([]curriculum.Programme, error) { return tx.Programmes(e.ctx, p, archived) })
	}
	short := second
	short.Draft.Weeks = nil
	e.same("programmes in use, without weeks", programmes(all, false), []curriculum.Programme{short})
	e.same("all programmes", idsOf(programmes(all, true), func(p curriculum.Programme) domain.ID { return p.ID }), []domain.ID{e.Programme, second.ID})
	e.same("those after the first", programmes(domain.Page{Limit: 1, After: e.Programme}, true), []curriculum.Programme{short})
	versions := get(e, e.s.Curriculum, func(tx curriculum.Store) ([]curriculum.Version, error) { return tx.Versions(e.ctx, e.Programme) })
	e.same("versions, the latest first, without content", versions, []curriculum.Version{
		{Programme: e.Programme, Number: 2, PublishedAt: examNow, PublishedBy: e.Coach}, {Programme: e.Programme, Number: 1, PublishedAt: examNow, PublishedBy: e.Coach},
	})
}

// reading: a use case that reads cannot write, whatever it calls.
func (e *exam) reading() {
	before := e.look()
	refused := func(what string, err error) {
		if err == nil {
			e.Errorf("%s: written while reading", what)
		}
	}
	refused("event", e.s.People.Read(e.ctx, e.Academy, func(tx academy.Store) error {
		return tx.Record(e.ctx, domain.Event{At: examNow, Kind: "ball.dropped", Subject: e.Student})
	}))
	refused("link", e.s.People.Read(e.ctx, e.Academy, func(tx academy.Store) error { return tx.SetLink(e.ctx, e.Coach, e.Spare, true) }))
	refused("skill", e.s.Curriculum.Read(e.ctx, e.Academy, func(tx curriculum.Store) error {
		return tx.SaveSkill(e.ctx, curriculum.Skill{ID: examID(), Name: "Lob", Kind: curriculum.Lob, Revision: 1})
	}))
	refused("opening", e.s.Practice.Read(e.ctx, e.Academy, func(tx practice.Store) error { _, err := tx.Open(e.ctx, e.openingOf()); return err }))
	refused("session", e.s.Practice.Read(e.ctx, e.Academy, func(tx practice.Store) error { return tx.Save(e.ctx, e.change(e.Planned(examID(), 1, 1))) }))
	refused("group", e.s.Groups.Read(e.ctx, e.Academy, func(tx academy.GroupStore) error { return tx.DeleteGroup(e.ctx, e.Group) }))
	refused("record", e.s.Assignments.Read(e.ctx, e.Academy, func(tx academy.AssignmentStore) error {
		return tx.ReplaceRecord(e.ctx, progress.Recompute(progress.Track{Student: e.Student, Skill: e.Chip}, nil))
	}))
	refused("priors", e.s.Learning.Read(e.ctx, e.Academy, func(tx academy.LearnStore) error { return tx.SavePriors(e.ctx, progress.Priors{}) }))
	refused("insights", e.s.Insights.Read(e.ctx, e.Academy, func(tx academy.InsightStore) error { return tx.SaveInsights(e.ctx, 2, examNow, nil) }))
	refused("told", e.s.Pauses.Read(e.ctx, e.Academy, func(tx practice.PauseStore) error { return tx.MarkTold(e.ctx, e.Growing) }))
	refused("kept", e.s.Rebuilding.Read(e.ctx, e.Academy, func(tx practice.RebuildStore) error {
		return tx.ReplaceKept(e.ctx, e.Student, practice.Kept{Habit: progress.Habit{Student: e.Student}})
	}))
	e.same("what is kept", e.look(), before)
}
