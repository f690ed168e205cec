// Package domain holds what every part of the trade shares: identities, who is
// asking, lengths, events and the closed set of ways a request can fail. It
// and its sub-packages import no HTTP, no SQL, no clock and no randomness.
package domain

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Kind is the closed set of failures a use case can report. The edge (package
// api) holds the only switch that turns them into a protocol's codes.
type Kind int

// The kinds of failure.
const (
	// Internal is everything unexpected; its text is for the log alone.
	Internal Kind = iota
	// Invalid is well-formed input that breaks a rule; Fields says where.
	Invalid
	// Unauthenticated means that nobody, or nobody valid, is asking.
	Unauthenticated
	// Forbidden means that the asker may know of the thing but not do this.
	Forbidden
	// NotFound means absent, or that its existence is none of the asker's
	// business.
	NotFound
	// Conflict means that the request contradicts what stands; Error.Stored
	// may carry what does.
	Conflict
	// Stale means that a precondition (a version the asker had read) no longer
	// holds.
	Stale
	// TooMany means that the asker must wait; Error.RetryAfter says how long.
	TooMany
	kinds // number of kinds, for the test that walks them
)

// Kinds lists every kind, so that a test can hold the edge to all of them.
func Kinds() []Kind {
	all := make([]Kind, kinds)
	for i := range all {
		all[i] = Kind(i)
	}
	return all
}

// Standing is what the service has instead of what was sent.
type Standing struct {
	Revision int
	// Deleted tells whether a deletion stands, of what can be brought back.
	Deleted *bool
}

// Field is one thing wrong with an input.
type Field struct {
	// Pointer is an RFC 6901 JSON pointer into the request body, or the name
	// of a query or path parameter when it does not start with a slash.
	Pointer string
	// Place is the pointer in words, where there are any: "week 2, plan 1".
	Place string
	// Detail says what is wrong and what would be right; it begins with the place.
	Detail string
}

// Error is a failure that its reader can act on.
type Error struct {
	Kind Kind
	// Code is a stable, machine-readable name such as "shares_sum".
	Code string
	// Detail is a sentence for the person, without internal text.
	Detail string
	Fields []Field
	// RetryAfter is in whole seconds, for TooMany.
	RetryAfter int
	// Stored is what the service has instead, for Conflict and Stale.
	Stored *Standing
	cause  error
}

// Error implements error.
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.Code)
	if e.Detail != "" {
		b.WriteString(": " + e.Detail)
	}
	for _, f := range e.Fields {
		fmt.Fprintf(&b, " [%s: %s]", f.Pointer, f.Detail)
	}
	if e.cause != nil {
		b.WriteString(": " + e.cause.Error())
	}
	return b.String()
}

// Unwrap gives the cause, for the log.
func (e *Error) Unwrap() error { return e.cause }

// Because attaches a cause for the log; the person never sees it.
func (e *Error) Because(cause error) *Error {
	c := *e
	c.cause = cause
	return &c
}

// Errorf makes an error of a kind.
func Errorf(kind Kind, code, format string, args ...any) *Error {
	return &Error{Kind: kind, Code: code, Detail: fmt.Sprintf(format, args...)}
}

// ErrNotFound says that a thing is absent or hidden; what names it ("session").
func ErrNotFound(what string) *Error {
	it := "it"
	switch what {
	case "student", "coach", "member":
		it = "them"
	}
	return Errorf(NotFound, "not_found", "There is no such %s, or you may not see %s.", what, it)
}

// KindOf reports the kind of err: Internal unless an *Error is in its chain.
func KindOf(err error) Kind {
	if e, ok := errors.AsType[*Error](err); ok {
		return e.Kind
	}
	return Internal
}

// Problems collects everything wrong with an input, so that it is told at once.
type Problems struct{ fields []Field }

// Add notes one problem at an RFC 6901 pointer.
func (p *Problems) Add(pointer, format string, args ...any) {
	for i, arg := range args {
		if x, ok := arg.(float64); ok {
			args[i] = number(x)
		}
	}
	p.fields = append(p.fields, Field{Pointer: pointer, Detail: fmt.Sprintf(format, args...)})
}

// number is written as people write it: 1000000, not 1e+06.
type number float64

// Format implements fmt.Formatter.
func (x number) Format(s fmt.State, verb rune) {
	const huge = 1e15
	if verb == 'v' && math.Abs(float64(x)) < huge {
		fmt.Fprint(s, strconv.FormatFloat(float64(x), 'f', -1, 64))
		return
	}
	fmt.Fprintf(s, fmt.FormatString(s, verb), float64(x))
}

// Beside notes further problems, except at what has one already, within it, or at
// what it is a member of: what could not be read is not to be judged as well. Of two
// that are new at one place, the first is noted.
func (p *Problems) Beside(more []Field) {
	told, around := map[string]bool{}, map[string]bool{}
	for _, f := range p.fields {
		told[f.Pointer] = true
		around[parentOf(f.Pointer)] = true
	}
	within := func(pointer string) bool {
		for pointer != "" && !told[pointer] {
			pointer = parentOf(pointer)
		}
		return told[pointer]
	}
	added := map[string]bool{}
	for _, f := range more {
		if !within(f.Pointer) && !around[f.Pointer] && !added[f.Pointer] {
			p.fields = append(p.fields, f)
			added[f.Pointer] = true
		}
	}
}

// parentOf is the pointer to what holds the part that a pointer is to; the whole
// holds itself.
func parentOf(pointer string) string {
	return pointer[:max(0, strings.LastIndexByte(pointer, '/'))]
}

// Entries notes a list without entries, or with more than it may have; what names
// them in the plural ("students").
func (p *Problems) Entries(pointer, what string, n, most int) {
	switch {
	case n == 0:
		p.Add(pointer, "is missing or empty; give 1 to %d %s", most, what)
	case n > most:
		p.Add(pointer, "has %d %s; give at most %d", n, what, most)
	}
}

// Fields gives what was noted so far.
func (p *Problems) Fields() []Field { return p.fields }

// Err is nil when nothing was noted, and otherwise an Invalid error with code.
func (p *Problems) Err(code, detail string) error {
	return ErrInvalid(p.fields, code, detail)
}

// ErrInvalid is nil without fields, and otherwise an Invalid error with code.
func ErrInvalid(fields []Field, code, detail string) error {
	if len(fields) == 0 {
		return nil
	}
	return &Error{Kind: Invalid, Code: code, Detail: detail, Fields: fields}
}

// AddAt notes one problem at a pointer whose place is told in words, before it.
func (p *Problems) AddAt(pointer, place, format string, args ...any) {
	p.fields = append(p.fields, Field{Pointer: pointer, Place: place, Detail: place + ": " + fmt.Sprintf(format, args...)})
}

// FieldsOf gives the fields of an *Error in err's chain, or nil.
func FieldsOf(err error) []Field {
	if e, ok := errors.AsType[*Error](err); ok {
		return e.Fields
	}
	return nil
}

// PointerToken escapes one token of an RFC 6901 JSON pointer.
func PointerToken(s string) string {
	return strings.NewReplacer("~", "~0", "/", "~1").Replace(s)
}
