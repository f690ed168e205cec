package domain

import "time"

// Page asks for a stretch of a list ordered by identity. Identities are
// time-ordered, so this is the order of creation, and rows added while somebody
// walks the pages are neither skipped nor repeated.
type Page struct {
	// After is the last identity already seen; empty for the start.
	After ID
	// Limit is how many at most, at least 1.
	Limit int
	// UpdatedSince, when set, keeps what was changed last at this instant or later, a
	// member or an assignment by the last event about it; for lists of these and of
	// programmes.
	UpdatedSince time.Time
}
