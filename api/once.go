package api

import (
	"bytes"
	"context"
	"crypto/aes"
	"crypto/cipher"
	"crypto/rand"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/http"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"fringework/domain"
)

// idempotencyKey is the header by which a client names a request that it may have to
// send again (draft-ietf-httpapi-idempotency-key-header-07).
const (
	idempotencyKey      = "Idempotency-Key"
	idempotencyReplayed = "Idempotency-Replayed"
)

// Repeats carries requests out once; the error is a domain.Conflict while the same request is under
// way, and domain.Invalid when its key was used for another.
type Repeats interface {
	Once(ctx context.Context, c domain.Claim, do func(context.Context) ([]byte, error)) (answer []byte, replayed bool, err error)
}

// harmlessAgain are the addresses where a request sent again does the same again, or
// nothing: the client makes the ID, nothing is stored, or the limits on guessing must
// count every attempt.
func harmlessAgain(method, path string) bool {
	switch path {
	case sessionPath, roundPath, "/v1/me/password", "/v1/calc/:name", "/v1/skills/:skill_id/ladder/preview":
		return true
	}
	return method == http.MethodGet
}

// once carries out a request with an Idempotency-Key once, and gives its answer again to
// whoever sends it again within a day.
func (s *Server) once(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		r := c.Request()
		values := r.Header.Values(idempotencyKey)
		if len(values) == 0 || harmlessAgain(r.Method, c.Path()) || s.Repeats == nil {
			return next(c)
		}
		key, err := readIdempotencyKey(values)
		if err != nil {
			return err
		}
		id := identity(c)
		if id.Academy == "" {
			return malformed("idempotency_key", "An Idempotency-Key is kept in an academy, and you are signed in to none; leave it out.")
		}
		body, err := readAll(r)
		if err != nil {
			return err
		}
		asker := askerOf(c)
		claim := domain.Claim{Academy: id.Academy, Asker: asker, Key: sha256.Sum256([]byte(key)), Request: fingerprintOf(r, body), Now: s.Now()}
		box, err := newSealed(string(asker) + " " + key)
		if err != nil {
			return err
		}
		answer, replayed, err := s.Repeats.Once(r.Context(), claim, func(ctx context.Context) ([]byte, error) {
			kept, err := carriedOut(ctx, c, body, next)
			if err != nil {
				return nil, err
			}
			return box.seal(kept)
		})
		if err != nil {
			return err
		}
		kept, err := box.open(answer)
		if err != nil {
			return err
		}
		return kept.send(c, replayed)
	}
}

// readIdempotencyKey reads the header: one text, with or without the quotes of a
// structured field.
func readIdempotencyKey(values []string) (string, error) {
	key := strings.TrimSpace(values[0])
	if inner, ok := strings.CutPrefix(key, `"`); ok {
		key = strings.TrimSuffix(inner, `"`)
	}
	printable := func(r rune) bool { return r > ' ' && r < 0x7f && r != '"' }
	if len(values) > 1 || len(key) < 16 || len(key) > 255 || strings.ContainsFunc(key, func(r rune) bool { return !printable(r) }) {
		return "", malformed("idempotency_key", "Idempotency-Key must be one text of 16 to 255 letters, digits and signs that nobody else has, such as a new UUID.")
	}
	return key, nil
}

// fingerprintOf is a digest of all that a request asks for.
func fingerprintOf(r *http.Request, body []byte) [sha256.Size]byte {
	head := fmt.Sprintf("%q %q %q %q\n", r.Method, r.URL.RequestURI(), r.Header.Get(echo.HeaderContentType), r.Header.Get("If-Match"))
	return sha256.Sum256(append([]byte(head), body...))
}

// keptAnswer is an answer as it is kept and given again.
type keptAnswer struct {
	Status int               `json:"status"`
	Header map[string]string `json:"header"`
	Body   []byte            `json:"body"`
}

// keptHeaders are those that belong to the answer; the others are the connection's.
var keptHeaders = []string{echo.HeaderContentType, echo.HeaderLocation, "ETag", echo.HeaderCacheControl}

// carriedOut runs a handler under a context and keeps what it answers. What is no
// success is an error, so that nothing of it stays.
func carriedOut(ctx context.Context, c echo.Context, body []byte, next echo.HandlerFunc) (kept keptAnswer, err error) {
	request, response := c.Request(), c.Response()
	defer func() { c.SetRequest(request); c.SetResponse(response) }()
	again := request.WithContext(ctx)
	again.Body = io.NopCloser(bytes.NewReader(body))
	held := &heldAnswer{header: response.Header().Clone()}
	c.SetRequest(again)
	c.SetResponse(echo.NewResponse(held, c.Echo()))
	if err := next(c); err != nil {
		return kept, err
	}
	kept = keptAnswer{Status: held.status, Header: map[string]string{}, Body: held.body.Bytes()}
	for _, name := range keptHeaders {
		if value := held.header.Get(name); value != "" {
			kept.Header[name] = value
		}
	}
	if kept.Status >= http.StatusBadRequest {
		return kept, fmt.Errorf("a handler answered %d without an error", kept.Status)
	}
	return kept, nil
}

// send gives the answer.
func (k keptAnswer) send(c echo.Context, replayed bool) error {
	h := c.Response().Header()
	for _, name := range slices.Sorted(maps.Keys(k.Header)) {
		h.Set(name, k.Header[name])
	}
	if replayed {
		h.Set(idempotencyReplayed, "true")
	}
	c.Response().WriteHeader(k.Status)
	if len(k.Body) == 0 {
		return nil
	}
	_, err := c.Response().Write(k.Body)
	return err
}

// heldAnswer holds an answer back.
type heldAnswer struct {
	header http.Header
	status int
	body   bytes.Buffer
}

// Header implements http.ResponseWriter.
func (h *heldAnswer) Header() http.Header { return h.header }

// WriteHeader implements http.ResponseWriter.
func (h *heldAnswer) WriteHeader(status int) { h.status = status }

// Write implements http.ResponseWriter.
func (h *heldAnswer) Write(p []byte) (int, error) { return h.body.Write(p) }

// sealed encrypts answers, some of which have secrets in them that are shown once, with
// what the client alone has: its key.
type sealed struct{ cipher.AEAD }

func newSealed(secret string) (sealed, error) {
	key := sha256.Sum256([]byte("fringework kept answer\x00" + secret))
	block, err := aes.NewCipher(key[:])
	if err != nil {
		return sealed{}, err
	}
	box, err := cipher.NewGCM(block)
	return sealed{box}, err
}

func (s sealed) seal(k keptAnswer) ([]byte, error) {
	text, err := json.Marshal(k)
	if err != nil {
		return nil, err
	}
	nonce := make([]byte, s.NonceSize())
	_, _ = rand.Read(nonce) // never fails
	return s.Seal(nonce, nonce, text, nil), nil
}

func (s sealed) open(text []byte) (k keptAnswer, err error) {
	if len(text) < s.NonceSize() {
		return k, errors.New("a kept answer is too short")
	}
	plain, err := s.Open(nil, text[:s.NonceSize()], text[s.NonceSize():], nil)
	if err != nil {
		return k, err
	}
	return k, json.Unmarshal(plain, &k)
}
