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

// Mutant is one small change of one source file.
type Mutant struct {
	File string
	Line int
	// Func is the function or the declaration it is in: "Odds.step".
	Func string
	// Text is the source line as it stands, without its indentation.
	Text string
	// Change says what is done: "< → <=". Where a line allows the same change
	// twice, the later ones are numbered: "0 → 1, 2nd".
	Change string

	from, to int // bytes of the file that are replaced
	with     string
	inBody   bool // of a function
}

// Apply gives the file's source with the change made. Lines keep their numbers.
func (m Mutant) Apply(source []byte) []byte {
	lines := strings.Repeat("\n", strings.Count(string(source[m.from:m.to]), "\n")-strings.Count(m.with, "\n"))
	return slices.Concat(source[:m.from], []byte(m.with+lines), source[m.to:])
}

// operators says what an operator is replaced by.
var operators = map[token.Token][]token.Token{
	token.LSS: {token.LEQ, token.GEQ}, token.LEQ: {token.LSS, token.GTR},
	token.GTR: {token.GEQ, token.LEQ}, token.GEQ: {token.GTR, token.LSS},
	token.EQL: {token.NEQ}, token.NEQ: {token.EQL},
	token.LAND: {token.LOR}, token.LOR: {token.LAND},
	token.ADD: {token.SUB}, token.SUB: {token.ADD},
	token.MUL: {token.QUO}, token.QUO: {token.MUL}, token.REM: {token.MUL},
	token.ADD_ASSIGN: {token.SUB_ASSIGN}, token.SUB_ASSIGN: {token.ADD_ASSIGN},
	token.MUL_ASSIGN: {token.QUO_ASSIGN}, token.QUO_ASSIGN: {token.MUL_ASSIGN},
	token.INC: {token.DEC}, token.DEC: {token.INC},
}

// leastFloat is the size from which a constant with a point is changed. Smaller
// ones are tolerances of rounding, which nobody can see.
const leastFloat = 1e-6

type maker struct {
	name   string
	fset   *token.FileSet
	source []byte
	lines  []string
	in     string
	body   *ast.BlockStmt // of the function, nil outside one
	seen   map[string]int
	found  []Mutant
}

// Mutants lists the mutants of a file in the order of its lines: comparisons
// and their boundaries, arithmetic, and/or, conditions negated, whole numbers
// one more and one less, other constants a tenth more and a tenth less, and
// statements left out.
func Mutants(name string, source []byte) ([]Mutant, error) {
	fset := token.NewFileSet()
	file, err := parser.ParseFile(fset, name, source, parser.SkipObjectResolution)
	if err != nil {
		return nil, err
	}
	m := maker{name: name, fset: fset, source: source, lines: strings.Split(string(source), "\n"), seen: map[string]int{}}
	for _, d := range file.Decls {
		m.in, m.body = nameOf(d), nil
		if f, ok := d.(*ast.FuncDecl); ok {
			m.body = f.Body
		}
		ast.Inspect(d, m.visit)
	}
	slices.SortStableFunc(m.found, func(a, b Mutant) int { return a.Line - b.Line })
	return m.found, nil
}

// nameOf is "Type.method", "function", or the first name declared.
func nameOf(d ast.Decl) string {
	switch d := d.(type) {
	case *ast.FuncDecl:
		if d.Recv == nil {
			return d.Name.Name
		}
		t := d.Recv.List[0].Type
		if star, ok := t.(*ast.StarExpr); ok {
			t = star.X
		}
		if generic, ok := t.(*ast.IndexExpr); ok {
			t = generic.X
		}
		return fmt.Sprint(t) + "." + d.Name.Name
	case *ast.GenDecl:
		for _, s := range d.Specs {
			switch s := s.(type) {
			case *ast.ValueSpec:
				return s.Names[0].Name
			case *ast.TypeSpec:
				return s.Name.Name
			}
		}
	}
	return ""
}

func (m *maker) visit(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.ImportSpec, *ast.StructType, *ast.InterfaceType:
		return false
	case *ast.ArrayType:
		ast.Inspect(n.Elt, m.visit)
		return false // a length that is wrong does not compile or does not matter
	case *ast.BinaryExpr:
		m.operator(n.OpPos, n.Op)
		if n.Op == token.LAND || n.Op == token.LOR {
			m.negate(n.X)
			m.negate(n.Y)
		}
	case *ast.CallExpr:
		if f := m.text(n.Fun); f == "math.Inf" || f == "math.IsInf" {
			for _, arg := range n.Args[:len(n.Args)-1] {
				ast.Inspect(arg, m.visit)
			}
			return false // of the last argument only the sign counts
		}
	case *ast.UnaryExpr:
		switch n.Op {
		case token.NOT:
			m.add(n.OpPos, n.X.Pos(), "", "! left out")
		case token.SUB:
			m.add(n.OpPos, n.X.Pos(), "", "minus left out")
		}
	case *ast.BasicLit:
		m.constant(n)
	case *ast.IncDecStmt:
		m.operator(n.TokPos, n.Tok)
	case *ast.AssignStmt:
		m.operator(n.TokPos, n.Tok)
	case *ast.IfStmt:
		m.negate(n.Cond)
	case *ast.ForStmt:
		m.negate(n.Cond)
	case *ast.BlockStmt:
		m.statements(n.List)
	case *ast.CaseClause:
		m.statements(n.Body)
	}
	return true
}

func (m *maker) operator(at token.Pos, op token.Token) {
	for _, other := range operators[op] {
		m.add(at, at+token.Pos(len(op.String())), other.String(), op.String()+" → "+other.String())
	}
}

// negate turns a condition around, unless another change does that: comparisons,
// and/or, and what is negated already.
func (m *maker) negate(e ast.Expr) {
	switch e := e.(type) {
	case *ast.Ident, *ast.CallExpr, *ast.SelectorExpr, *ast.IndexExpr:
		m.add(e.Pos(), e.Pos(), "!", m.text(e)+" negated")
	}
}

func (m *maker) constant(n *ast.BasicLit) {
	switch n.Kind {
	case token.INT:
		v, err := strconv.ParseInt(n.Value, 0, 64)
		if err != nil {
			return
		}
		for _, other := range []int64{v + 1, v - 1} {
			s := strconv.FormatInt(other, 10)
			m.add(n.Pos(), n.End(), bracketed(s), n.Value+" → "+s)
		}
	case token.FLOAT:
		v, err := strconv.ParseFloat(n.Value, 64)
		if err != nil || v != 0 && v < leastFloat {
			return
		}
		others := []float64{v * 1.1, v * 0.9}
		if v == 0 {
			others = []float64{0.1, -0.1}
		}
		for _, other := range others {
			s := strconv.FormatFloat(other, 'g', 6, 64)
			if !strings.ContainsAny(s, ".e") {
				s += ".0"
			}
			m.add(n.Pos(), n.End(), bracketed(s), n.Value+" → "+s)
		}
	}
}

// bracketed keeps a minus apart from one before it.
func bracketed(number string) string {
	if number[0] == '-' {
		return "(" + number + ")"
	}
	return number
}

func (m *maker) statements(list []ast.Stmt) {
	for _, s := range list {
		switch s := s.(type) {
		case *ast.ExprStmt, *ast.IncDecStmt, *ast.DeferStmt, *ast.BranchStmt:
		case *ast.AssignStmt:
			if s.Tok == token.DEFINE {
				continue
			}
		case *ast.ReturnStmt:
			if len(s.Results) > 0 {
				continue
			}
		default:
			continue
		}
		m.add(s.Pos(), s.End(), "{}", "left out: "+m.text(s))
	}
}

// text is a node's source on one line, cut short.
func (m *maker) text(n ast.Node) string {
	s := strings.Join(strings.Fields(string(m.source[m.fset.Position(n.Pos()).Offset:m.fset.Position(n.End()).Offset])), " ")
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}

func (m *maker) add(from, to token.Pos, with, change string) {
	at := m.fset.Position(from)
	key := fmt.Sprint(at.Line, change)
	m.seen[key]++
	switch n := m.seen[key]; n {
	case 1:
	case 2:
		change += ", 2nd"
	case 3:
		change += ", 3rd"
	default:
		change += fmt.Sprintf(", %dth", n)
	}
	m.found = append(m.found, Mutant{
		File: m.name, Line: at.Line, Func: m.in, Text: strings.TrimSpace(m.lines[at.Line-1]), Change: change,
		from: at.Offset, to: m.fset.Position(to).Offset, with: with,
		inBody: m.body != nil && from > m.body.Pos(),
	})
}
