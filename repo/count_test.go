package repo

import "context"

// countStatements gives a context whose statements are counted; each may be nil.
func countStatements(ctx context.Context, each func(sql string)) (context.Context, *counter) {
	c := &counter{each: each}
	return context.WithValue(ctx, counterKey{}, c), c
}

// count is how many there were so far.
func (c *counter) count() int { return int(c.n.Load()) }
