// Package docs is the pages that explain the API to developers, written from its
// OpenAPI description: one page with every operation to search, and one for each.
// They need no script, and nothing from elsewhere.
package docs

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"html/template"
	"net/http"
	"strings"
	"sync"

	"fringework/api/web"
)

//go:embed *.html *.css
var embedded embed.FS

var pages = template.Must(template.New("").Funcs(template.FuncMap{"words": words, "json": indented}).ParseFS(embedded, "*.html"))

// policy lets the pages load our style, and nothing else.
const policy = "default-src 'none'; style-src 'self'; img-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// Handler serves the pages of a description at /docs and below, to GET and HEAD,
// and hands every other address to next. The description is read when the first
// page is asked for; it panics then if it is no OpenAPI description, since it comes
// with the program.
func Handler(description []byte, next http.Handler) http.Handler {
	read := sync.OnceValue(func() *manual {
		m, err := readManual(description)
		if err != nil {
			panic("api/docs: " + err.Error())
		}
		return m
	})
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		rest, ours := strings.CutPrefix(r.URL.Path, "/docs")
		if !ours || rest != "" && rest[0] != '/' {
			next.ServeHTTP(w, r)
			return
		}
		h := w.Header()
		web.Secure(h, r)
		h.Set("Content-Security-Policy", policy)
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			h.Set("Allow", "GET, HEAD")
			http.Error(w, "This address is a page; it takes GET and HEAD.", http.StatusMethodNotAllowed)
			return
		}
		switch name := strings.Trim(rest, "/"); name {
		case "":
			answer(w, r, "text/html; charset=utf-8", page("index.html", read().search(r.URL.Query().Get("q"))))
		case "docs.css":
			answer(w, r, "text/css; charset=utf-8", asset(name))
		default:
			op := read().byID[name]
			if op == nil {
				h.Set("Content-Type", "text/html; charset=utf-8")
				w.WriteHeader(http.StatusNotFound)
				_, _ = w.Write(page("missing.html", name)) // the client may have left
				return
			}
			answer(w, r, "text/html; charset=utf-8", page("operation.html", op))
		}
	})
}

func asset(name string) []byte {
	text, err := embedded.ReadFile(name)
	if err != nil {
		panic("api/docs: " + err.Error()) // it is embedded
	}
	return text
}

// page fills a template. What goes in was read from the description, so that it
// fails for none or for all.
func page(name string, of any) []byte {
	var b bytes.Buffer
	if err := pages.ExecuteTemplate(&b, name, of); err != nil {
		panic("api/docs: " + err.Error())
	}
	return b.Bytes()
}

// answer sends a page, or says that it has not changed.
func answer(w http.ResponseWriter, r *http.Request, contentType string, body []byte) {
	sum := sha256.Sum256(body)
	tag := `"` + hex.EncodeToString(sum[:8]) + `"`
	h := w.Header()
	h.Set("Cache-Control", "public, max-age=300")
	h.Set("ETag", tag)
	if r.Header.Get("If-None-Match") == tag {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	h.Set("Content-Type", contentType)
	if r.Method == http.MethodGet {
		_, _ = w.Write(body) // the client may have left
	}
}
