// Command moving makes an invented academy of years, exports it in bulk and as an
// archive, imports the archive on the other engine, and compares the archives:
//
//	go run ./integration/moving
//	go run ./integration/moving -students 20 -years 1
//
// It prints what memory each export and import took at most beyond what was
// taken before, so that two sizes can be compared: it should not grow with the
// academy, apart from one student's history while progress is made anew.
package main

import (
	"archive/zip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"syscall"

	"fringework/integration/postgres"
)

func main() {
	c := config{}
	flag.IntVar(&c.students, "students", 200, "how many students there are")
	flag.IntVar(&c.years, "years", 5, "how many years they have practised, twice a week")
	flag.StringVar(&c.dir, "dir", "", "keep the files in this directory instead of a temporary one")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	err := c.run(ctx)
	stop()
	if err != nil {
		fmt.Fprintln(os.Stderr, "moving:", err)
		os.Exit(1)
	}
}

type config struct {
	students, years int
	dir             string
}

func (c config) run(ctx context.Context) (err error) {
	if c.dir == "" {
		if c.dir, err = os.MkdirTemp("", "fringework-moving-"); err != nil {
			return err
		}
		defer func() { err = errors.Join(err, os.RemoveAll(c.dir)) }()
	}
	here, err := openAt(ctx, "sqlite:"+filepath.Join(c.dir, "academy.db"))
	if err != nil {
		return err
	}
	defer here.close()
	id, err := here.fill(ctx, c.students, c.years)
	if err != nil {
		return err
	}
	if err := here.bulk(ctx); err != nil {
		return err
	}
	first := filepath.Join(c.dir, "first.zip")
	if err := here.export(ctx, id, first); err != nil {
		return err
	}
	cluster, err := postgres.Start(postgres.Options{})
	if err != nil {
		return err
	}
	defer cluster.Stop()
	there, err := openAt(ctx, cluster.URL())
	if err != nil {
		return err
	}
	defer there.close()
	if err := there.take(ctx, first); err != nil {
		return err
	}
	second := filepath.Join(c.dir, "second.zip")
	if err := there.export(ctx, id, second); err != nil {
		return err
	}
	return compare(first, second)
}

// compare says whether two archives differ in more than when they were made.
func compare(first, second string) error {
	a, err := digests(first)
	if err != nil {
		return err
	}
	b, err := digests(second)
	if err != nil {
		return err
	}
	for name, digest := range a {
		if b[name] != digest {
			return fmt.Errorf("%s differs", name)
		}
	}
	if len(a) != len(b) {
		return errors.New("one archive has more parts")
	}
	fmt.Printf("the archives of both engines are equal in all %d parts\n", len(a))
	return nil
}

// digests are those of an archive's parts but for the manifest.
func digests(name string) (map[string]string, error) {
	archive, err := zip.OpenReader(name)
	if err != nil {
		return nil, err
	}
	defer func() { _ = archive.Close() }() // only read
	all := map[string]string{}
	for _, part := range archive.File {
		if part.Name == "manifest.json" {
			continue
		}
		r, err := part.Open()
		if err != nil {
			return nil, err
		}
		sum := sha256.New()
		if _, err := io.Copy(sum, r); err != nil {
			return nil, err
		}
		all[part.Name] = hex.EncodeToString(sum.Sum(nil))
	}
	return all, nil
}
