package app

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"text/tabwriter"
	"time"

	"golang.org/x/term"

	"fringework/domain"
	"fringework/domain/practice"
	"fringework/repo"
)

type migrateCmd struct {
	databaseFlag
	Status bool `help:"Only show the version of the schema."`
}

// Run brings the schema up to date, which serve does as well.
func (c migrateCmd) Run(s *session) error {
	if c.Status {
		have, want, err := repo.Schema(s.ctx, c.Database)
		if err != nil {
			return err
		}
		fmt.Fprintf(s.Out, "schema version %d of %d in %s\n", have, want, c.shown())
		return nil
	}
	db, err := c.open(s)
	if err != nil {
		return err
	}
	defer closeAll(db, s.log)
	have, _, err := db.Schema(s.ctx)
	if err != nil {
		return err
	}
	fmt.Fprintf(s.Out, "schema version %d in %s, up to date\n", have, c.shown())
	return nil
}

type rebuildCmd struct {
	databaseFlag
	Academy string `help:"Only this academy; fringework admin academies lists the IDs." placeholder:"ID"`
	Repair  bool   `help:"Correct the differences instead of only reporting them."`
}

// Help is printed under the command's own --help.
func (rebuildCmd) Help() string {
	return `Every session that is stored updates the student's progress. This command
recomputes all progress from the balls and should find no difference. If it finds
one, it says where and exits with 1; --repair corrects it.`
}

// errDifferences makes the exit code of a rebuild that found something.
var errDifferences = errors.New("stored progress differs from what follows from the balls; run again with --repair to correct it")

// Run recomputes and compares.
func (c rebuildCmd) Run(s *session) error {
	db, err := c.openExisting(s)
	if err != nil {
		return err
	}
	defer closeAll(db, s.log)
	academies, err := db.Academies(s.ctx)
	if err != nil {
		return err
	}
	r := practice.Rebuilder{Store: db.Rebuilding(), Env: env(s.clock)}
	total, known := 0, false
	for _, a := range academies {
		if c.Academy != "" && domain.ID(c.Academy) != a.ID {
			continue
		}
		known = true
		students, differences, err := r.Rebuild(s.ctx, a.ID, c.Repair)
		if err != nil {
			return err
		}
		for _, d := range differences {
			fmt.Fprintln(s.Out, d)
		}
		total += len(differences)
		fmt.Fprintf(s.Out, "%s: %d students, %d differences\n", a.Name, students, len(differences))
	}
	switch {
	case c.Academy != "" && !known:
		return fmt.Errorf("there is no academy %s; see fringework admin academies", c.Academy)
	case total > 0 && !c.Repair:
		return errDifferences
	}
	return nil
}

type adminCmd struct {
	Academies    academiesCmd `cmd:"" help:"List the academies."`
	Password     passwordCmd  `cmd:"" help:"Set a new password for an account and sign it out everywhere."`
	SecondFactor factorCmd    `cmd:"" help:"Remove the second factor of an account whose holder lost it, and sign it out everywhere."`
	ResetLink    resetCmd     `cmd:"" help:"Make a link with which the holder of an account sets a new password."`
	Keys         keysCmd      `cmd:"" help:"Create, list or rotate the keys that sign access tokens and seal secrets."`

	ExportAcademy exportAcademyCmd `cmd:"" help:"Write a whole academy into one file."`
	ImportAcademy importAcademyCmd `cmd:"" help:"Add an academy from the file that export-academy wrote."`
}

type academiesCmd struct{ databaseFlag }

// Run lists the academies.
func (c academiesCmd) Run(s *session) error {
	db, err := c.openExisting(s)
	if err != nil {
		return err
	}
	defer closeAll(db, s.log)
	academies, err := db.Academies(s.ctx)
	if err != nil {
		return err
	}
	w := tabwriter.NewWriter(s.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "ID\tNAME\tTIME ZONE\tSINCE")
	for _, a := range academies {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", a.ID, a.Name, a.TimeZone, a.CreatedAt.Format(time.DateOnly))
	}
	return w.Flush()
}

type passwordCmd struct {
	databaseFlag
	Email string `arg:"" help:"The e-mail address of the account."`
}

// Help is printed under the command's own --help.
func (passwordCmd) Help() string {
	return "Reads the new password from the standard input, so that it does not end up in the shell's history."
}

// Run sets the password.
func (c passwordCmd) Run(s *session) error {
	password, err := readPassword(s)
	if err != nil {
		return err
	}
	if _, err := c.do(s, errand{What: setPassword, Email: c.Email, Password: password}); err != nil {
		return err
	}
	fmt.Fprintln(s.Out, "The password is set. The account has been signed out everywhere.")
	return nil
}

type factorCmd struct {
	databaseFlag
	Email string `arg:"" help:"The e-mail address of the account."`
}

// Run removes the second factor.
func (c factorCmd) Run(s *session) error {
	if _, err := c.do(s, errand{What: resetFactors, Email: c.Email}); err != nil {
		return err
	}
	fmt.Fprintln(s.Out, "The second factor is removed. The account has been signed out everywhere.")
	return nil
}

type resetCmd struct {
	databaseFlag
	Email     string `arg:"" help:"The e-mail address of the account."`
	PublicURL string `help:"Address that people reach the service at; a service that runs on the embedded database tells its own." env:"FRINGEWORK_PUBLIC_URL" placeholder:"URL"`
}

// Run makes the link.
func (c resetCmd) Run(s *session) error {
	if c.PublicURL == "" && !c.served(s) {
		return errors.New("name the address that people reach the service at, such as --public-url https://practice.example.org; no service that runs here tells it")
	}
	o, err := c.do(s, errand{What: resetLink, Email: c.Email})
	if err != nil {
		return err
	}
	at := cmp.Or(c.PublicURL, o.PublicURL)
	fmt.Fprintf(s.Out, "%s/reset#%s\nThe link is good once, for a day.\n", strings.TrimRight(at, "/"), o.Token)
	return nil
}

// readPassword reads one line, without showing it on a terminal.
func readPassword(s *session) (string, error) {
	if f, ok := s.In.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		fmt.Fprint(s.Err, "New password: ")
		line, err := term.ReadPassword(int(f.Fd()))
		fmt.Fprintln(s.Err)
		return string(line), err
	}
	var line strings.Builder
	for b := make([]byte, 1); ; {
		n, err := s.In.Read(b)
		if n == 1 && b[0] != '\n' {
			line.WriteByte(b[0])
		}
		if errors.Is(err, io.EOF) || n == 1 && b[0] == '\n' {
			return strings.TrimSuffix(line.String(), "\r"), nil
		}
		if err != nil {
			return "", err
		}
	}
}
