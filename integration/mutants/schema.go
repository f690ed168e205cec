package main

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"slices"
	"strconv"
	"strings"
)

// chosen is the environment variable that names the mutant to be, and
// switchFile the file, added to the package, that reads it.
const (
	chosen     = "MUTANT"
	switchFile = "mutant_chosen.go"
)

// switchSource reads the mutant's number; none is below 0.
func switchSource(pkg string) string {
	return fmt.Sprintf(`package %s

import (
	"os"
	"strconv"
)

var mutantChosen = func() int {
	n, err := strconv.Atoi(os.Getenv(%q))
	if err != nil {
		return -1
	}
	return n
}()
`, pkg, chosen)
}

// schema is a file that is all of its mutants at once: behind each function
// stand copies of it, each with one change, and the function begins by calling
// the copy that is chosen. One compiled test binary thus serves them all.
type schema struct {
	source []byte
	// copies says from which line on a copy stands, and whose.
	copies []copyOf
}

type copyOf struct{ line, mutant int }

// at gives the mutant whose copy a line belongs to.
func (s schema) at(line int) (mutant int, ok bool) {
	for _, c := range s.copies {
		if c.line <= line {
			mutant, ok = c.mutant, c.mutant >= 0
		}
	}
	return mutant, ok
}

// schemaOf makes the file of the numbered mutants. Those outside the body of a
// function cannot be chosen while the program runs and must be left out of
// mutants.
func schemaOf(name string, source []byte, mutants map[int]Mutant) (schema, error) {
	fset := token.NewFileSet()
	file, err := parser.ParseFile(fset, name, source, parser.SkipObjectResolution)
	if err != nil {
		return schema{}, err
	}
	offset := func(p token.Pos) int { return fset.Position(p).Offset }
	var b strings.Builder
	var s schema
	line := func() int { return strings.Count(b.String(), "\n") + 1 }
	written := 0
	numbers := sortedKeys(mutants)
	for _, d := range file.Decls {
		f, ok := d.(*ast.FuncDecl)
		if !ok || f.Body == nil {
			continue
		}
		var own []int
		for _, n := range numbers {
			if m := mutants[n]; m.from > offset(f.Body.Pos()) && m.from < offset(f.Body.End()) {
				own = append(own, n)
			}
		}
		if len(own) == 0 {
			continue
		}
		h := headOf(f, func(n ast.Node) string { return string(source[offset(n.Pos()):offset(n.End())]) })
		b.Write(source[written:offset(f.Pos())])
		fmt.Fprintf(&b, "%s {\nswitch mutantChosen {\n", h.declared(f.Name.Name))
		for _, n := range own {
			fmt.Fprintf(&b, "case %d:\n%s\n", n, h.call(n))
		}
		b.WriteString("}\n")
		b.Write(source[offset(f.Body.Pos())+1 : offset(f.Body.End())])
		b.WriteString("\n")
		for _, n := range own {
			s.copies = append(s.copies, copyOf{line(), n})
			body := offset(f.Body.Pos())
			m := mutants[n]
			m.from, m.to = m.from-body, m.to-body
			fmt.Fprintf(&b, "%s ", h.declared(copyName(f.Name.Name, n)))
			b.Write(m.Apply(source[body:offset(f.Body.End())]))
			b.WriteString("\n")
		}
		s.copies = append(s.copies, copyOf{line(), -1})
		written = offset(f.End())
	}
	b.Write(source[written:])
	s.source = []byte(b.String())
	return s, nil
}

func sortedKeys(m map[int]Mutant) []int {
	var keys []int
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

func copyName(name string, n int) string { return name + "Mutant" + strconv.Itoa(n) }

// head is what a function is called by: every parameter has a name.
type head struct {
	receiver, receiverName string
	name                   string
	typeParams, typeArgs   string
	params, args           string
	results                string
}

func headOf(f *ast.FuncDecl, text func(ast.Node) string) (h head) {
	h.name = f.Name.Name
	unnamed := 0
	named := func(id *ast.Ident) string {
		if id != nil && id.Name != "_" {
			return id.Name
		}
		unnamed++
		return fmt.Sprintf("unnamed%d", unnamed)
	}
	if f.Recv != nil {
		r := f.Recv.List[0]
		var id *ast.Ident
		if len(r.Names) > 0 {
			id = r.Names[0]
		}
		h.receiverName = named(id)
		h.receiver = "(" + h.receiverName + " " + text(r.Type) + ") "
	}
	if p := f.Type.TypeParams; p != nil {
		h.typeParams = text(p)
		var args []string
		for _, field := range p.List {
			for _, id := range field.Names {
				args = append(args, id.Name)
			}
		}
		h.typeArgs = "[" + strings.Join(args, ", ") + "]"
	}
	var params, args []string
	for _, field := range f.Type.Params.List {
		names := field.Names
		if len(names) == 0 {
			names = []*ast.Ident{nil}
		}
		for _, id := range names {
			name := named(id)
			params = append(params, name+" "+text(field.Type))
			if _, variadic := field.Type.(*ast.Ellipsis); variadic {
				name += "..."
			}
			args = append(args, name)
		}
	}
	h.params, h.args = strings.Join(params, ", "), strings.Join(args, ", ")
	if f.Type.Results != nil {
		h.results = " " + text(f.Type.Results)
	}
	return h
}

func (h head) declared(name string) string {
	return "func " + h.receiver + name + h.typeParams + "(" + h.params + ")" + h.results
}

// call hands over to the copy of mutant n and returns.
func (h head) call(n int) string {
	call := copyName(h.name, n) + h.typeArgs + "(" + h.args + ")"
	if h.receiver != "" {
		call = h.receiverName + "." + call
	}
	if h.results == "" {
		return call + "\nreturn"
	}
	return "return " + call
}
