// Package services wires the domain's services over a database, and sign-in and
// the API over them: once, for the binary and for every test that wants the whole.
package services

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"slices"
	"time"

	"fringework/api"
	"fringework/api/hook"
	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/course"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/webhook"
	"fringework/openapi"
	"fringework/repo"
)

// Services are the use cases of the domain over one database.
type Services struct {
	Curriculum  curriculum.Service
	Academy     academy.Service
	Read        academy.ReadService
	Cohorts     academy.CohortService
	Adjust      academy.AdjustService
	Acknowledge academy.AcknowledgeService
	Messages    academy.MessageService
	Reports     academy.ReportService
	Rounds      academy.RoundService
	Bags        academy.BagService
	Quiet       academy.QuietService
	Seasons     academy.SeasonService
	Lessons     academy.LessonService
	LessonMedia academy.MediaService
	Rights      academy.RightsService
	Guardians   academy.GuardianService
	Calendars   academy.CalendarService
	Digests     academy.DigestService
	Propose     academy.ProposalService
	Events      academy.EventService
	Retention   academy.RetentionService
	Webhooks    webhook.Service
	Watching    academy.WatchService
	Live        academy.LiveService
	Learn       academy.LearnService
	Insights    academy.InsightService
	Practice    practice.Service
	Matches     practice.MatchService
	Pauses      practice.PauseService
	Rebuild     practice.Rebuilder

	// Begin, if there is one, is told that a piece of background work begins; it gives
	// the context for that, and end is told what came of it.
	Begin func(ctx context.Context, work Work) (inside context.Context, end func(error))

	db  *repo.DB
	env domain.Env
}

// Work is a kind of background work.
type Work string

// The kinds of background work: learning how much practice changed, learning
// insights, telling of paused sessions and of reasons, erasing what need not be kept,
// and serving webhooks.
const (
	WorkLearn    Work = "learn"
	WorkInsights Work = "insights"
	WorkPauses   Work = "pauses"
	WorkReasons  Work = "reasons"
	WorkRetain   Work = "retain"
	WorkWebhooks Work = "webhooks"
)

// Works lists them.
func Works() []Work {
	return []Work{WorkLearn, WorkInsights, WorkPauses, WorkReasons, WorkRetain, WorkWebhooks}
}

// work does a piece of background work, and tells of it.
func (s *Services) work(ctx context.Context, w Work, do func(context.Context) error) error {
	if s.Begin == nil {
		return do(ctx)
	}
	inside, end := s.Begin(ctx, w)
	err := do(inside)
	end(err)
	return err
}

// New wires the services over a database, with the clock and the identities of
// env. It refuses what is missing.
func New(db *repo.DB, env domain.Env) (*Services, error) {
	switch {
	case db == nil:
		return nil, errors.New("services: there is no database")
	case env.Now == nil:
		return nil, errors.New("services: there is no clock")
	case env.NewID == nil:
		return nil, errors.New("services: there is nothing to make identities with")
	}
	rounds := academy.RoundService{Store: db.Rounds(), Reading: db.Reading(), Env: env, Baseline: course.Tour()}
	return &Services{
		Curriculum:  curriculum.Service{Store: db.Curriculum(), Env: env},
		Academy:     academy.Service{Store: db.People(), GroupStore: db.Groups(), AssignmentStore: db.Assignments(), Env: env},
		Read:        academy.ReadService{Store: db.Reading(), Freshness: db.Freshness(), Env: env},
		Cohorts:     academy.CohortService{Store: db.Cohorts(), Env: env},
		Adjust:      academy.AdjustService{Store: db.Adjustments(), Env: env},
		Acknowledge: academy.AcknowledgeService{Store: db.Acknowledgements(), Env: env},
		Messages:    academy.MessageService{Store: db.Messages(), Env: env},
		Reports:     academy.ReportService{Store: db.Reports(), Reading: db.Reading(), Rounds: rounds, Env: env},
		Rounds:      rounds,
		Lessons:     academy.LessonService{Store: db.Lessons(), Reading: db.Reading(), Env: env},
		LessonMedia: academy.MediaService{Store: db.LessonMedia(), Env: env},
		Bags:        academy.BagService{Store: db.Bags(), Env: env},
		Quiet:       academy.QuietService{Store: db.Quiet(), Env: env},
		Seasons:     academy.SeasonService{Store: db.Seasons(), Env: env},
		Rights:      academy.RightsService{Store: db.Rights(), Env: env},
		Guardians:   academy.GuardianService{Store: db.Guardians(), Env: env},
		Calendars:   academy.CalendarService{Store: db.Calendars(), Reading: db.Reading(), Lessons: db.Lessons(), Env: env},
		Digests:     academy.DigestService{Store: db.Digests(), Reading: db.Reading(), Env: env, NewToken: newDigestToken},
		Propose:     academy.ProposalService{Store: db.Proposals(), Env: env},
		Events:      academy.EventService{Store: db.Events(), Changing: db.Changes()},
		Retention:   academy.RetentionService{Store: db.Retention(), Env: env},
		Watching:    academy.WatchService{Store: db.Watching(), Reading: db.Reading(), Env: env},
		Webhooks:    webhook.Service{Store: db.Webhooks(), Env: env, NewSecret: hook.NewSecret},
		Live:        academy.LiveService{Store: db.Changes(), Feed: db},
		Learn:       academy.LearnService{Store: db.Learning()},
		Insights:    academy.InsightService{Store: db.Insights(), Env: env},
		Practice:    practice.Service{Store: db.Practice(), Importing: db.Importing(), Reading: db.Sessions(), Talking: db.Comments(), Env: env},
		Matches:     practice.MatchService{Store: db.Matches()},
		Pauses:      practice.PauseService{Store: db.Pauses(), Env: env},
		Rebuild:     practice.Rebuilder{Store: db.Rebuilding(), Env: env},
		db:          db, env: env,
	}, nil
}

// hashesAtOnce bounds the memory that hashing passwords takes.
const hashesAtOnce = 4

// Auth signs people in over the same database, and seals its secrets with the same
// keys; issuer is the service's own address.
func (s *Services) Auth(keys *auth.Keyring, hashing auth.HashParams, issuer string) (*auth.Service, error) {
	hasher, err := auth.NewHasher(hashing, hashesAtOnce)
	if err != nil {
		return nil, err
	}
	store := s.db.Auth()
	signIn, err := auth.New(auth.Config{
		Store: store, Keys: keys, Hasher: hasher, Limiter: auth.NewStoreLimiter(store), Env: s.env,
		Issuer: issuer, Audience: "fringework-api",
	})
	if err == nil {
		s.db.UseVault(signIn.Tokens.Vault())
	}
	return signIn, err
}

// Reseal seals the secrets in the database with the present key, and tells what could
// not be.
func (s *Services) Reseal(ctx context.Context, log *slog.Logger) {
	n, err := s.db.Reseal(ctx)
	if n > 0 {
		log.Info("secrets in the database were sealed with the present key", "secrets", n)
	}
	if err != nil && ctx.Err() == nil {
		log.Error("secrets in the database cannot be read: put the keys that they were sealed with back into the file of keys, or have new secrets made", "error", err)
	}
}

// API configures an API over the services, for the caller to complete.
func (s *Services) API(signIn *auth.Service, log *slog.Logger) api.Config {
	return api.Config{
		Auth: signIn, Curriculum: s.Curriculum, Academy: s.Academy, Read: s.Read, Practice: s.Practice, Matches: s.Matches,
		Events: s.Events, Live: s.Live, Webhooks: s.Webhooks, Adjust: s.Adjust, Acknowledge: s.Acknowledge, Propose: s.Propose, Messages: s.Messages, Reports: s.Reports, Rounds: s.Rounds, Bags: s.Bags, Quiet: s.Quiet, Seasons: s.Seasons, Lessons: s.Lessons, LessonMedia: s.LessonMedia, Insights: s.Insights, Cohorts: s.Cohorts,
		Rights: s.Rights, Guardians: s.Guardians, Calendars: s.Calendars, Digests: s.Digests, Dossier: s.db.Dossier, SignIns: s.db.SignIns,
		Log: log, Ready: s.db.Ready, Now: s.env.Now, Repeats: s.db,
		Archive: func(ctx context.Context, academy domain.ID, to io.Writer) error {
			_, err := s.db.ExportAcademy(ctx, academy, s.env.Now(), false, to)
			return err
		},
		Description: openapi.JSON, ProgrammeSchema: openapi.ProgrammeSchema,
	}
}

// Forget removes what is kept for a while alone, and reports how many rows.
func (s *Services) Forget(ctx context.Context) (int64, error) {
	return s.db.ForgetAnswers(ctx, s.env.Now())
}

// Prepare makes the progress of academies anew that an earlier release kept in
// another form. Nothing may be served before it is done; several processes may
// do it at once.
func (s *Services) Prepare(ctx context.Context, log *slog.Logger) error {
	outdated, err := s.db.Outdated(ctx)
	if err != nil {
		return err
	}
	for _, id := range outdated {
		students, err := s.Rebuild.Renew(ctx, id)
		if err != nil {
			return fmt.Errorf("make the progress of academy %s anew: %w", id, err)
		}
		if err := s.Learn.Learn(ctx, id); err != nil {
			return err
		}
		if err := s.db.Updated(ctx, id); err != nil {
			return err
		}
		log.Info("progress made anew from the sessions", "academy", id, "students", students)
	}
	return nil
}

// How often background work looks, how long a session must not have grown to
// be told of as paused, and how many are told of at once.
const (
	learnEvery   = 5 * time.Second
	insightEvery = time.Hour
	pauseEvery   = time.Minute
	pausedFor    = 5 * time.Minute
	pauseBatch   = 100
	retainEvery  = time.Hour
)

// Run does what is done in the background until ctx ends: learning from what
// was practised, and telling of sessions that paused.
func (s *Services) Run(ctx context.Context, log *slog.Logger) {
	news, stop := s.db.Committed()
	defer stop()
	learn, pauses, retain := time.NewTicker(learnEvery), time.NewTicker(pauseEvery), time.NewTicker(retainEvery)
	defer learn.Stop()
	defer pauses.Stop()
	defer retain.Stop()
	changed := map[domain.ID]bool{}
	erased := s.db.Erased(ctx) // before this process began, perhaps just then
	for {
		var err error
		select {
		case <-ctx.Done():
			return
		case told := <-news:
			for _, n := range told {
				changed[n.Academy] = true
				erased = erased || n.Kind == "member.erased" || n.Kind == academy.MediaDeleted || n.Kind == "lesson.deleted"
			}
		case <-learn.C:
			err = s.learn(ctx, changed)
		case <-pauses.C:
			err = s.work(ctx, WorkPauses, s.TellPaused)
		case <-retain.C:
			err = s.work(ctx, WorkRetain, func(ctx context.Context) error {
				err := s.retain(ctx, log)
				if err == nil && erased {
					err = s.db.Scrub(ctx)
					erased = err != nil
				}
				return err
			})
		}
		if err != nil && ctx.Err() == nil {
			log.Warn("background work failed and is tried again", "error", err)
		}
	}
}

// retain tells what was erased and forgotten.
func (s *Services) retain(ctx context.Context, log *slog.Logger) error {
	kept, err := s.Retain(ctx)
	if kept != (academy.Kept{}) {
		log.Info("what academies need not keep was erased", "members", kept.Erased, "events", kept.Forgotten, "media", kept.Media)
	}
	return err
}

// learn learns from academies in which something changed.
func (s *Services) learn(ctx context.Context, changed map[domain.ID]bool) error {
	for _, id := range slices.Sorted(maps.Keys(changed)) {
		if err := s.work(ctx, WorkLearn, func(ctx context.Context) error { return s.Learn.Learn(ctx, id) }); err != nil {
			return err
		}
		delete(changed, id)
	}
	return nil
}

// LearnAll learns from every academy at once, for whoever cannot wait for the
// background.
func (s *Services) LearnAll(ctx context.Context) error {
	academies, err := s.db.Academies(ctx)
	for _, a := range academies {
		err = errors.Join(err, s.Learn.Learn(ctx, a.ID), s.Insights.Learn(ctx, a.ID))
	}
	return err
}

// RunInsights learns the insights of academies that practised, at once and then
// every hour, until ctx ends. It is apart from Run, which must not wait for it.
func (s *Services) RunInsights(ctx context.Context, log *slog.Logger) {
	ticker := time.NewTicker(insightEvery)
	defer ticker.Stop()
	for {
		academies, err := s.db.Academies(ctx)
		for _, a := range academies {
			if ctx.Err() != nil {
				return
			}
			err = errors.Join(err, s.work(ctx, WorkInsights, func(ctx context.Context) error { return s.Insights.Learn(ctx, a.ID) }))
		}
		if err != nil && ctx.Err() == nil {
			log.Warn("insights were not learned and are tried again", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-ticker.C:
		}
	}
}

// Retain erases and forgets, in every academy, what is older than it wants kept.
func (s *Services) Retain(ctx context.Context) (all academy.Kept, err error) {
	academies, err := s.db.Academies(ctx)
	for _, a := range academies {
		kept, failed := s.Rights.Retain(ctx, a.ID)
		media, late := s.LessonMedia.Expire(ctx, a.ID)
		all.Erased, all.Forgotten, all.Media, err = all.Erased+kept.Erased, all.Forgotten+kept.Forgotten, all.Media+media, errors.Join(err, failed, late)
	}
	return all, err
}

// TellPaused writes the events of sessions that grew and have not for a while.
func (s *Services) TellPaused(ctx context.Context) error {
	grown, err := s.db.Grown(ctx, s.env.Now().Add(-pausedFor), pauseBatch)
	for _, g := range grown {
		err = errors.Join(err, s.Pauses.Tell(ctx, g.Academy, g.Session))
	}
	return err
}

// ForgetEvents drops what the logs need not keep any more, and says how many
// events that were.
func (s *Services) ForgetEvents(ctx context.Context) (n int, err error) {
	if s.Retention.Keep == 0 {
		return 0, nil
	}
	academies, err := s.db.Academies(ctx)
	for _, a := range academies {
		dropped, failed := s.Retention.Forget(ctx, a.ID)
		n, err = n+dropped, errors.Join(err, failed)
	}
	return n, err
}

// How often reasons are looked for where something changed, and everywhere, since
// they also come with the days.
const (
	watchEvery    = time.Minute
	watchAllEvery = time.Hour
)

// RunReasons tells the logs of reasons that are new or gone, until ctx ends.
func (s *Services) RunReasons(ctx context.Context, log *slog.Logger) {
	news, stop := s.db.Committed()
	defer stop()
	some, all := time.NewTicker(watchEvery), time.NewTicker(watchAllEvery)
	defer some.Stop()
	defer all.Stop()
	changed := map[domain.ID]bool{}
	for {
		var err error
		select {
		case <-ctx.Done():
			return
		case told := <-news:
			for _, n := range told {
				// What it tells itself changes no reason.
				changed[n.Academy] = changed[n.Academy] || academy.Noun(n.Kind) != "reason"
			}
		case <-some.C:
			err = s.watch(ctx, changed)
		case <-all.C:
			academies, failed := s.db.Academies(ctx)
			for _, a := range academies {
				changed[a.ID] = true
			}
			err = errors.Join(failed, s.watch(ctx, changed))
		}
		if err != nil && ctx.Err() == nil {
			log.Warn("reasons were not told of and are looked for again", "error", err)
		}
	}
}

// watch looks for reasons in academies in which something changed.
func (s *Services) watch(ctx context.Context, changed map[domain.ID]bool) error {
	for _, id := range slices.Sorted(maps.Keys(changed)) {
		if changed[id] {
			if err := s.work(ctx, WorkReasons, func(ctx context.Context) error { return s.Watching.Watch(ctx, id) }); err != nil {
				return err
			}
		}
		delete(changed, id)
	}
	return nil
}

// webhookEvery is how often deliveries that are due are looked for, beside at once
// when something was committed here.
const webhookEvery = 2 * time.Second

// WebhookWorker sends what is due by a sender.
func (s *Services) WebhookWorker(sender webhook.Sender) webhook.Worker {
	w := webhook.Worker{Store: s.db.WebhookQueue(), Tasks: s.db.WebhookTasks, Sender: sender, Env: s.env}
	if s.Begin != nil {
		w.Begin = func(ctx context.Context) (context.Context, func(error)) { return s.Begin(ctx, WorkWebhooks) }
	}
	return w
}

// RunWebhooks tells webhooks of events, until ctx ends. It is apart from Run, which
// must not wait for a slow receiver.
func (s *Services) RunWebhooks(ctx context.Context, sender webhook.Sender, log *slog.Logger) {
	worker := s.WebhookWorker(sender)
	news, stop := s.db.Committed()
	defer stop()
	ticker := time.NewTicker(webhookEvery)
	defer ticker.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-news:
		case <-ticker.C:
		}
		// Until nothing more is due.
		for {
			tries, err := worker.Round(ctx)
			if err != nil && ctx.Err() == nil {
				log.Warn("webhooks were not all told and are told later", "error", err)
			}
			if err != nil || tries == 0 || ctx.Err() != nil {
				break
			}
		}
	}
}
