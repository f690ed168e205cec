package app

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"fringework/cmd/fringework/services"
	"fringework/domain"
)

type exportAcademyCmd struct {
	databaseFlag
	Academy string `arg:"" help:"The ID of the academy; fringework admin academies lists them."`
	Out     string `help:"The file to write, such as academy.zip; it must not exist yet." required:"" type:"path" placeholder:"FILE"`
	Secrets bool   `help:"Put in the hashes of passwords, so that people keep theirs. Keep the file as safe as the database."`
}

// Help is printed under the command's own --help.
func (exportAcademyCmd) Help() string {
	return `Writes all that the academy has into one file, from which fringework admin
import-academy makes the same academy in another installation of this release, on
either database. Sign-ins and application keys stay behind. Without --secrets,
people need a new password there (fringework admin password).`
}

// Run writes the archive beside its place and moves it there when it is whole.
func (c exportAcademyCmd) Run(s *session) (err error) {
	if _, err := os.Stat(c.Out); err == nil {
		return fmt.Errorf("%s is there already; name another file with --out", c.Out)
	}
	db, err := c.openExisting(s)
	if err != nil {
		return err
	}
	defer closeAll(db, s.log)
	file, err := os.CreateTemp(filepath.Dir(c.Out), ".fringework-export-*")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, dropped(file)) }()
	m, err := db.ExportAcademy(s.ctx, domain.ID(c.Academy), s.clock.Now(), c.Secrets, file)
	if domain.KindOf(err) == domain.NotFound {
		return fmt.Errorf("there is no academy %s; see fringework admin academies", c.Academy)
	}
	if err := errors.Join(err, file.Sync()); err != nil {
		return err
	}
	// A link, not a renaming: it never replaces a file that came meanwhile.
	if err := os.Link(file.Name(), c.Out); err != nil {
		return err
	}
	rows := 0
	for _, p := range m.Parts {
		rows += p.Rows
	}
	fmt.Fprintf(s.Out, "%s: %d rows written to %s\n", m.Name, rows, c.Out)
	return nil
}

// dropped closes and removes a file.
func dropped(file *os.File) error { return errors.Join(file.Close(), os.Remove(file.Name())) }

type importAcademyCmd struct {
	databaseFlag
	File string `arg:"" help:"The archive that fringework admin export-academy wrote." type:"existingfile"`
}

// Help is printed under the command's own --help.
func (importAcademyCmd) Help() string {
	return `Adds the academy to the database, all of it or nothing, and makes the progress of
its students anew from their balls. An account whose e-mail address is there
already is the same person's and keeps the password it has here.`
}

// Run imports the archive.
func (c importAcademyCmd) Run(s *session) error {
	file, err := os.Open(c.File)
	if err != nil {
		return err
	}
	defer func() { _ = file.Close() }() // only read
	size, err := file.Seek(0, io.SeekEnd)
	if err != nil {
		return err
	}
	db, err := c.open(s)
	if err != nil {
		return err
	}
	defer closeAll(db, s.log)
	all, err := services.New(db, env(s.clock))
	if err != nil {
		return err
	}
	done, err := db.ImportAcademy(s.ctx, s.clock.Now(), file, size)
	if err != nil {
		return err
	}
	if err := all.Prepare(s.ctx, s.log); err != nil {
		return fmt.Errorf("the academy was imported; its progress was not made yet, which the next start does: %w", err)
	}
	fmt.Fprintf(s.Out, "%s is imported (%s). People who had an account here already: %d.\n", done.Name, done.Academy, done.Joined)
	if !done.Secrets {
		fmt.Fprintln(s.Out, "The archive has no passwords: the others need a new one (fringework admin password).")
	}
	return nil
}
