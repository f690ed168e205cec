package browser

import (
	"fmt"
	"maps"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fringework/api/web"
	"fringework/integration/browser/chrome"
)

var importMap = regexp.MustCompile(`<script type="importmap">.*?</script>`)

// unitServer serves the pages' modules, the tests of testdata/unit, and an empty
// page to run them in, which knows where the modules are.
func unitServer(t *testing.T) string {
	t.Helper()
	tests := http.StripPrefix("/unit/", http.FileServer(http.Dir("testdata/unit")))
	blank := ""
	site := web.Handler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path != "/blank" {
			tests.ServeHTTP(w, r)
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		fmt.Fprintf(w, "<!doctype html><title>Tests</title><link rel=icon href=data:,>%s<body>", blank)
	}))
	answer := httptest.NewRecorder()
	site.ServeHTTP(answer, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/green", nil))
	if blank = importMap.FindString(answer.Body.String()); blank == "" {
		t.Fatal("the page has no import map")
	}
	server := httptest.NewServer(site)
	t.Cleanup(server.Close)
	return strings.Replace(server.URL, "127.0.0.1", "localhost", 1)
}

// TestModules runs the tests of the pages' modules, which are in testdata/unit.
func TestModules(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob("testdata/unit/*.test.js")
	if err != nil || len(files) < 3 {
		t.Fatalf("found the files %v, error %v; want those of the log, the outbox and the drafts", files, err)
	}
	devices := newDevices(t, unitServer(t), 3)
	for _, path := range files {
		file := filepath.Base(path)
		t.Run(strings.TrimSuffix(file, ".test.js"), func(t *testing.T) {
			t.Parallel()
			d := <-devices
			defer func() { devices <- d }()
			d.restart(t)
			tests, err := chrome.Eval[map[string]int](d.tab, fmt.Sprintf(`import("/unit/%s")
				.then(({ tests }) => Object.fromEntries(Object.entries(tests).map(([name, steps]) => [name, [steps].flat().length])))`, file))
			if err != nil || len(tests) == 0 {
				t.Fatalf("%s has the tests %v, error %v", file, tests, err)
			}
			for _, name := range slices.Sorted(maps.Keys(tests)) {
				t.Run(name, func(t *testing.T) { d.run(t, file, name, tests[name]) })
			}
		})
	}
}

// newDevices are so many devices, for as many files at a time.
func newDevices(t *testing.T, url string, n int) chan *device {
	t.Helper()
	devices := make(chan *device, n)
	for range n {
		devices <- newDevice(t, url)
	}
	return devices
}

// device is a tab that tests of modules are run in, one after the other.
type device struct {
	tab *chrome.Tab
	url string
}

func newDevice(t *testing.T, url string) *device {
	t.Helper()
	profile, err := chromium.Fresh()
	if err != nil {
		t.Fatal(err)
	}
	profile.Before(chrome.ClockOff(clock.Off))
	t.Cleanup(func() {
		if err := profile.Close(); err != nil {
			t.Error(err)
		}
	})
	d := &device{url: url}
	if d.tab, err = profile.Tab(390, 844); err != nil {
		t.Fatal(err)
	}
	return d
}

// restart takes everything but what is stored, as a phone that dies does.
func (d *device) restart(t *testing.T) {
	t.Helper()
	if err := d.tab.Open(d.url + "/blank"); err != nil {
		t.Fatal(err)
	}
}

// run runs a test of so many steps, which begins with nothing stored.
func (d *device) run(t *testing.T, file, name string, steps int) {
	t.Helper()
	d.restart(t)
	if err := d.tab.Forget(d.url, chrome.Everything); err != nil {
		t.Fatal(err)
	}
	for step := range steps {
		if step > 0 {
			d.restart(t)
		}
		failed, err := chrome.Eval[string](d.tab, fmt.Sprintf(`import("/unit/%s")
			.then(({ tests }) => [tests[%q]].flat()[%d]())
			.then(() => "", (e) => e.stack ?? String(e))`, file, name, step))
		if err != nil || failed != "" {
			t.Fatalf("step %d of %d: %s %v", step+1, steps, failed, err)
		}
	}
	for _, text := range d.tab.Errors() {
		t.Errorf("the page had an error: %s", text)
	}
}
