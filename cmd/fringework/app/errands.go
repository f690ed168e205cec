package app

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"time"

	"fringework/auth"
)

// An operator's errands on a database that a service has open: with the embedded
// database only one process may, so the commands ask the service over a socket
// beside the file, which only the user that runs it can open.

// errands are what an operator does about one account.
type errands interface {
	ResetPassword(ctx context.Context, email, fresh string) error
	ResetFactors(ctx context.Context, email string) error
	OperatorReset(ctx context.Context, email string) (token string, err error)
}

// errand is one of them, as it goes over the socket.
type errand struct {
	What     string `json:"what"`
	Email    string `json:"email"`
	Password string `json:"password,omitempty"`
}

// The errands.
const (
	setPassword  = "password"
	resetFactors = "second-factor"
	resetLink    = "reset-link"
)

// outcome is what came of one.
type outcome struct {
	Token string `json:"token,omitempty"`
	// PublicURL is where people reach the service; empty while none runs.
	PublicURL string `json:"public_url,omitempty"`
	Error     string `json:"error,omitempty"`
}

// run does an errand.
func (e errand) run(ctx context.Context, by errands) (token string, err error) {
	switch e.What {
	case setPassword:
		return "", by.ResetPassword(ctx, e.Email, e.Password)
	case resetFactors:
		return "", by.ResetFactors(ctx, e.Email)
	case resetLink:
		return by.OperatorReset(ctx, e.Email)
	}
	return "", fmt.Errorf("there is no errand %q", e.What)
}

// socket is where the service listens for its operator; empty where it does not.
func (f databaseFlag) socket() string {
	if !f.embedded() {
		return ""
	}
	return f.file() + ".sock"
}

// errandTime bounds one errand, hashing a password included.
const errandTime = 30 * time.Second

// openErrands listens at a path for the operator. Where no socket can be made, for
// instance because the path is too long for one, it gives nil, and the service goes
// on without.
func openErrands(path string, log *slog.Logger) net.Listener {
	if path == "" {
		return nil
	}
	// This process holds the database's lock, so a socket that is there is left
	// from one that was killed.
	err := os.Remove(path)
	if err == nil || errors.Is(err, os.ErrNotExist) {
		var l net.Listener
		if l, err = listenPrivately(path); err == nil {
			return l
		}
	}
	log.Warn("admin commands must wait until the service has stopped", "error", err)
	return nil
}

// serveErrands does what an operator asks until ctx ends. People reach the service at
// publicURL.
func serveErrands(ctx context.Context, l net.Listener, by errands, publicURL string, log *slog.Logger) {
	if l == nil {
		return
	}
	web := &http.Server{ReadTimeout: errandTime, WriteTimeout: errandTime, Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var e errand
		o := outcome{PublicURL: publicURL}
		err := json.NewDecoder(http.MaxBytesReader(w, r.Body, 1<<16)).Decode(&e)
		if err == nil {
			o.Token, err = e.run(r.Context(), by)
		}
		if err != nil {
			o.Error = err.Error()
		}
		log.Info("an operator's errand", "what", e.What, "done", err == nil)
		if err := json.NewEncoder(w).Encode(o); err != nil {
			log.Warn("an operator was not answered", "error", err)
		}
	})}
	go func() {
		<-ctx.Done()
		_ = web.Close() // removes the socket
	}()
	if err := web.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		log.Warn("the operator's socket was closed", "error", err)
	}
}

// served reports whether a service that has the database open listens for its operator.
func (f databaseFlag) served(s *session) bool {
	path := f.socket()
	if path == "" {
		return false
	}
	conn, err := (&net.Dialer{}).DialContext(s.ctx, "unix", path)
	if err != nil {
		return false
	}
	return conn.Close() == nil
}

// do does an errand: by the service that has the database open, or else on the
// database itself.
func (f databaseFlag) do(s *session, e errand) (o outcome, err error) {
	if path := f.socket(); path != "" {
		if conn, err := (&net.Dialer{}).DialContext(s.ctx, "unix", path); err == nil {
			return ask(s.ctx, conn, e)
		}
	}
	db, err := f.openExisting(s)
	if err != nil {
		return o, err
	}
	defer closeAll(db, s.log)
	keys, err := auth.Ephemeral() // no token is made here
	if err != nil {
		return o, err
	}
	h, err := newServer(s.ctx, db, keys, serviceFlags{PublicURL: "http://localhost"}, nil, s.clock, s.log)
	if err != nil {
		return o, err
	}
	o.Token, err = e.run(s.ctx, h.auth)
	return o, err
}

// ask sends an errand to a service.
func ask(ctx context.Context, conn net.Conn, e errand) (o outcome, err error) {
	client := &http.Client{Timeout: errandTime, Transport: &http.Transport{
		DisableKeepAlives: true, DialContext: func(context.Context, string, string) (net.Conn, error) { return conn, nil },
	}}
	body, err := json.Marshal(e)
	if err != nil {
		return o, err
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, "http://service/", bytes.NewReader(body))
	if err != nil {
		return o, err
	}
	answer, err := client.Do(r)
	if err != nil {
		return o, err
	}
	defer answer.Body.Close()
	if err := json.NewDecoder(answer.Body).Decode(&o); err != nil {
		return o, err
	}
	if o.Error != "" {
		return o, errors.New(o.Error)
	}
	return o, nil
}
