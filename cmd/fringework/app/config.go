package app

import (
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strings"

	"github.com/alecthomas/kong"
)

// file is flags as a JSON file gives them: their names with underscores, such
// as {"signing_keys_file": "keys.json", "trusted_proxies": 1}.
type file map[string]any

// fromFile reads flags from a JSON file.
func fromFile(r io.Reader) (kong.Resolver, error) {
	f := file{}
	if err := json.NewDecoder(r).Decode(&f); err != nil {
		return nil, fmt.Errorf("the configuration file must be a JSON object such as {\"database\": \"sqlite:academy.db\"}: %w", plainly(err))
	}
	return f, nil
}

func nameInFile(f *kong.Flag) string { return strings.ReplaceAll(f.Name, "-", "_") }

// Validate refuses names that no command has a flag for, which would change
// nothing without a word.
func (f file) Validate(app *kong.Application) error {
	known := map[string]bool{}
	err := kong.Visit(app, func(node kong.Visitable, next kong.Next) error {
		if flag, ok := node.(*kong.Flag); ok {
			known[nameInFile(flag)] = true
		}
		return next(nil)
	})
	for _, name := range slices.Sorted(maps.Keys(f)) {
		if err == nil && !known[name] {
			err = fmt.Errorf("the configuration file has %q, which is not a flag; write names like signing_keys_file", name)
		}
	}
	return err
}

// Resolve gives a flag's value. The environment comes first.
func (f file) Resolve(_ *kong.Context, _ *kong.Path, flag *kong.Flag) (any, error) {
	for _, name := range flag.Envs {
		if os.Getenv(name) != "" {
			return nil, nil
		}
	}
	return f[nameInFile(flag)], nil
}
