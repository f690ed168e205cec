package repo

import (
	"context"
	"encoding/json"
	"math/rand/v2"
	"slices"
	"strconv"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/migrations"
)

// live passes on what this process commits to those who follow in it and, on
// PostgreSQL, to the other processes: gathered for a moment, since waking all
// costs more than what is told, and after the commit, since a notification
// inside a transaction would make all writers commit one by one.
type live struct {
	mu        sync.Mutex
	followers map[*follower]bool
	// pending is what was not passed on yet, and wake says that there is some.
	pending []academy.News
	wake    chan struct{}
	done    sync.WaitGroup
	// self tells this process's own notifications.
	self string
	// listening says that this process hears the others.
	listening bool
}

type follower struct {
	academy domain.ID // empty for all
	news    chan []academy.News
}

const (
	// gathering is how long news waits for more.
	gathering = time.Second
	// mostPending is how much news waits, and mostHeard how many times it is
	// told to a follower who does not listen; more is lost, and found in the log.
	mostPending = 4096
	mostHeard   = 16
)

// publish tells of what was committed.
func (l *live) publish(news []academy.News) {
	if len(news) == 0 {
		return
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.pending) < mostPending {
		l.pending = append(l.pending, news...)
	}
	select {
	case l.wake <- struct{}{}:
	default:
	}
}

// pass tells the followers of this process.
func (l *live) pass(news []academy.News) {
	of := map[domain.ID][]academy.News{"": news}
	for _, n := range news {
		of[n.Academy] = append(of[n.Academy], n)
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	for f := range l.followers {
		if len(of[f.academy]) == 0 {
			continue
		}
		select {
		case f.news <- of[f.academy]:
		default:
		}
	}
}

// follow adds a follower.
func (l *live) follow(of domain.ID) (<-chan []academy.News, func()) {
	f := &follower{academy: of, news: make(chan []academy.News, mostHeard)}
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.followers == nil {
		l.followers = map[*follower]bool{}
	}
	l.followers[f] = true
	return f.news, func() {
		l.mu.Lock()
		defer l.mu.Unlock()
		delete(l.followers, f)
	}
}

// Follow implements academy.Feed.
func (db *DB) Follow(of domain.ID) (<-chan []academy.News, func()) {
	db.listen()
	return db.live.follow(of)
}

// Committed gives the news of all academies that this process itself commits.
func (db *DB) Committed() (<-chan []academy.News, func()) { return db.live.follow("") }

const channel = "fringework_live"

// tellLive starts passing news on, until Close.
func (db *DB) tellLive() {
	ctx, stop := context.WithCancel(context.Background())
	l := &db.live
	l.wake, l.self = make(chan struct{}, 1), strconv.FormatUint(rand.Uint64(), 36)
	db.closers = append([]func() error{func() error { stop(); l.done.Wait(); return nil }}, db.closers...)
	l.done.Go(func() {
		for {
			select {
			case <-ctx.Done():
				return
			case <-l.wake:
			}
			if sleep(ctx, gathering) != nil {
				return
			}
			l.mu.Lock()
			news := l.pending
			l.pending = nil
			l.mu.Unlock()
			l.pass(news)
			if db.engine == migrations.Postgres {
				db.notify(ctx, news)
			}
		}
	})
}

// perNotice is how much fits into one notification, which PostgreSQL bounds to
// 8000 bytes.
const perNotice = 25

// notice is a notification.
type notice struct {
	From string         `json:"from"`
	News []academy.News `json:"news"`
}

func (db *DB) notify(ctx context.Context, news []academy.News) {
	for part := range slices.Chunk(news, perNotice) {
		text, err := json.Marshal(notice{db.live.self, part})
		if err == nil {
			_, err = db.SQL().ExecContext(ctx, "SELECT pg_notify($1, $2)", channel, string(text))
		}
		if err != nil && ctx.Err() == nil {
			db.log.log.Warn("other processes were not told what happens live", "error", err)
			return
		}
	}
}

// listen starts hearing the other processes, once.
func (db *DB) listen() {
	l := &db.live
	l.mu.Lock()
	defer l.mu.Unlock()
	if db.engine != migrations.Postgres || l.listening {
		return
	}
	l.listening = true
	ctx, stop := context.WithCancel(context.Background())
	db.closers = append([]func() error{func() error { stop(); return nil }}, db.closers...)
	l.done.Go(func() {
		for try := 1; ctx.Err() == nil; try++ {
			if err := db.hear(ctx); err != nil && ctx.Err() == nil {
				db.log.log.Warn("this process does not hear what happens live in others", "error", err)
				_ = sleep(ctx, min(time.Duration(try)*time.Second, 30*time.Second))
			}
		}
	})
}

// hear passes on what the others tell, until that fails.
func (db *DB) hear(ctx context.Context) error {
	conn, err := pgx.ConnectConfig(ctx, db.config)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	if _, err := conn.Exec(ctx, "LISTEN "+channel); err != nil {
		return err
	}
	for {
		n, err := conn.WaitForNotification(ctx)
		if err != nil {
			return err
		}
		var told notice
		if json.Unmarshal([]byte(n.Payload), &told) != nil || told.From == db.live.self {
			continue
		}
		db.live.pass(told.News)
	}
}

// sleep waits, or tells that the context ended.
func sleep(ctx context.Context, d time.Duration) error {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-timer.C:
		return nil
	}
}
