package domain

// Page asks for a stretch of a list ordered by identity. Identities are
// time-ordered, so this is the order of creation, and rows added while somebody
// walks the pages are neither skipped nor repeated.
type Page struct {
	// After is the last identity already seen; empty for the start.
	After ID
	// Limit is how many at most, at least 1.
	Limit int
}
