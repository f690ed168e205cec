// Package layout holds the shape of the module: which package may know which.
package layout

import (
	"encoding/json"
	"os/exec"
	"path"
	"slices"
	"strings"
	"testing"
)

const module = "fringework"

type pkg struct {
	ImportPath string
	Imports    []string
	Deps       []string
	Standard   bool
}

// list runs go list, which is what the compiler goes by.
func list(t *testing.T, args ...string) []pkg {
	t.Helper()
	cmd := exec.Command("go", append([]string{"list", "-json=ImportPath,Imports,Deps,Standard"}, args...)...)
	cmd.Dir = "../.."
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list %v: %v", args, err)
	}
	var pkgs []pkg
	for dec := json.NewDecoder(strings.NewReader(string(out))); dec.More(); {
		var p pkg
		if err := dec.Decode(&p); err != nil {
			t.Fatal(err)
		}
		pkgs = append(pkgs, p)
	}
	return pkgs
}

// part names the top-level package that an import path belongs to.
func part(importPath string) string {
	rest, ok := strings.CutPrefix(importPath, module+"/")
	if !ok {
		return ""
	}
	top, _, _ := strings.Cut(rest, "/")
	return top
}

// TestArrows holds cmd → api → (auth, domain) ← repo. What only embeds files
// (migrations) knows nobody; openapi writes out the words of the domain, and the
// types of the calculations; the tests' own helpers may know all.
func TestArrows(t *testing.T) {
	may := map[string][]string{
		"cmd":         {"cmd", "api", "auth", "domain", "repo", "migrations", "openapi"},
		"api":         {"api", "auth", "domain"},
		"auth":        {"auth", "domain"},
		"repo":        {"repo", "auth", "domain", "migrations"},
		"domain":      {"domain"},
		"migrations":  {"migrations"},
		"openapi":     {"openapi", "api", "domain"},
		"integration": {"integration", "cmd", "api", "auth", "domain", "repo", "migrations", "openapi"},
	}
	for _, p := range list(t, "./...") {
		from := part(p.ImportPath)
		allowed, known := may[from]
		if !known {
			t.Errorf("%s is in no known part", p.ImportPath)
			continue
		}
		for _, imported := range p.Imports {
			if to := part(imported); to != "" && !slices.Contains(allowed, to) {
				t.Errorf("%s imports %s, against the arrows", p.ImportPath, imported)
			}
		}
	}
}

// TestDomainOrder holds the order inside the domain: what is on the left is
// known by what is on the right.
func TestDomainOrder(t *testing.T) {
	order := []string{"domain", "streak", "greenside", "curriculum", "estimate", "course", "progress", "advice", "learners", "academy", "practice", "webhook", "domaintest"}
	for _, p := range list(t, "./domain/...") {
		at := slices.Index(order, path.Base(p.ImportPath))
		if at < 0 {
			t.Errorf("%s has no place in the order of the domain", p.ImportPath)
			continue
		}
		for _, imported := range p.Imports {
			if part(imported) == "domain" && slices.Index(order, path.Base(imported)) >= at {
				t.Errorf("%s imports %s, against the order of the domain", p.ImportPath, imported)
			}
		}
	}
}

// TestTelemetryIsApart keeps metrics and traces out of all but the wiring: whoever tells
// of what they do has an interface of their own, and runs without.
func TestTelemetryIsApart(t *testing.T) {
	for _, p := range list(t, "./api/...", "./auth/...", "./domain/...", "./repo/...", "./cmd/fringework/services") {
		for _, dep := range p.Deps {
			if strings.HasPrefix(dep, "go.opentelemetry.io/") || strings.HasPrefix(dep, "github.com/prometheus/") {
				t.Errorf("%s depends on %s", p.ImportPath, dep)
			}
		}
	}
}

// thirdParty tells a module from the standard library and from this one.
func thirdParty(importPath string) bool {
	first, _, _ := strings.Cut(importPath, "/")
	return strings.Contains(first, ".")
}

// TestDomainIsPure keeps HTTP, SQL and everything third-party but numerical
// libraries out of the domain; indirectly too, but for what these bring along.
func TestDomainIsPure(t *testing.T) {
	for _, p := range list(t, "./domain/...") {
		if path.Base(p.ImportPath) == "domaintest" {
			continue // support for tests, which testing itself comes with
		}
		for _, dep := range p.Deps {
			switch {
			case dep == "net/http" || dep == "database/sql" || dep == "math/rand":
				t.Errorf("%s depends on %s", p.ImportPath, dep)
			case thirdParty(dep) && !strings.HasPrefix(dep, "gonum.org/") && !strings.HasPrefix(dep, "golang.org/x/"):
				t.Errorf("%s depends on %s, which is not numerical", p.ImportPath, dep)
			}
		}
		for _, dep := range p.Imports {
			if thirdParty(dep) && !strings.HasPrefix(dep, "gonum.org/") {
				t.Errorf("%s imports %s, which is not numerical", p.ImportPath, dep)
			}
		}
	}
}
