package practice

import (
	"fringework/domain/academy"
	"fringework/domain/course"
	"fringework/domain/progress"
)

// Dossier is all that an academy keeps about one member.
type Dossier struct {
	Academy  academy.Academy
	Member   academy.Member
	Sessions []Session
	// Comments are those under the sessions.
	Comments []Comment
	Rounds   []course.Round
	States   []progress.State
	// Records are the rest, as they are kept.
	Records []Record
}

// Record is some rows of one kind, as they are kept: values of JSON by the names of
// what they are kept in. Instants are RFC 3339, lengths tenths of a millimetre.
type Record struct {
	Kind string
	Rows []map[string]any
}
