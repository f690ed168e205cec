package repo

import (
	"context"
	"crypto/sha256"
	"errors"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
)

func (w *fixture) claim(key, request string) domain.Claim {
	return domain.Claim{Academy: w.academy, Asker: w.owner, Key: sha256.Sum256([]byte(key)), Request: sha256.Sum256([]byte(request)), Now: monday}
}

// rename stores a name of the academy.
func (w *fixture) rename(ctx context.Context, name string) error {
	return everything(w.db).Write(ctx, w.academy, func(a *store) error {
		return a.SaveAcademy(ctx, academy.Academy{ID: w.academy, Name: name, TimeZone: "UTC", Challenge: 70})
	})
}

func (w *fixture) called(ctx context.Context) string {
	w.t.Helper()
	var name string
	err := everything(w.db).Read(ctx, w.academy, func(a *store) (err error) {
		name, err = a.name(ctx)
		return err
	})
	if err != nil {
		w.t.Fatal(err)
	}
	return name
}

// A request is carried out once: what it stores and its answer are kept together, or
// neither is.
func TestOnce(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newFixture(t, db)
		times := 0
		do := func(ctx context.Context) ([]byte, error) {
			times++
			if err := w.rename(ctx, "First"); err != nil {
				return nil, err
			}
			no := errors.New("no")
			err := everything(db).Write(ctx, w.academy, func(a *store) error {
				return errors.Join(a.SaveAcademy(ctx, academy.Academy{ID: w.academy, Name: "Undone", TimeZone: "UTC", Challenge: 70}), no)
			})
			if !errors.Is(err, no) {
				t.Errorf("a part that fails gives %v", err)
			}
			// The request sees what it stored, and what failed in it is undone.
			return []byte("answer " + w.called(ctx)), nil
		}
		once := func(c domain.Claim) ([]byte, bool, error) { return db.Once(w.ctx, c, do) }
		refused := func(what string, err error, kind domain.Kind) {
			t.Helper()
			wantKind(t, what, err, kind)
		}
		no := errors.New("refused")
		_, _, err := db.Once(w.ctx, w.claim("k", "r"), func(ctx context.Context) ([]byte, error) {
			return nil, errors.Join(w.rename(ctx, "Refused"), no)
		})
		if !errors.Is(err, no) || w.called(w.ctx) == "Refused" {
			t.Errorf("a refusal gives %v, and the academy is called %s; want nothing kept", err, w.called(w.ctx))
		}
		answer, replayed, err := once(w.claim("k", "r"))
		if err != nil || replayed || string(answer) != "answer First" {
			t.Errorf("first: %q, %v, %v", answer, replayed, err)
		}
		answer, replayed, err = once(w.claim("k", "r"))
		if err != nil || !replayed || string(answer) != "answer First" || times != 1 {
			t.Errorf("again: %q, %v, %v, carried out %d times", answer, replayed, err, times)
		}
		_, _, err = once(w.claim("k", "another"))
		refused("another request with the key", err, domain.Invalid)
		other := w.claim("k", "r")
		other.Asker = w.coach
		if _, replayed, err := once(other); err != nil || replayed {
			t.Errorf("another's key: replayed %v, %v", replayed, err)
		}
		late := w.claim("k", "another")
		late.Now = monday.Add(onceFor)
		if _, replayed, err := once(late); err != nil || replayed {
			t.Errorf("after a day: replayed %v, %v", replayed, err)
		}
		if n, err := db.ForgetAnswers(w.ctx, monday.Add(onceFor)); err != nil || n != 1 {
			t.Errorf("forgot %d answers, %v; want the one that expired", n, err)
		}
	})
}

// Of requests that come at once with one key, one is carried out, whichever process the
// others reach.
func TestOnceAtOnce(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newFixture(t, db)
		begun, end := make(chan struct{}), make(chan struct{})
		first := make(chan error, 1)
		go func() {
			_, _, err := db.Once(w.ctx, w.claim("k", "r"), func(ctx context.Context) ([]byte, error) {
				close(begun)
				<-end
				return []byte("a"), w.rename(ctx, "Once")
			})
			first <- err
		}()
		<-begun
		never := func(context.Context) ([]byte, error) { t.Error("carried out twice"); return nil, nil }
		_, _, err := db.Once(w.ctx, w.claim("k", "r"), never)
		wantKind(t, "in this process", err, domain.Conflict)
		if db.config != nil {
			db.under.end(nameOf(w.claim("k", "r"))) // as another process sees it
			ctx, cancel := context.WithTimeout(w.ctx, time.Minute)
			_, _, err = db.Once(ctx, w.claim("k", "r"), never)
			cancel()
			wantKind(t, "in another process", err, domain.Conflict)
		}
		close(end)
		if err := <-first; err != nil {
			t.Fatal(err)
		}
	})
}
