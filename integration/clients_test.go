package integration_test

import (
	"crypto/sha256"
	"encoding/hex"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// TestClients generates clients from the description with tools that know nothing of
// this service, and does the main job with each on both engines: see
// clients/go/main.go and clients/typescript/job.ts.
func TestClients(t *testing.T) {
	description, err := filepath.Abs("../openapi/openapi.json")
	if err != nil {
		t.Fatal(err)
	}
	commands := map[string][]string{"Go": goClient(t, description), "TypeScript": typeScriptClient(t, description)}
	onBoth(t, func(t *testing.T, e engine) {
		s := start(t, e)
		for name, command := range commands {
			args := slices.Concat(command[1:], []string{s.url, clock.Now().UTC().Format(time.RFC3339)})
			if out := runIn(t, t.TempDir(), command[0], args...); out != "done\n" {
				t.Errorf("the client in %s says %q", name, out)
			}
		}
	})
}

// runIn runs a program that must succeed and gives what it writes.
func runIn(t *testing.T, dir, name string, args ...string) string {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), name, args...)
	cmd.Dir = dir
	var errs strings.Builder
	cmd.Stderr = &errs
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s%s", name, strings.Join(args, " "), err, out, &errs)
	}
	return string(out)
}

// copied copies files into a folder of the test's own.
func copied(t *testing.T, from string, names ...string) string {
	t.Helper()
	dir := t.TempDir()
	for _, name := range names {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(readFile(t, filepath.Join(from, name))), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// goClient generates and builds the client in Go.
func goClient(t *testing.T, description string) []string {
	t.Helper()
	dir := copied(t, "clients/go", "go.mod", "go.sum", "main.go", "oapi-codegen.yaml")
	if err := os.Mkdir(filepath.Join(dir, "api"), 0o700); err != nil {
		t.Fatal(err)
	}
	runIn(t, dir, "go", "tool", "oapi-codegen", "-config", "oapi-codegen.yaml", description)
	runIn(t, dir, "go", "build", "-trimpath", "-o", "client", ".") // so that the cache knows it again
	return []string{filepath.Join(dir, "client")}
}

// typeScriptClient generates the types, compiles the job strictly, and gives how to
// run it.
func typeScriptClient(t *testing.T, description string) []string {
	t.Helper()
	modules := nodeModules(t, "clients/typescript")
	dir := copied(t, "clients/typescript", "package.json", "tsconfig.json", "job.ts", "process.d.ts")
	if err := os.Symlink(modules, filepath.Join(dir, "node_modules")); err != nil {
		t.Fatal(err)
	}
	runIn(t, dir, "node", "node_modules/openapi-typescript/bin/cli.js", description, "--output", "api.ts")
	runIn(t, dir, "node", "node_modules/typescript/bin/tsc", "--project", ".")
	return []string{"node", filepath.Join(dir, "out", "job.js")}
}

// nodeModules installs what a package-lock.json names, once for each content of it.
func nodeModules(t *testing.T, from string) string {
	t.Helper()
	cache, err := os.UserCacheDir()
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256([]byte(readFile(t, filepath.Join(from, "package-lock.json"))))
	kept := filepath.Join(cache, "fringework-test", hex.EncodeToString(sum[:8]))
	modules := filepath.Join(kept, "node_modules")
	if _, err := os.Stat(modules); err == nil {
		return modules
	}
	if err := os.MkdirAll(filepath.Dir(kept), 0o755); err != nil {
		t.Fatal(err)
	}
	fresh, err := os.MkdirTemp(filepath.Dir(kept), "installing-") //nolint:usetesting // beside what it is renamed to
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = os.RemoveAll(fresh) }() // what could not be renamed
	for _, name := range []string{"package.json", "package-lock.json"} {
		if err := os.WriteFile(filepath.Join(fresh, name), []byte(readFile(t, filepath.Join(from, name))), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	runIn(t, fresh, "npm", "ci", "--prefer-offline", "--no-audit", "--no-fund", "--ignore-scripts")
	if err := os.Rename(fresh, kept); err != nil && !os.IsExist(err) { // another run may have been faster
		t.Fatal(err)
	}
	return modules
}
