package repo

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"fringework/domain/academy"
	"fringework/domain/domaintest"
)

// A photo or clip that was deleted is in no file of an embedded database once that is
// written anew, which a deletion asks for, also of a process that starts after it.
func TestDeletedMediaIsNotInTheFiles(t *testing.T) {
	url := engines[0].url(t)
	db := openAt(t, url)
	f := domaintest.NewFixture(t, StoresOf(t.Context(), db))
	if db.Erased(t.Context()) {
		t.Fatal("something was erased before the test")
	}
	service := academy.MediaService{Store: db.LessonMedia(), Env: domaintest.New(monday).Env()}
	secret := bytes.Repeat([]byte("a junior's face "), 9000)
	m, err := service.Add(t.Context(), f.Actor(), f.Lesson, 9, academy.Content{Type: "image/jpeg", Bytes: secret})
	if err != nil {
		t.Fatal(err)
	}
	inFiles := func() bool {
		path, found := strings.TrimPrefix(url, "sqlite:"), false
		for _, file := range []string{path, path + "-wal"} {
			raw, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			found = found || bytes.Contains(raw, secret[:100])
		}
		return found
	}
	if !inFiles() {
		t.Error("the photo is not where it is looked for")
	}
	if err := service.Delete(t.Context(), f.Actor(), f.Lesson, m.ID); err != nil {
		t.Fatal(err)
	}
	if !db.Erased(t.Context()) {
		t.Error("a deletion does not ask for the files to be written anew")
	}
	if err := db.Scrub(t.Context()); err != nil {
		t.Fatal(err)
	}
	if inFiles() {
		t.Error("a deleted photo is still in the files")
	}
}
