package domaintest

import (
	"context"
	"errors"
	"reflect"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/webhook"
)

// Call is one call of a method of a store with the names of a fixture's
// academy.
type Call struct {
	Store  reflect.Type
	Method string
	// Blind says that the call's own answer does not tell whether there was
	// anything to see or to change.
	Blind bool
	run   callFunc
}

type callFunc func(ctx context.Context, s Stores, in domain.ID, f *Fixture, then func(store any) error) (bool, error)

// String names the method.
func (c Call) String() string { return c.Store.String() + "." + c.Method }

// Run makes the call in a transaction of an academy, and then ends the
// transaction with what then gives for the store. seen says that there was
// something to show or to change.
func (c Call) Run(ctx context.Context, s Stores, in domain.ID, f *Fixture, then func(store any) error) (seen bool, err error) {
	return c.run(ctx, s, in, f, then)
}

func call[S any](of func(Stores) domain.Transactor[S], method string, fn func(ctx context.Context, tx S, f *Fixture) (bool, error)) Call {
	return Call{Store: reflect.TypeFor[S](), Method: method, run: func(ctx context.Context, s Stores, in domain.ID, f *Fixture, then func(store any) error) (seen bool, err error) {
		err = of(s).Write(ctx, in, func(tx S) (err error) {
			if seen, err = fn(ctx, tx, f); err != nil {
				return err
			}
			return then(tx)
		})
		return seen, err
	}}
}

func blind[S any](of func(Stores) domain.Transactor[S], method string, fn func(ctx context.Context, tx S, f *Fixture) error) Call {
	c := call(of, method, func(ctx context.Context, tx S, f *Fixture) (bool, error) { return false, fn(ctx, tx, f) })
	c.Blind = true
	return c
}

// some turns a value and an error into whether there was anything.
func some[T any](v T, err error) (bool, error) {
	r := reflect.ValueOf(v)
	switch r.Kind() {
	case reflect.Slice, reflect.Map:
		return r.Len() > 0, err
	}
	return !r.IsZero(), err
}

// changed is for a method that changes what is there, or refuses.
func changed(err error) (bool, error) { return err == nil, err }

var all = domain.Page{Limit: 100}

// Calls has a call of every method of every store, several where a method can
// be asked in several ways.
func Calls() []Call {
	return slices.Concat(
		peopleCalls(), groupCalls(), assignmentCalls(), adjustmentCalls(), acknowledgementCalls(), proposalCalls(), messageCalls(), reportCalls(), roundCalls(), bagCalls(), quietCalls(), seasonCalls(), lessonCalls(), mediaCalls(), rightsCalls(), guardianCalls(), calendarCalls(), digestCalls(), readCalls(), matchCalls(), cohortCalls(), learnCalls(), insightCalls(),
		eventCalls(func(s Stores) domain.Transactor[academy.EventStore] { return s.Events }), changeCalls(), webhookCalls(), watchCalls(), curriculumCalls(),
		practiceCalls(), sessionCalls(), commentCalls(), pauseCalls(), rebuildCalls(),
	)
}

// The calls of what several stores have in common.

func logCalls[S domain.EventLog](of func(Stores) domain.Transactor[S]) []Call {
	return []Call{blind(of, "Record", func(ctx context.Context, tx S, f *Fixture) error {
		return tx.Record(ctx, domain.Event{At: examNow, Kind: "ball.dropped", Subject: f.Student, Student: f.Student})
	})}
}

func viewingCalls[S academy.Viewing](of func(Stores) domain.Transactor[S]) []Call {
	return []Call{
		call(of, "Member", func(ctx context.Context, tx S, f *Fixture) (bool, error) { return some(tx.Member(ctx, f.Student)) }),
		call(of, "WorksWith", func(ctx context.Context, tx S, f *Fixture) (bool, error) {
			return some(tx.WorksWith(ctx, f.Coach, f.Student))
		}),
		call(of, "WorksWith", func(ctx context.Context, tx S, f *Fixture) (bool, error) {
			return some(tx.WorksWith(ctx, f.Guardian, f.Student))
		}),
	}
}

func listingCalls[S academy.Listing](of func(Stores) domain.Transactor[S]) []Call {
	var calls []Call
	for _, filter := range []func(f *Fixture) academy.MemberFilter{
		func(*Fixture) academy.MemberFilter { return academy.MemberFilter{Removed: true} },
		func(*Fixture) academy.MemberFilter { return academy.MemberFilter{Role: domain.Owner} },
		func(f *Fixture) academy.MemberFilter { return academy.MemberFilter{Group: f.Group} },
		func(f *Fixture) academy.MemberFilter { return academy.MemberFilter{VisibleTo: f.Coach} },
		func(f *Fixture) academy.MemberFilter { return academy.MemberFilter{VisibleTo: f.Guardian} },
	} {
		calls = append(calls, call(of, "Members", func(ctx context.Context, tx S, f *Fixture) (bool, error) {
			return some(tx.Members(ctx, filter(f), all))
		}))
	}
	return calls
}

func skillCalls[S interface {
	SkillsByID(context.Context, []domain.ID) (map[domain.ID]curriculum.Skill, error)
}](of func(Stores) domain.Transactor[S]) []Call {
	return []Call{call(of, "SkillsByID", func(ctx context.Context, tx S, f *Fixture) (bool, error) {
		return some(tx.SkillsByID(ctx, []domain.ID{f.Pitch}))
	})}
}

func groupOf[S interface {
	Group(context.Context, domain.ID) (academy.Group, error)
}](of func(Stores) domain.Transactor[S]) []Call {
	return []Call{call(of, "Group", func(ctx context.Context, tx S, f *Fixture) (bool, error) { return some(tx.Group(ctx, f.Group)) })}
}

func versionCalls[S interface {
	Version(context.Context, domain.ID, int) (curriculum.Version, error)
}](of func(Stores) domain.Transactor[S]) []Call {
	return []Call{call(of, "Version", func(ctx context.Context, tx S, f *Fixture) (bool, error) {
		return some(tx.Version(ctx, f.Programme, 1))
	})}
}

func trackCalls[S interface {
	Tracks(context.Context, domain.ID, []domain.ID) (map[domain.ID]progress.Track, error)
}](of func(Stores) domain.Transactor[S]) []Call {
	return []Call{call(of, "Tracks", func(ctx context.Context, tx S, f *Fixture) (bool, error) {
		return some(tx.Tracks(ctx, f.Student, []domain.ID{f.Pitch}))
	})}
}

func stateCalls[S interface {
	States(context.Context, []domain.ID) ([]progress.State, error)
}](of func(Stores) domain.Transactor[S]) []Call {
	return []Call{call(of, "States", func(ctx context.Context, tx S, f *Fixture) (bool, error) {
		return some(tx.States(ctx, []domain.ID{f.Student}))
	})}
}

func priorCalls[S interface {
	Priors(context.Context) (progress.Priors, error)
}](of func(Stores) domain.Transactor[S]) []Call {
	return []Call{call(of, "Priors", func(ctx context.Context, tx S, f *Fixture) (bool, error) {
		p, err := tx.Priors(ctx)
		return len(p.Rates) > 0, err
	})}
}

func oneSession[S interface {
	Session(context.Context, domain.ID) (practice.Session, error)
}](of func(Stores) domain.Transactor[S]) []Call {
	return []Call{call(of, "Session", func(ctx context.Context, tx S, f *Fixture) (bool, error) { return some(tx.Session(ctx, f.Session)) })}
}

func eventCalls[S academy.EventStore](of func(Stores) domain.Transactor[S]) []Call {
	return []Call{
		call(of, "Events", func(ctx context.Context, tx S, f *Fixture) (bool, error) { return some(tx.Events(ctx, 0, 1000)) }),
		call(of, "EventsBefore", func(ctx context.Context, tx S, f *Fixture) (bool, error) { return some(tx.EventsBefore(ctx, 0, 1000)) }),
		call(of, "LastEvent", func(ctx context.Context, tx S, f *Fixture) (bool, error) { return some(tx.LastEvent(ctx)) }),
	}
}

// The calls of each store.

func peopleCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.Store] { return s.People }
	return slices.Concat(logCalls(of), viewingCalls(of), listingCalls(of), []Call{
		call(of, "Academy", func(ctx context.Context, tx academy.Store, f *Fixture) (bool, error) {
			got, err := tx.Academy(ctx)
			return got.ID == f.Academy, err
		}),
		call(of, "SaveAcademy", func(ctx context.Context, tx academy.Store, f *Fixture) (bool, error) {
			return changed(tx.SaveAcademy(ctx, academy.Academy{ID: f.Academy, Name: "Taken over", TimeZone: "UTC", Challenge: 60}))
		}),
		call(of, "SaveMember", func(ctx context.Context, tx academy.Store, f *Fixture) (bool, error) {
			return changed(tx.SaveMember(ctx, academy.Member{ID: f.Student, Role: domain.Owner, Name: "Taken", Units: academy.InMetres, Revision: 2}))
		}),
		call(of, "CoachesOf", func(ctx context.Context, tx academy.Store, f *Fixture) (bool, error) {
			return some(tx.CoachesOf(ctx, f.Student))
		}),
		blind(of, "AskOfGuardians", func(ctx context.Context, tx academy.Store, f *Fixture) error {
			return tx.AskOfGuardians(ctx, f.Student, examNow)
		}),
		call(of, "SetLink", func(ctx context.Context, tx academy.Store, f *Fixture) (bool, error) {
			return changed(tx.SetLink(ctx, f.Coach, f.Spare, true))
		}),
		blind(of, "SetLink", func(ctx context.Context, tx academy.Store, f *Fixture) error {
			return tx.SetLink(ctx, f.Coach, f.Student, false)
		}),
	})
}

func groupCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.GroupStore] { return s.Groups }
	return slices.Concat(logCalls(of), listingCalls(of), groupOf(of), []Call{
		call(of, "Groups", func(ctx context.Context, tx academy.GroupStore, f *Fixture) (bool, error) {
			return some(tx.Groups(ctx, all))
		}),
		call(of, "SaveGroup", func(ctx context.Context, tx academy.GroupStore, f *Fixture) (bool, error) {
			return changed(tx.SaveGroup(ctx, academy.Group{ID: f.Group, Name: "Taken", Revision: 2}))
		}),
		call(of, "SaveGroup", func(ctx context.Context, tx academy.GroupStore, f *Fixture) (bool, error) {
			return changed(tx.SaveGroup(ctx, academy.Group{ID: examID(), Name: "New", Students: []domain.ID{f.Student}, Revision: 1}))
		}),
		call(of, "DeleteGroup", func(ctx context.Context, tx academy.GroupStore, f *Fixture) (bool, error) {
			return changed(tx.DeleteGroup(ctx, f.Group))
		}),
	})
}

func assignmentCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.AssignmentStore] { return s.Assignments }
	return slices.Concat(logCalls(of), viewingCalls(of), listingCalls(of), groupOf(of), versionCalls(of), keeperCalls(of), adjustingCalls(of), []Call{
		call(of, "Assignment", func(ctx context.Context, tx academy.AssignmentStore, f *Fixture) (bool, error) {
			return some(tx.Assignment(ctx, f.Assignment))
		}),
		call(of, "Assignments", func(ctx context.Context, tx academy.AssignmentStore, f *Fixture) (bool, error) {
			return some(tx.Assignments(ctx, academy.AssignmentFilter{}, all))
		}),
		call(of, "Assignments", func(ctx context.Context, tx academy.AssignmentStore, f *Fixture) (bool, error) {
			return some(tx.Assignments(ctx, academy.AssignmentFilter{Student: f.Student, Programme: f.Programme, VisibleTo: f.Coach, Current: true}, all))
		}),
		call(of, "SaveAssignment", func(ctx context.Context, tx academy.AssignmentStore, f *Fixture) (bool, error) {
			return changed(tx.SaveAssignment(ctx, academy.Assignment{ID: f.Assignment, Student: f.Student, Programme: f.Programme, Version: 1, Start: examDay, Revision: 2}))
		}),
		call(of, "SaveAssignment", func(ctx context.Context, tx academy.AssignmentStore, f *Fixture) (bool, error) {
			return changed(tx.SaveAssignment(ctx, academy.Assignment{ID: examID(), Student: f.Spare, Programme: f.Programme, Version: 1, Start: examDay, Revision: 1}))
		}),
	})
}

// keeperCalls are those of the keeping of progress.
func keeperCalls[S progress.Keeper](of func(Stores) domain.Transactor[S]) []Call {
	return slices.Concat(trackCalls(of), []Call{
		call(of, "History", func(ctx context.Context, tx S, f *Fixture) (bool, error) {
			return some(tx.History(ctx, f.Student, f.Pitch))
		}),
		call(of, "ReplaceRecord", func(ctx context.Context, tx S, f *Fixture) (bool, error) {
			return changed(tx.ReplaceRecord(ctx, progress.Recompute(progress.Track{Student: f.Student, Skill: f.Pitch}, nil)))
		}),
	})
}

func adjustingCalls[S academy.Adjusting](of func(Stores) domain.Transactor[S]) []Call {
	return []Call{
		call(of, "Adjustments", func(ctx context.Context, tx S, f *Fixture) (bool, error) {
			return some(tx.Adjustments(ctx, f.Student, false))
		}),
		call(of, "Adjustments", func(ctx context.Context, tx S, f *Fixture) (bool, error) {
			return some(tx.Adjustments(ctx, f.Student, true))
		}),
		call(of, "SaveAdjustment", func(ctx context.Context, tx S, f *Fixture) (bool, error) {
			return changed(tx.SaveAdjustment(ctx, f.adjustment(examID())))
		}),
	}
}

func adjustmentCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.AdjustmentStore] { return s.Adjustments }
	return slices.Concat(logCalls(of), viewingCalls(of), versionCalls(of), keeperCalls(of), adjustingCalls(of), []Call{
		call(of, "Adjustment", func(ctx context.Context, tx academy.AdjustmentStore, f *Fixture) (bool, error) {
			return some(tx.Adjustment(ctx, f.Adjustment))
		}),
		call(of, "Assignments", func(ctx context.Context, tx academy.AdjustmentStore, f *Fixture) (bool, error) {
			return some(tx.Assignments(ctx, academy.AssignmentFilter{Student: f.Student, Current: true}, all))
		}),
	})
}

func acknowledgementCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.AcknowledgementStore] { return s.Acknowledgements }
	return slices.Concat(logCalls(of), viewingCalls(of), skillCalls(of), []Call{
		call(of, "SaveAcknowledgement", func(ctx context.Context, tx academy.AcknowledgementStore, f *Fixture) (bool, error) {
			return changed(tx.SaveAcknowledgement(ctx, f.silence(f.Student, f.Pitch, advice.Slipping)))
		}),
		blind(of, "DropAcknowledgement", func(ctx context.Context, tx academy.AcknowledgementStore, f *Fixture) error {
			return tx.DropAcknowledgement(ctx, f.Student, f.Pitch, advice.Flat)
		}),
	})
}

func proposalCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.ProposalStore] { return s.Proposals }
	return slices.Concat(logCalls(of), viewingCalls(of), listingCalls(of), skillCalls(of), gatheringCalls(of), []Call{
		call(of, "Academy", func(ctx context.Context, tx academy.ProposalStore, f *Fixture) (bool, error) {
			got, err := tx.Academy(ctx)
			return got.ID == f.Academy, err
		}),
		call(of, "Fades", func(ctx context.Context, tx academy.ProposalStore, f *Fixture) (bool, error) {
			return some(tx.Fades(ctx, []domain.ID{f.Pitch}))
		}),
		call(of, "Refusals", func(ctx context.Context, tx academy.ProposalStore, f *Fixture) (bool, error) {
			return some(tx.Refusals(ctx, []domain.ID{f.Student}))
		}),
		call(of, "SaveRefusal", func(ctx context.Context, tx academy.ProposalStore, f *Fixture) (bool, error) {
			return changed(tx.SaveRefusal(ctx, f.refusal(f.Student, curriculum.OtherRadius)))
		}),
		blind(of, "DropRefusal", func(ctx context.Context, tx academy.ProposalStore, f *Fixture) error {
			return tx.DropRefusal(ctx, f.refusal(f.Student, curriculum.ExtraStep).RefusalKey)
		}),
	})
}

// gatheringCalls are those of what rows of students are made of.
func gatheringCalls[S academy.Gathering](of func(Stores) domain.Transactor[S]) []Call {
	return []Call{
		call(of, "Stored", func(ctx context.Context, tx S, f *Fixture) (bool, error) {
			k, err := tx.Stored(ctx, []domain.ID{f.Student})
			return len(k.Assignments)+len(k.States)+len(k.Priors.Rates)+k.Habits[f.Student].Sessions+len(k.Acknowledgements) > 0, err
		}),
		call(of, "VersionsOf", func(ctx context.Context, tx S, f *Fixture) (bool, error) {
			return some(tx.VersionsOf(ctx, []academy.Assignment{{Programme: f.Programme, Version: 1}}))
		}),
	}
}

func readCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.ReadStore] { return s.Reading }
	return slices.Concat(viewingCalls(of), listingCalls(of), skillCalls(of), gatheringCalls(of), baggingCalls(of), quietingCalls(of), []Call{
		call(of, "SkillRecord", func(ctx context.Context, tx academy.ReadStore, f *Fixture) (bool, error) {
			r, err := tx.SkillRecord(ctx, f.Student, f.Pitch, 1, 0)
			return len(r.Periods)+len(r.Track.Judged) > 0, err
		}),
		call(of, "DoneInWeek", func(ctx context.Context, tx academy.ReadStore, f *Fixture) (bool, error) {
			done, err := tx.DoneInWeek(ctx, academy.Assignment{ID: f.Assignment}, 1)
			return len(done.Sessions)+len(done.Dealt) > 0, err
		}),
		call(of, "PlayedOut", func(ctx context.Context, tx academy.ReadStore, f *Fixture) (bool, error) {
			return some(tx.PlayedOut(ctx, f.Student, 9))
		}),
		call(of, "PeriodsOf", func(ctx context.Context, tx academy.ReadStore, f *Fixture) (bool, error) {
			return some(tx.PeriodsOf(ctx, f.Student, 0))
		}),
		call(of, "TaskCounts", func(ctx context.Context, tx academy.ReadStore, f *Fixture) (bool, error) {
			return some(tx.TaskCounts(ctx, f.Student, examNow.AddDate(0, 0, 9), 9))
		}),
		call(of, "UnreadThreads", func(ctx context.Context, tx academy.ReadStore, f *Fixture) (bool, error) {
			return some(tx.UnreadThreads(ctx, f.Coach))
		}),
		call(of, "Uncoached", func(ctx context.Context, tx academy.ReadStore, f *Fixture) (bool, error) {
			return some(tx.Uncoached(ctx))
		}),
	})
}

func cohortCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.CohortStore] { return s.Cohorts }
	return slices.Concat(listingCalls(of), []Call{
		call(of, "Programme", func(ctx context.Context, tx academy.CohortStore, f *Fixture) (bool, error) {
			return some(tx.Programme(ctx, f.Programme))
		}),
		call(of, "Groups", func(ctx context.Context, tx academy.CohortStore, f *Fixture) (bool, error) {
			return some(tx.Groups(ctx, all))
		}),
		call(of, "Assignments", func(ctx context.Context, tx academy.CohortStore, f *Fixture) (bool, error) {
			return some(tx.Assignments(ctx, academy.AssignmentFilter{Programme: f.Programme}, all))
		}),
		call(of, "VersionsOf", func(ctx context.Context, tx academy.CohortStore, f *Fixture) (bool, error) {
			return some(tx.VersionsOf(ctx, []academy.Assignment{{Programme: f.Programme, Version: 1}}))
		}),
		call(of, "Stored", func(ctx context.Context, tx academy.CohortStore, f *Fixture) (bool, error) {
			k, err := tx.Stored(ctx, []domain.ID{f.Student})
			return len(k.States) > 0, err
		}),
		call(of, "SessionStarts", func(ctx context.Context, tx academy.CohortStore, f *Fixture) (bool, error) {
			return some(tx.SessionStarts(ctx, []domain.ID{f.Student}, examNow.AddDate(-1, 0, 0)))
		}),
	})
}

func learnCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.LearnStore] { return s.Learning }
	return slices.Concat(priorCalls(of), []Call{
		call(of, "StageCounts", func(ctx context.Context, tx academy.LearnStore, f *Fixture) (bool, error) {
			return some(tx.StageCounts(ctx))
		}),
		blind(of, "SavePriors", func(ctx context.Context, tx academy.LearnStore, f *Fixture) error {
			return tx.SavePriors(ctx, priorsOf(f.Chip, 0, 1, 2))
		}),
	})
}

func insightCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.InsightStore] { return s.Insights }
	return slices.Concat(listingCalls(of), skillCalls(of), []Call{
		call(of, "PracticeChanges", func(ctx context.Context, tx academy.InsightStore, f *Fixture) (bool, error) {
			now, learned, err := tx.PracticeChanges(ctx)
			return now+learned > 0, err
		}),
		call(of, "PeriodsSince", func(ctx context.Context, tx academy.InsightStore, f *Fixture) (found bool, err error) {
			err = tx.PeriodsSince(ctx, 0, func(progress.Period) { found = true })
			return found, err
		}),
		call(of, "Insight", func(ctx context.Context, tx academy.InsightStore, f *Fixture) (bool, error) {
			_, at, err := tx.Insight(ctx, f.Pitch)
			return !at.IsZero(), err
		}),
		call(of, "SaveInsights", func(ctx context.Context, tx academy.InsightStore, f *Fixture) (bool, error) {
			return changed(tx.SaveInsights(ctx, 2, examNow, []progress.Insight{f.insight(f.Pitch), f.insight(f.Chip)}))
		}),
	})
}

func changeCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.ChangeStore] { return s.Changes }
	retaining := func(s Stores) domain.Transactor[academy.RetentionStore] { return s.Retention }
	return slices.Concat(listingCalls(of), eventCalls(of), []Call{
		call(retaining, "DropEvents", func(ctx context.Context, tx academy.RetentionStore, f *Fixture) (bool, error) {
			return some(tx.DropEvents(ctx, examNow.AddDate(10, 0, 0), 1))
		}),
	})
}

func curriculumCalls() []Call {
	of := func(s Stores) domain.Transactor[curriculum.Store] { return s.Curriculum }
	return slices.Concat(logCalls(of), skillCalls(of), versionCalls(of), []Call{
		call(of, "Skills", func(ctx context.Context, tx curriculum.Store, f *Fixture) (bool, error) {
			return some(tx.Skills(ctx, all, true))
		}),
		call(of, "SaveSkill", func(ctx context.Context, tx curriculum.Store, f *Fixture) (bool, error) {
			return changed(tx.SaveSkill(ctx, curriculum.Skill{ID: f.Pitch, Name: "Taken", Kind: curriculum.Lob, Revision: 2}))
		}),
		call(of, "Programmes", func(ctx context.Context, tx curriculum.Store, f *Fixture) (bool, error) {
			return some(tx.Programmes(ctx, all, true))
		}),
		call(of, "Programme", func(ctx context.Context, tx curriculum.Store, f *Fixture) (bool, error) {
			return some(tx.Programme(ctx, f.Programme))
		}),
		call(of, "SaveProgramme", func(ctx context.Context, tx curriculum.Store, f *Fixture) (bool, error) {
			return changed(tx.SaveProgramme(ctx, curriculum.Programme{ID: f.Programme, Revision: 2}))
		}),
		call(of, "Versions", func(ctx context.Context, tx curriculum.Store, f *Fixture) (bool, error) {
			return some(tx.Versions(ctx, f.Programme))
		}),
		call(of, "AddVersion", func(ctx context.Context, tx curriculum.Store, f *Fixture) (bool, error) {
			return changed(tx.AddVersion(ctx, f.version(f.Programme, 2, nil)))
		}),
	})
}

func practiceCalls() []Call {
	of := func(s Stores) domain.Transactor[practice.Store] { return s.Practice }
	open := func(ask func(f *Fixture) practice.Opening) Call {
		return call(of, "Open", func(ctx context.Context, tx practice.Store, f *Fixture) (bool, error) {
			o, err := tx.Open(ctx, ask(f))
			return o.Known || o.Linked || o.Student.ID != "" || len(o.Records)+len(o.Overlapping)+o.Habit.Sessions > 0 || o.Assignment.ID != "" || o.Version.Number > 0, err
		})
	}
	save := func(session func(f *Fixture) practice.Session) Call {
		return call(of, "Save", func(ctx context.Context, tx practice.Store, f *Fixture) (bool, error) {
			return changed(tx.Save(ctx, f.change(session(f))))
		})
	}
	return slices.Concat(logCalls(of), viewingCalls(of), []Call{
		open((*Fixture).openingOf),
		open(func(f *Fixture) practice.Opening { return practice.Opening{Session: f.Session} }),
		save(func(f *Fixture) practice.Session { return f.Planned(examID(), 1, 3) }),
		save(func(f *Fixture) practice.Session { return f.Planned(f.Session, 2, 3) }),
		call(of, "Periods", func(ctx context.Context, tx practice.Store, f *Fixture) (bool, error) {
			return some(tx.Periods(ctx, f.Student, f.Pitch))
		}),
		call(of, "RecentTimes", func(ctx context.Context, tx practice.Store, f *Fixture) (bool, error) {
			return some(tx.RecentTimes(ctx, f.Student, examID(), 10))
		}),
	})
}

func sessionCalls() []Call {
	of := func(s Stores) domain.Transactor[practice.ReadStore] { return s.Sessions }
	return slices.Concat(viewingCalls(of), listingCalls(of), oneSession(of), trackCalls(of), stateCalls(of), []Call{
		call(of, "Sessions", func(ctx context.Context, tx practice.ReadStore, f *Fixture) (bool, error) {
			return some(tx.Sessions(ctx, practice.SessionFilter{Student: f.Student, Limit: 100}))
		}),
		call(of, "Overlapping", func(ctx context.Context, tx practice.ReadStore, f *Fixture) (bool, error) {
			return some(tx.Overlapping(ctx, practice.Session{ID: examID(), Student: f.Student, StartedAt: examStart, EndedAt: examStart.Add(time.Hour)}))
		}),
		call(of, "Comments", func(ctx context.Context, tx practice.ReadStore, f *Fixture) (bool, error) {
			return some(tx.Comments(ctx, f.Session))
		}),
	})
}

func commentCalls() []Call {
	of := func(s Stores) domain.Transactor[practice.CommentStore] { return s.Comments }
	return slices.Concat(logCalls(of), viewingCalls(of), oneSession(of), []Call{
		call(of, "AddComment", func(ctx context.Context, tx practice.CommentStore, f *Fixture) (bool, error) {
			return changed(tx.AddComment(ctx, practice.Comment{ID: examID(), Session: f.Session, Text: "Spam", At: examNow}))
		}),
		call(of, "Comments", func(ctx context.Context, tx practice.CommentStore, f *Fixture) (bool, error) {
			return some(tx.Comments(ctx, f.Session))
		}),
		call(of, "SaveComment", func(ctx context.Context, tx practice.CommentStore, f *Fixture) (bool, error) {
			return changed(tx.SaveComment(ctx, practice.Comment{ID: f.Comment, Session: f.Session, Text: "Spam"}))
		}),
		call(of, "RemoveComment", func(ctx context.Context, tx practice.CommentStore, f *Fixture) (bool, error) {
			return changed(tx.RemoveComment(ctx, practice.Comment{ID: f.Comment, Session: f.Session}))
		}),
	})
}

func pauseCalls() []Call {
	of := func(s Stores) domain.Transactor[practice.PauseStore] { return s.Pauses }
	return slices.Concat(logCalls(of), oneSession(of), []Call{
		call(of, "Untold", func(ctx context.Context, tx practice.PauseStore, f *Fixture) (bool, error) {
			return some(tx.Untold(ctx, f.Growing))
		}),
		blind(of, "MarkTold", func(ctx context.Context, tx practice.PauseStore, f *Fixture) error {
			return tx.MarkTold(ctx, f.Growing)
		}),
	})
}

func rebuildCalls() []Call {
	of := func(s Stores) domain.Transactor[practice.RebuildStore] { return s.Rebuilding }
	return slices.Concat(logCalls(of), []Call{
		call(of, "StudentIDs", func(ctx context.Context, tx practice.RebuildStore, f *Fixture) (bool, error) {
			return some(tx.StudentIDs(ctx))
		}),
		call(of, "Log", func(ctx context.Context, tx practice.RebuildStore, f *Fixture) (bool, error) {
			return some(tx.Log(ctx, f.Student))
		}),
		call(of, "AllTracks", func(ctx context.Context, tx practice.RebuildStore, f *Fixture) (bool, error) {
			return some(tx.AllTracks(ctx, f.Student))
		}),
		call(of, "Kept", func(ctx context.Context, tx practice.RebuildStore, f *Fixture) (bool, error) {
			k, err := tx.Kept(ctx, f.Student)
			return len(k.States)+len(k.Periods)+len(k.Counts)+k.Habit.Sessions > 0, err
		}),
		call(of, "ReplaceKept", func(ctx context.Context, tx practice.RebuildStore, f *Fixture) (bool, error) {
			return changed(tx.ReplaceKept(ctx, f.Student, practice.Kept{Habit: progress.Habit{Student: f.Student}}))
		}),
	})
}

// ErrUndo takes a transaction back.
var ErrUndo = errors.New("domaintest: take it back")

// anotherAcademy: each method shows its own academy something, and another
// academy nothing of it.
func (e *exam) anotherAcademy() {
	covered := map[string]bool{}
	before := e.look()
	for _, c := range Calls() {
		covered[c.String()] = true
		undo := func(any) error { return ErrUndo }
		seen, err := c.Run(e.ctx, e.s, e.Academy, e.Fixture, undo)
		if !errors.Is(err, ErrUndo) {
			e.Errorf("%s: the academy itself: %v", c, err)
		}
		if !seen && !c.Blind {
			e.Errorf("%s: the academy itself: nothing seen or changed", c)
		}
		seen, err = c.Run(e.ctx, e.s, e.NewAcademy(e), e.Fixture, func(any) error { return nil })
		if kind := domain.KindOf(err); err != nil && kind != domain.NotFound && kind != domain.Stale {
			e.Errorf("%s: as another academy: got error %v, want none, not found or stale", c, err)
		}
		if seen && err == nil {
			e.Errorf("%s: as another academy: something seen or changed", c)
		}
		e.same(c.String()+" as another academy: what is kept", e.look(), before)
	}
	for _, store := range storeTypes() {
		for method := range store.Methods() {
			if name := store.String() + "." + method.Name; !covered[name] {
				e.Errorf("%s has no line in Calls: show that another academy sees nothing through it", name)
			}
		}
	}
}

// look gives all that the stores show of the academy.
func (e *exam) look() []any {
	students := []domain.ID{e.Student, e.Spare}
	type dump = []any
	join := func(parts ...dump) (whole dump) {
		for _, p := range parts {
			whole = append(whole, p...)
		}
		return whole
	}
	gather := func(into *dump) func(v any, err error) error {
		return func(v any, err error) error {
			*into = append(*into, v)
			return err
		}
	}
	return join(
		get(e, e.s.People, func(tx academy.Store) (d dump, err error) {
			add := gather(&d)
			err = errors.Join(add(first(tx.Academy(e.ctx))), add(first(tx.Members(e.ctx, academy.MemberFilter{Removed: true}, all))), add(first(tx.CoachesOf(e.ctx, e.Student))))
			return d, err
		}),
		get(e, e.s.Groups, func(tx academy.GroupStore) (dump, error) { return one(first(tx.Groups(e.ctx, all))) }),
		get(e, e.s.Assignments, func(tx academy.AssignmentStore) (dump, error) {
			return one(first(tx.Assignments(e.ctx, academy.AssignmentFilter{}, all)))
		}),
		get(e, e.s.Reading, func(tx academy.ReadStore) (d dump, err error) {
			add := gather(&d)
			err = errors.Join(add(first(tx.Stored(e.ctx, students))), add(first(tx.DoneInWeek(e.ctx, academy.Assignment{ID: e.Assignment}, 1))), add(first(tx.Uncoached(e.ctx))))
			return d, err
		}),
		get(e, e.s.Events, func(tx academy.EventStore) (dump, error) { return one(first(tx.Events(e.ctx, 0, 1000))) }),
		get(e, e.s.Curriculum, func(tx curriculum.Store) (d dump, err error) {
			add := gather(&d)
			err = errors.Join(add(first(tx.Skills(e.ctx, all, true))), add(first(tx.Programmes(e.ctx, all, true))), add(first(tx.Versions(e.ctx, e.Programme))))
			return d, err
		}),
		get(e, e.s.Messages, func(tx academy.MessageStore) (d dump, err error) {
			add := gather(&d)
			err = errors.Join(add(first(tx.Messages(e.ctx, e.Student, all))), add(first(tx.ReadTo(e.ctx, e.Coach, e.Student))))
			return d, err
		}),
		get(e, e.s.Reports, func(tx academy.ReportStore) (dump, error) { return one(first(tx.ReportLinks(e.ctx, e.Student))) }),
		get(e, e.s.Webhooks, func(tx webhook.Store) (d dump, err error) {
			add := gather(&d)
			err = errors.Join(add(first(tx.Endpoints(e.ctx))), add(first(tx.Deliveries(e.ctx, e.Webhook, all))))
			return d, err
		}),
		get(e, e.s.Watching, func(tx academy.WatchStore) (dump, error) { return one(first(tx.ToldReasons(e.ctx))) }),
		get(e, e.s.Bags, func(tx academy.BagStore) (dump, error) { return one(first(tx.Bag(e.ctx, e.Student))) }),
		get(e, e.s.Quiet, func(tx academy.QuietStore) (dump, error) { return one(first(tx.QuietWords(e.ctx, e.Student))) }),
		get(e, e.s.Seasons, func(tx academy.SeasonStore) (dump, error) { return one(first(tx.Season(e.ctx, e.Student))) }),
		get(e, e.s.Sessions, func(tx practice.ReadStore) (dump, error) { return one(first(tx.Comments(e.ctx, e.Session))) }),
		get(e, e.s.Pauses, func(tx practice.PauseStore) (dump, error) { return one(first(tx.Untold(e.ctx, e.Growing))) }),
		get(e, e.s.Rebuilding, func(tx practice.RebuildStore) (d dump, err error) {
			add := gather(&d)
			tracks, trackErr := tx.AllTracks(e.ctx, e.Student)
			slices.SortFunc(tracks, func(a, b progress.Track) int { return compareIDs(a.Skill, b.Skill) })
			log, logErr := tx.Log(e.ctx, e.Student)
			slices.SortFunc(log, func(a, b practice.Session) int { return compareIDs(a.ID, b.ID) })
			err = errors.Join(add(first(tx.StudentIDs(e.ctx))), add(first(tx.Kept(e.ctx, e.Student))), add(tracks, trackErr), add(log, logErr))
			return d, err
		}),
	)
}

// one is a dump of one value.
func one(v any, err error) ([]any, error) { return []any{v}, err }

// first lets a value of any type go where any is wanted.
func first[T any](v T, err error) (any, error) { return v, err }
