package web

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"maps"
	"path"
	"regexp"
	"slices"
	"strings"
	"text/template"
)

// shell is a page as it is served: nothing but what to load.
type shell struct {
	path   string
	title  string
	entry  string // module that draws the page
	styles []string
	// hidden keeps search engines from listing the page.
	hidden bool
}

var shells = []shell{
	{path: "/", title: "Fringework", entry: "front/main.js", styles: []string{"base/base.css", "front/front.css"}},
	{path: "/join", title: "Accept an invitation · Fringework", entry: "front/main.js", styles: []string{"base/base.css", "front/front.css"}},
	{path: "/account", title: "Your account · Fringework", entry: "front/account.js", styles: []string{"base/base.css", "base/later.css", "front/front.css"}, hidden: true},
	{path: "/reset", title: "New password · Fringework", entry: "front/links.js", styles: []string{"base/base.css", "front/front.css"}, hidden: true},
	{path: "/forgotten", title: "Forgotten password · Fringework", entry: "front/links.js", styles: []string{"base/base.css", "front/front.css"}, hidden: true},
	{path: "/confirm", title: "Confirm your address · Fringework", entry: "front/links.js", styles: []string{"base/base.css", "front/front.css"}, hidden: true},
	{path: "/begin", title: "Make your academy · Fringework", entry: "front/links.js", styles: []string{"base/base.css", "front/front.css"}, hidden: true},
	{path: "/connect", title: "Connect an app · Fringework", entry: "front/connect.js", styles: []string{"base/base.css", "base/later.css", "front/front.css"}, hidden: true},
	{path: "/apps", title: "Connected apps · Fringework", entry: "front/apps.js", styles: []string{"base/base.css", "base/later.css", "front/front.css"}, hidden: true},
	{path: "/report", title: "Progress report · Fringework", entry: "front/report.js", styles: []string{"base/base.css", "base/later.css", "front/front.css"}, hidden: true},
	{path: "/privacy", title: "What is kept · Fringework", entry: "front/privacy.js", styles: []string{"base/base.css", "front/front.css"}},
	{path: "/green", title: "Fringework", entry: "green/main.js", styles: []string{"base/base.css", "green/green.css"}},
	{path: "/desk", title: "Fringework", entry: "desk/main.js", styles: []string{"base/base.css", "base/later.css", "desk/desk.css"}},
}

// bare are the names that modules import the vendored ones by.
var bare = map[string]string{
	"preact":               "vendor/preact.js",
	"preact/hooks":         "vendor/preact-hooks.js",
	"@preact/signals":      "vendor/preact-signals.js",
	"@preact/signals-core": "vendor/preact-signals-core.js",
	"htm":                  "vendor/htm.js",
}

// makeShells fills the template for each page. Everything in it is ours, so it
// is put in as it is.
func (s *site) makeShells(text string) error {
	tmpl, err := template.New("shell").Parse(text)
	if err != nil {
		return err
	}
	imports, err := s.importMap()
	if err != nil {
		return err
	}
	sum := sha256.Sum256(imports)
	// Nothing from elsewhere, no script but our files and this import map, no
	// style but our files, photos and clips only those fetched by our files, and nobody may
	// frame the page.
	policy := "default-src 'self'; script-src 'self' 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) +
		"'; img-src 'self' blob:; media-src 'self' blob:; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
	for _, page := range shells {
		var b strings.Builder
		err := tmpl.Execute(&b, map[string]any{
			"Title": page.title, "Assets": s.assetRoot(), "Styles": page.styles, "Entry": page.entry,
			"ImportMap": string(imports), "Preload": s.needs(page.entry),
		})
		if err != nil {
			return err
		}
		f, err := newFile(page.path+".html", []byte(b.String()))
		if err != nil {
			return err
		}
		f.policy, f.build, f.hidden = policy, s.build, page.hidden
		s.pages[page.path] = f
	}
	return nil
}

// importMap tells browsers where the vendored modules are.
func (s *site) importMap() ([]byte, error) {
	at := map[string]string{}
	for name, file := range bare {
		at[name] = s.assetRoot() + file
	}
	return json.Marshal(map[string]any{"imports": at})
}

// staticImport finds what a module imports before it runs: import … from "x",
// export … from "x" and import "x", but not import("x").
var staticImport = regexp.MustCompile(`(?:\bfrom|\bimport)\s*["']([^"'\n]+)["']`)

// importsOf lists the assets that a module imports before it runs.
func (s *site) importsOf(name string) []string {
	var found []string
	for _, m := range staticImport.FindAllSubmatch(s.assets[name].body, -1) {
		target, ok := bare[string(m[1])]
		if !ok && strings.HasPrefix(string(m[1]), ".") {
			target = path.Join(path.Dir(name), string(m[1]))
		}
		if s.assets[target] != nil {
			found = append(found, target)
		}
	}
	return found
}

// needs lists all modules that an entry needs before it runs, but for itself,
// so that the browser fetches them at once instead of one import after another.
func (s *site) needs(entry string) []string {
	seen := map[string]bool{entry: true}
	for queue := []string{entry}; len(queue) > 0; queue = queue[1:] {
		for _, next := range s.importsOf(queue[0]) {
			if !seen[next] {
				seen[next] = true
				queue = append(queue, next)
			}
		}
	}
	delete(seen, entry)
	return slices.Sorted(maps.Keys(seen))
}
