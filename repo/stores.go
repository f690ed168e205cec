package repo

import (
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
)

// The stores of the domain: one type for each, made of the parts that several
// of them have in common.
type (
	peopleStore struct {
		*scope
		viewing
		listing
		academies
	}
	groupStore struct {
		*scope
		listing
		groups
	}
	assignmentStore struct {
		*scope
		keeping
		viewing
		listing
		groups
		versions
		adjustments
		assigned
	}
	adjustmentStore struct {
		*scope
		keeping
		viewing
		versions
		adjustments
		assigned
	}
	acknowledgementStore struct {
		*scope
		viewing
		skills
	}
	messageStore struct {
		*scope
		viewing
		listing
		groups
		threads
	}
	roundStore struct {
		*scope
		viewing
	}
	bagStore struct {
		*scope
		viewing
		bags
	}
	seasonStore struct {
		*scope
		viewing
	}
	lessonStore struct {
		*scope
		viewing
		lessons
	}
	mediaStore struct {
		*scope
		viewing
		lessons
	}
	reportStore struct {
		*scope
		viewing
		academies
	}
	readStore struct {
		*scope
		viewing
		listing
		skills
		rowParts
		threads
		bags
		quieting
	}
	proposalStore struct {
		*scope
		viewing
		listing
		skills
		rowParts
		academies
	}
	cohortStore struct {
		*scope
		readStore
		groups
		programmes
		assigned
	}
	freshStore  struct{ *scope }
	learnStore  struct{ *scope }
	changeStore struct {
		*scope
		listing
		events
	}
	retentionStore  struct{ *scope }
	curriculumStore struct {
		*scope
		skills
		versions
		programmes
	}
	practiceStore struct {
		*scope
		viewing
	}
	sessionStore struct {
		*scope
		viewing
		listing
		sessions
		states
		tracks
		comments
	}
	commentStore struct {
		*scope
		viewing
		sessions
		comments
	}
	pauseStore struct {
		*scope
		sessions
	}
	rebuildStore struct {
		*scope
		sessions
		states
	}
)

// People opens the store of academy.Service's people.
func (db *DB) People() domain.Transactor[academy.Store] {
	return transactor[academy.Store]{db, func(s *scope) academy.Store { return peopleStore{s, viewing{s}, listing{s}, academies{s}} }}
}

// Groups opens the store of academy.Service's groups.
func (db *DB) Groups() domain.Transactor[academy.GroupStore] {
	return transactor[academy.GroupStore]{db, func(s *scope) academy.GroupStore { return groupStore{s, listing{s}, groups{s}} }}
}

// Assignments opens the store of academy.Service's assignments.
func (db *DB) Assignments() domain.Transactor[academy.AssignmentStore] {
	return transactor[academy.AssignmentStore]{db, func(s *scope) academy.AssignmentStore {
		return assignmentStore{s, keeping{s, tracks{s}}, viewing{s}, listing{s}, groups{s}, versions{s}, adjustments{s}, assigned{s}}
	}}
}

// Adjustments opens the store of academy.AdjustService.
func (db *DB) Adjustments() domain.Transactor[academy.AdjustmentStore] {
	return transactor[academy.AdjustmentStore]{db, func(s *scope) academy.AdjustmentStore {
		return adjustmentStore{s, keeping{s, tracks{s}}, viewing{s}, versions{s}, adjustments{s}, assigned{s}}
	}}
}

// Acknowledgements opens the store of academy.AcknowledgeService.
func (db *DB) Acknowledgements() domain.Transactor[academy.AcknowledgementStore] {
	return transactor[academy.AcknowledgementStore]{db, func(s *scope) academy.AcknowledgementStore {
		return acknowledgementStore{s, viewing{s}, skills{s}}
	}}
}

// Messages opens the store of academy.MessageService.
func (db *DB) Messages() domain.Transactor[academy.MessageStore] {
	return transactor[academy.MessageStore]{db, func(s *scope) academy.MessageStore {
		return messageStore{s, viewing{s}, listing{s}, groups{s}, threads{s}}
	}}
}

// Rounds opens the store of academy.RoundService.
func (db *DB) Rounds() domain.Transactor[academy.RoundStore] {
	return transactor[academy.RoundStore]{db, func(s *scope) academy.RoundStore { return roundStore{s, viewing{s}} }}
}

// Bags opens the store of academy.BagService.
func (db *DB) Bags() domain.Transactor[academy.BagStore] {
	return transactor[academy.BagStore]{db, func(s *scope) academy.BagStore { return bagStore{s, viewing{s}, bags{s}} }}
}

// Seasons opens the store of academy.SeasonService.
func (db *DB) Seasons() domain.Transactor[academy.SeasonStore] {
	return transactor[academy.SeasonStore]{db, func(s *scope) academy.SeasonStore { return seasonStore{s, viewing{s}} }}
}

// Lessons opens the store of academy.LessonService.
func (db *DB) Lessons() domain.Transactor[academy.LessonStore] {
	return transactor[academy.LessonStore]{db, func(s *scope) academy.LessonStore { return lessonStore{s, viewing{s}, lessons{s}} }}
}

// LessonMedia opens the store of academy.MediaService.
func (db *DB) LessonMedia() domain.Transactor[academy.MediaStore] {
	return transactor[academy.MediaStore]{db, func(s *scope) academy.MediaStore { return mediaStore{s, viewing{s}, lessons{s}} }}
}

// Reports opens the store of academy.ReportService.
func (db *DB) Reports() domain.Transactor[academy.ReportStore] {
	return transactor[academy.ReportStore]{db, func(s *scope) academy.ReportStore { return reportStore{s, viewing{s}, academies{s}} }}
}

// Reading opens the store of academy.ReadService.
func (db *DB) Reading() domain.Transactor[academy.ReadStore] {
	return transactor[academy.ReadStore]{db, func(s *scope) academy.ReadStore {
		return readStore{s, viewing{s}, listing{s}, skills{s}, rowParts{s}, threads{s}, bags{s}, quieting{s}}
	}}
}

// Proposals opens the store of academy.ProposalService.
func (db *DB) Proposals() domain.Transactor[academy.ProposalStore] {
	return transactor[academy.ProposalStore]{db, func(s *scope) academy.ProposalStore {
		return proposalStore{s, viewing{s}, listing{s}, skills{s}, rowParts{s}, academies{s}}
	}}
}

// Cohorts opens the store of academy.CohortService.
func (db *DB) Cohorts() domain.Transactor[academy.CohortStore] {
	return transactor[academy.CohortStore]{db, func(s *scope) academy.CohortStore {
		return cohortStore{s, readStore{s, viewing{s}, listing{s}, skills{s}, rowParts{s}, threads{s}, bags{s}, quieting{s}}, groups{s}, programmes{s}, assigned{s}}
	}}
}

// Freshness opens the store in which academy.ReadService looks what is fresh.
func (db *DB) Freshness() domain.Transactor[academy.FreshStore] {
	return transactor[academy.FreshStore]{db, func(s *scope) academy.FreshStore { return freshStore{s} }}
}

// Learning opens the store of academy.LearnService.
func (db *DB) Learning() domain.Transactor[academy.LearnStore] {
	return transactor[academy.LearnStore]{db, func(s *scope) academy.LearnStore { return learnStore{s} }}
}

// Insights opens the store of academy.InsightService.
func (db *DB) Insights() domain.Transactor[academy.InsightStore] {
	return transactor[academy.InsightStore]{db, func(s *scope) academy.InsightStore { return insightStore{s, listing{s}, skills{s}} }}
}

// Events opens the store of academy.EventService.
func (db *DB) Events() domain.Transactor[academy.EventStore] {
	return transactor[academy.EventStore]{db, func(s *scope) academy.EventStore { return events{s} }}
}

// Changes opens the store in which academy.EventService tells what changed, and
// academy.LiveService what happens.
func (db *DB) Changes() domain.Transactor[academy.ChangeStore] {
	return transactor[academy.ChangeStore]{db, func(s *scope) academy.ChangeStore { return changeStore{s, listing{s}, events{s}} }}
}

// Retention opens the store that forgets the beginning of the log.
func (db *DB) Retention() domain.Transactor[academy.RetentionStore] {
	return transactor[academy.RetentionStore]{db, func(s *scope) academy.RetentionStore { return retentionStore{s} }}
}

// Curriculum opens the store of curriculum.Service.
func (db *DB) Curriculum() domain.Transactor[curriculum.Store] {
	return transactor[curriculum.Store]{db, func(s *scope) curriculum.Store { return curriculumStore{s, skills{s}, versions{s}, programmes{s}} }}
}

// Practice opens the store in which practice.Service stores sessions.
func (db *DB) Practice() domain.Transactor[practice.Store] {
	return transactor[practice.Store]{db, func(s *scope) practice.Store { return practiceStore{s, viewing{s}} }}
}

// Importing opens the store in which practice.Service stores many sessions at once.
func (db *DB) Importing() domain.Transactor[practice.Store] {
	return transactor[practice.Store]{db, func(s *scope) practice.Store { return importStore{practiceStore{s, viewing{s}}} }}
}

// Sessions opens the store in which practice.Service reads sessions.
func (db *DB) Sessions() domain.Transactor[practice.ReadStore] {
	return transactor[practice.ReadStore]{db, func(s *scope) practice.ReadStore {
		return sessionStore{s, viewing{s}, listing{s}, sessions{s}, states{s}, tracks{s}, comments{s}}
	}}
}

// Matches opens the store of practice.MatchService.
func (db *DB) Matches() domain.Transactor[practice.MatchStore] {
	return transactor[practice.MatchStore]{db, func(s *scope) practice.MatchStore {
		return matchStore{s, viewing{s}, skills{s}, rowParts{s}}
	}}
}

// Comments opens the store of practice.Service's comments.
func (db *DB) Comments() domain.Transactor[practice.CommentStore] {
	return transactor[practice.CommentStore]{db, func(s *scope) practice.CommentStore {
		return commentStore{s, viewing{s}, sessions{s}, comments{s}}
	}}
}

// Pauses opens the store of practice.PauseService.
func (db *DB) Pauses() domain.Transactor[practice.PauseStore] {
	return transactor[practice.PauseStore]{db, func(s *scope) practice.PauseStore { return pauseStore{s, sessions{s}} }}
}

// Rebuilding opens the store of practice.Rebuilder.
func (db *DB) Rebuilding() domain.Transactor[practice.RebuildStore] {
	return transactor[practice.RebuildStore]{db, func(s *scope) practice.RebuildStore {
		return rebuildStore{s, sessions{s}, states{s}}
	}}
}
