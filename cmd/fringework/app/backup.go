package app

import (
	"fmt"

	"fringework/repo"
)

type backupCmd struct {
	databaseFlag
	To string `arg:"" help:"The file to make; it must not exist yet." type:"path"`
}

// Help is printed under the command's own --help.
func (backupCmd) Help() string {
	return `Copies the embedded database to a new file, also while the service runs, and
verifies the copy before it gets its name: that it is intact, and that it has all
that was stored before. The signing keys are in a file of their own; keep a copy of
that as well, or the secrets of webhooks and of second factors are lost.

PostgreSQL is backed up by its own tools: pg_dump, or continuous archiving.

  fringework backup /backups/academy-2026-05-04.db --database sqlite:academy.db`
}

// Run makes and verifies a backup.
func (c backupCmd) Run(s *session) error {
	contents, err := repo.Backup(s.ctx, c.Database, c.To)
	if err != nil {
		return fmt.Errorf("no backup was made: %w", err)
	}
	fmt.Fprintf(s.Out, "backed up %s to %s and verified it: %s\n", c.shown(), c.To, heldIn(contents))
	return nil
}

type restoreCmd struct {
	databaseFlag
	From string `arg:"" help:"The backup, which is only read." type:"path"`
}

// Help is printed under the command's own --help.
func (restoreCmd) Help() string {
	return `Makes an embedded database of a backup and verifies it. It replaces nothing: move
a database that is no longer wanted away first. Put the signing keys back as well, or
the secrets of webhooks and of second factors are lost; then start the service.

  fringework restore /backups/academy-2026-05-04.db --database sqlite:academy.db
  fringework rebuild --database sqlite:academy.db

PostgreSQL is restored by its own tools: pg_restore.`
}

// Run restores and verifies.
func (c restoreCmd) Run(s *session) error {
	contents, err := repo.Restore(s.ctx, c.From, c.Database)
	if err != nil {
		return fmt.Errorf("nothing was restored: %w", err)
	}
	fmt.Fprintf(s.Out, "restored %s from %s and verified it: %s\n", c.shown(), c.From, heldIn(contents))
	return nil
}

// heldIn says what a database holds.
func heldIn(c repo.Contents) string {
	return fmt.Sprintf("academies %d, members %d, sessions %d, rounds %d, events %d, schema version %d",
		c.Rows["academies"], c.Rows["members"], c.Rows["sessions"], c.Rows["rounds"], c.Rows["events"], c.Schema)
}
