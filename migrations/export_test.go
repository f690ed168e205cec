package migrations

import (
	"context"
	"database/sql"

	"github.com/pressly/goose/v3"
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

// Steps are the numbers of an engine's steps, in order. Some are missing.
func Steps(engine Engine) (numbers []int64) {
	entries, _ := files.ReadDir(string(engine))
	for _, e := range entries {
		n, _ := goose.NumericComponent(e.Name())
		numbers = append(numbers, n)
	}
	return numbers
}
