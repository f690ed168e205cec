package migrations

import (
	"context"
	"database/sql"
)

// Down takes back every step after one, 0 for all of them. The program never
// does; the test that every step can be taken back does.
func Down(ctx context.Context, engine Engine, db *sql.DB, to int64) error {
	p, err := provider(engine, db)
	if err != nil {
		return err
	}
	_, err = p.DownTo(ctx, to)
	return err
}
