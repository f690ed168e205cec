package web

import (
	"net/http"
	"strings"
	"sync"
)

// siteOnce is what is embedded, ready to be served, which never changes.
var siteOnce = sync.OnceValues(load)

// Handler serves the pages and hands every other address to next.
//
// It answers GET and HEAD at /, /join, /connect, /apps, /report, /privacy, /green and /desk, at their service
// worker and manifest, and below /assets. What it embeds is read, hashed and
// compressed once in a process; it panics when that fails, since what is embedded
// does not depend on the machine.
func Handler(next http.Handler) http.Handler {
	s, err := siteOnce()
	if err != nil {
		panic("api/web: " + err.Error())
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		f := s.find(r.URL.Path)
		if f == nil {
			next.ServeHTTP(w, r)
			return
		}
		Secure(w.Header(), r)
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			w.Header().Set("Allow", "GET, HEAD")
			http.Error(w, "This address is a page; it takes GET and HEAD.", http.StatusMethodNotAllowed)
			return
		}
		f.serve(w, r, s.immutable(r.URL.Path))
	})
}

// Secure sets what every answer of a page carries.
func Secure(h http.Header, r *http.Request) {
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=(), payment=(), usb=(), screen-wake-lock=(self)")
	if r.TLS != nil || r.Header.Get("X-Forwarded-Proto") == "https" {
		h.Set("Strict-Transport-Security", "max-age=31536000")
	}
}

// serve answers with the file, compressed where the client takes that.
func (f *file) serve(w http.ResponseWriter, r *http.Request, immutable bool) {
	h := w.Header()
	h.Set("Content-Type", f.contentType)
	h.Set("Vary", "Accept-Encoding")
	h.Set("Cache-Control", "no-cache")
	if immutable {
		h.Set("Cache-Control", "public, max-age=31536000, immutable")
	}
	if f.policy != "" {
		h.Set("Content-Security-Policy", f.policy)
	}
	if f.build != "" {
		h.Set(buildHeader, f.build)
	}
	if f.hidden {
		h.Set("X-Robots-Tag", "noindex")
	}
	body, tag := f.body, `"`+f.hash+`"`
	if f.packed != nil && takesGzip(r.Header.Get("Accept-Encoding")) {
		body, tag = f.packed, `"`+f.hash+`-gzip"`
		h.Set("Content-Encoding", "gzip")
	}
	h.Set("ETag", tag)
	// net/http's ServeContent would do, but for its ranges, which a compressed
	// answer must not have.
	if strings.Contains(r.Header.Get("If-None-Match"), f.hash) {
		h.Del("Content-Encoding")
		w.WriteHeader(http.StatusNotModified)
		return
	}
	w.WriteHeader(http.StatusOK)
	if r.Method == http.MethodGet {
		_, _ = w.Write(body) // the client may have left
	}
}

// takesGzip reads an Accept-Encoding header (RFC 9110 §12.5.3) as far as gzip
// goes.
func takesGzip(header string) bool {
	for coding := range strings.SplitSeq(header, ",") {
		name, params, _ := strings.Cut(coding, ";")
		if strings.EqualFold(strings.TrimSpace(name), "gzip") {
			q := strings.TrimPrefix(strings.ReplaceAll(params, " ", ""), "q=")
			return strings.Trim(q, "0.") != "" || params == ""
		}
	}
	return false
}
