package describe

import (
	"go/ast"
	"go/token"
	"io/fs"
	"maps"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
)

// vocabulary is the words that the code says in two places where no list is kept:
// the codes of problems and the kinds of events. They are read from where they
// are raised and recorded, so a new one is described without another line.
type vocabulary struct {
	codes, kinds map[string]bool
	// raising are the functions that refuse, with the place among their parameters
	// of the one that is called code.
	raising map[string]int
}

// readVocabulary reads the packages in which requests are refused and changes
// recorded.
func readVocabulary(root string) (v vocabulary, err error) {
	v = vocabulary{codes: map[string]bool{}, kinds: map[string]bool{}, raising: map[string]int{}}
	files, err := refusingFiles(root)
	for _, file := range files {
		ast.Inspect(file, v.noteRaising)
	}
	for _, file := range files {
		ast.Inspect(file, v.noteCode)
		if file.Name.Name != "api" && file.Name.Name != "repo" { // what records events
			ast.Inspect(file, v.noteKind)
		}
	}
	return v, err
}

// refusingFiles parses the packages in which requests are refused.
func refusingFiles(root string) (all []*ast.File, err error) {
	for _, top := range []string{"api", "auth", "domain", "repo"} {
		err := filepath.WalkDir(filepath.Join(root, top), func(path string, d fs.DirEntry, err error) error {
			if err != nil || !d.IsDir() {
				return err
			}
			switch d.Name() {
			case "testdata", "web", "domaintest", "authtest", "repotest", "learners":
				return filepath.SkipDir
			}
			files, err := parseDir(path)
			all = append(all, files...)
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	return all, nil
}

var (
	codeForm = regexp.MustCompile(`^[a-z]+(_[a-z]+)*$`)
	// A kind is a noun and a past participle. An irregular one is named here.
	kindForm = regexp.MustCompile(`^[a-z]+(-[a-z]+)?\.([a-z]+ed|made|held|sent|given|left|withdrawn|rebuilt)$`)
)

func (v vocabulary) noteRaising(n ast.Node) bool {
	f, ok := n.(*ast.FuncDecl)
	if !ok {
		return true
	}
	place := 0
	for _, field := range f.Type.Params.List {
		for _, name := range field.Names {
			if name.Name == "code" {
				v.raising[f.Name.Name] = place
			}
			place++
		}
	}
	return false
}

func (v vocabulary) noteCode(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.CallExpr:
		if at, ok := v.raising[calledName(n.Fun)]; ok && at < len(n.Args) {
			v.code(n.Args[at])
		}
	case *ast.CompositeLit:
		if name := calledName(n.Type); name != "Error" && name != "requestError" {
			return true
		}
		for _, element := range n.Elts {
			if pair, ok := element.(*ast.KeyValueExpr); ok && isCode(pair.Key) {
				v.code(pair.Value)
			}
		}
	case *ast.AssignStmt:
		for i, left := range n.Lhs {
			if len(n.Rhs) == len(n.Lhs) && isCode(left) {
				v.code(n.Rhs[i])
			}
		}
	case *ast.ValueSpec:
		for i, name := range n.Names {
			if i < len(n.Values) && name.Name == "scopeMissing" {
				v.code(n.Values[i])
			}
		}
	}
	return true
}

func (v vocabulary) noteKind(n ast.Node) bool {
	if text, ok := literalText(n); ok && kindForm.MatchString(text) {
		v.kinds[text] = true
	}
	return true
}

func literalText(n ast.Node) (string, bool) {
	literal, ok := n.(*ast.BasicLit)
	if !ok || literal.Kind != token.STRING {
		return "", false
	}
	text, err := strconv.Unquote(literal.Value)
	return text, err == nil
}

func isCode(n ast.Expr) bool {
	name, ok := n.(*ast.Ident)
	return ok && (name.Name == "code" || name.Name == "Code")
}

func (v vocabulary) code(value ast.Expr) {
	if text, ok := literalText(value); ok && codeForm.MatchString(text) {
		v.codes[text] = true
	}
}

// calledName is the name of a function or type without its package.
func calledName(n ast.Expr) string {
	switch n := n.(type) {
	case *ast.Ident:
		return n.Name
	case *ast.SelectorExpr:
		return n.Sel.Name
	}
	return ""
}

// enumerate writes the words into the two properties that have them.
func (v vocabulary) enumerate(doc object) {
	schemas := doc["components"].(object)["schemas"].(object)
	set := func(schema, property string, words map[string]bool) {
		all := list{}
		for _, word := range slices.Sorted(maps.Keys(words)) {
			all = append(all, word)
		}
		schemas[schema].(object)["properties"].(object)[property].(object)["enum"] = all
	}
	set("Problem", "code", v.codes)
	set("Event", "kind", v.kinds)
}
