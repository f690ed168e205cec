package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"io"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"os"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// ask asks the pages; what is none of theirs answers 418.
func ask(t *testing.T, method, target string, header ...string) *httptest.ResponseRecorder {
	t.Helper()
	next := http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusTeapot) })
	r := httptest.NewRequestWithContext(t.Context(), method, target, nil)
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	Handler(next).ServeHTTP(w, r)
	return w
}

func body(t *testing.T, res *httptest.ResponseRecorder) string {
	t.Helper()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func loaded(t *testing.T) *site {
	t.Helper()
	s, err := load()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestPages(t *testing.T) {
	for _, p := range []string{"/", "/join", "/report", "/privacy", "/green", "/desk"} {
		res := ask(t, "GET", p)
		if res.Code != http.StatusOK {
			t.Fatalf("%s answers %d, want 200", p, res.Code)
		}
		h := res.Header()
		for name, want := range map[string]string{
			"Content-Type": "text/html; charset=utf-8", "Cache-Control": "no-cache", "X-Content-Type-Options": "nosniff",
			"Referrer-Policy": "no-referrer", "Cross-Origin-Opener-Policy": "same-origin",
		} {
			if got := h.Get(name); got != want {
				t.Errorf("%s: %s is %q, want %q", p, name, got, want)
			}
		}
		if h.Get("Permissions-Policy") == "" || h.Get("ETag") == "" || h.Get(buildHeader) == "" {
			t.Errorf("%s lacks a Permissions-Policy, an ETag or its build: %v", p, h)
		}
		checkPolicy(t, p, h.Get("Content-Security-Policy"), body(t, res))
	}
}

var (
	inlineScript = regexp.MustCompile(`(?s)<script([^>]*)>(.*?)</script>`)
	inlineStyle  = regexp.MustCompile(`(?i)<style|\sstyle=|\son\w+=|javascript:`)
)

// checkPolicy holds a page to its policy: the one inline script is the import
// map, named by its hash, and there is no inline style or handler.
func checkPolicy(t *testing.T, p, policy, page string) {
	t.Helper()
	for _, want := range []string{"default-src 'self'", "object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'"} {
		if !strings.Contains(policy, want) {
			t.Errorf("%s: the policy %q lacks %s", p, policy, want)
		}
	}
	if strings.Contains(policy, "unsafe") {
		t.Errorf("%s: the policy %q allows something unsafe", p, policy)
	}
	for _, m := range inlineScript.FindAllStringSubmatch(page, -1) {
		if m[2] == "" {
			continue
		}
		sum := sha256.Sum256([]byte(m[2]))
		if hash := "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"; !strings.Contains(policy, hash) {
			t.Errorf("%s: an inline script is not in the policy: %s", p, m[2])
		}
	}
	if m := inlineStyle.FindString(page); m != "" {
		t.Errorf("%s has %q inline", p, m)
	}
}

// TestModules holds every import of every module of ours to a file, so that a
// misspelt one is found without a browser.
func TestModules(t *testing.T) {
	s := loaded(t)
	anyImport := regexp.MustCompile(`(?m)(?:^(?:import|export)\b[^;"]*?\bfrom\s+|^import\s+|\bimport\()"([^"\n]+)"`)
	for name, f := range s.assets {
		if path.Ext(name) != ".js" {
			continue
		}
		for _, m := range anyImport.FindAllSubmatch(f.body, -1) {
			target, ok := bare[string(m[1])]
			if !ok {
				target = path.Join(path.Dir(name), string(m[1]))
			}
			if s.assets[target] == nil {
				t.Errorf("%s imports %s, which is not there", name, m[1])
			}
		}
	}
	for _, page := range shells {
		if needs := s.needs(page.entry); !slices.Contains(needs, "base/ui.js") || !slices.Contains(needs, "vendor/preact.js") {
			t.Errorf("%s preloads %v, want what its entry imports", page.path, needs)
		}
	}
}

func TestAssets(t *testing.T) {
	s := loaded(t)
	at := s.assetRoot() + "base/ui.js"
	res := ask(t, "GET", at, "Accept-Encoding", "br, gzip")
	if got := res.Header().Get("Cache-Control"); got != "public, max-age=31536000, immutable" {
		t.Errorf("Cache-Control of an asset of this build is %q, want it kept for good", got)
	}
	if res.Header().Get("Content-Encoding") != "gzip" {
		t.Fatalf("an asset is not compressed: %v", res.Header())
	}
	zr, err := gzip.NewReader(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	unpacked, err := io.ReadAll(zr)
	if err != nil {
		t.Fatal(err)
	}
	plain := body(t, ask(t, "GET", at))
	if string(unpacked) != plain {
		t.Error("the compressed asset differs from the plain one")
	}
	if got := ask(t, "GET", "/assets/anotherbuild/base/ui.js").Header().Get("Cache-Control"); got != "no-cache" {
		t.Errorf("Cache-Control of an asset asked for by another build is %q, want no-cache", got)
	}
	if res := ask(t, "GET", at, "If-None-Match", res.Header().Get("ETag")); res.Code != http.StatusNotModified {
		t.Errorf("an asset that is known already answers %d, want 304", res.Code)
	}
	if got := body(t, ask(t, "HEAD", at)); got != "" {
		t.Errorf("HEAD answers %d bytes", len(got))
	}
	for _, p := range []string{"/assets/" + s.build + "/none.js", "/assets/" + s.build + "/", "/assets/", "/v1/me", "/green/", "/sw", "/assets/" + s.build + "/../shell.html"} {
		if res := ask(t, "GET", p); res.Code != http.StatusTeapot {
			t.Errorf("%s answers %d, want it handed on", p, res.Code)
		}
	}
	if res := ask(t, "POST", "/green"); res.Code != http.StatusMethodNotAllowed || res.Header().Get("Allow") != "GET, HEAD" {
		t.Errorf("POST to a page answers %d, Allow %q", res.Code, res.Header().Get("Allow"))
	}
}

func TestTakesGzip(t *testing.T) {
	// RFC 9110 §12.5.3: a weight of 0 means "not acceptable".
	for header, want := range map[string]bool{
		"": false, "gzip": true, "br;q=1.0, gzip;q=0.8": true, "GZIP": true, "gzip;q=0": false, "gzip; q=0.0": false, "gzipped": false, "gzip;q=0.001": true,
	} {
		if got := takesGzip(header); got != want {
			t.Errorf("takesGzip(%q) is %v, want %v", header, got, want)
		}
	}
}

func TestWorkerKeepsEverything(t *testing.T) {
	s := loaded(t)
	res := ask(t, "GET", "/sw.js")
	text := body(t, res)
	if got := res.Header().Get("Cache-Control"); got != "no-cache" {
		t.Errorf("Cache-Control of the service worker is %q, want no-cache", got)
	}
	for name := range s.assets {
		kept := strings.Contains(text, `"`+s.assetRoot()+name+`"`)
		if wanted := !strings.HasSuffix(name, ".LICENSE") && !strings.HasSuffix(name, ".md"); kept != wanted {
			t.Errorf("the service worker keeps %s: %v, want %v", name, kept, wanted)
		}
	}
	for _, p := range []string{"/", "/join", "/report", "/privacy", "/green", "/desk", "/manifest.webmanifest"} {
		if !strings.Contains(text, `"`+p+`"`) {
			t.Errorf("the service worker does not keep %s", p)
		}
	}
}

// TestVendored holds what is vendored to the sums in VENDOR.md.
func TestVendored(t *testing.T) {
	const dir = "static/vendor/"
	table, err := os.ReadFile(dir + "VENDOR.md")
	if err != nil {
		t.Fatal(err)
	}
	sums := map[string]string{}
	for _, m := range regexp.MustCompile(`(?m)^\| (\S+\.js) \|.*\| ([0-9a-f]{64}) \|$`).FindAllStringSubmatch(string(table), -1) {
		sums[m[1]] = m[2]
	}
	files, err := fs.Glob(embedded, dir+"*.js")
	if err != nil {
		t.Fatal(err)
	}
	if len(files) != len(sums) || len(files) == 0 {
		t.Errorf("%d files and %d sums", len(files), len(sums))
	}
	for _, name := range files {
		text, err := embedded.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		sum := sha256.Sum256(text)
		if got, want := hex.EncodeToString(sum[:]), sums[path.Base(name)]; got != want {
			t.Errorf("%s has the sum %s, VENDOR.md says %q", name, got, want)
		}
		if f := loaded(t).assets["vendor/"+path.Base(name)]; !bytes.Equal(f.body, text) {
			t.Errorf("%s is not served as it is", name)
		}
	}
}
