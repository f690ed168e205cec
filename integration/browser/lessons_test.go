package browser

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"net/http"
	"testing"
	"time"

	"github.com/chromedp/chromedp/kb"

	"fringework/integration/browser/evening"
)

// How long a practised person takes, in seconds: for a key (an average typist), for
// pointing and clicking, and to make up their mind once (Card, Moran & Newell 1980, The
// keystroke-level model, Communications of the ACM 23(7), table 1).
const (
	perKey   = 0.28
	perClick = 1.1 + 0.2
	perThink = 1.35
	// forForty is how long forty lessons may take to prepare, reading included.
	forForty = 600.0
	// toRead is the least that must be left to read each page.
	toRead = 8.0
)

// photograph keeps a photo with a lesson, 40 pixels wide.
func (s *setup) photograph(lesson string) {
	s.t.Helper()
	var photo bytes.Buffer
	s.must(png.Encode(&photo, image.NewGray(image.Rect(0, 0, 40, 30))))
	r, err := http.NewRequestWithContext(s.t.Context(), http.MethodPost, s.Owner.Base+"/v1/lessons/"+lesson+"/media?days=30", &photo)
	s.must(err)
	r.Header.Set("Content-Type", "image/png")
	r.Header.Set("Authorization", "Bearer "+s.Owner.Token)
	answer, err := http.DefaultClient.Do(r)
	s.must(err)
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusCreated {
		s.t.Fatalf("the photo was answered by %s", answer.Status)
	}
}

// TestLessons prepares forty lessons, and looks at the cue on the student's phone
// without a network. Whose lessons they are makes no difference to what is pressed.
func TestLessons(t *testing.T) {
	s := newSetup(t)
	s.practised()
	const lessons, cue = 40, "brush the grass"
	noon := s.Clock.Now().UTC().Truncate(24 * time.Hour)
	for i := range lessons {
		s.call(s.Owner, "POST", "/v1/lessons", object{"student_ids": array{s.StudentID}, "starts_at": noon.Add(time.Duration(60+10*i) * time.Minute), "minutes": 10}, nil)
	}
	s.profile.Before(evening.Counter)
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	p.see(fmt.Sprintf("%d lessons today", lessons))
	s.must(evening.Reset(p.Tab))
	p.press("Prepare the first")
	for i := range lessons {
		p.wait("the cue to be ready", fmt.Sprintf(`document.activeElement?.maxLength === 140 && document.body.innerText.includes("Lesson %d of %d that day")`, i+1, lessons))
		p.keys(cue + kb.Enter)
	}
	p.see("Saved.")
	took, err := evening.Counted(p.Tab)
	s.must(err)
	hands := perKey*float64(took.Keys) + perClick*float64(took.Clicks) + perThink*lessons
	reading := (forForty - hands) / lessons
	t.Logf("%d clicks, %d keys: %.0f s of pressing and deciding, which leaves %.1f s to read each page", took.Clicks, took.Keys, hands, reading)
	if took.Clicks > 2 || took.Keys < lessons || reading < toRead {
		t.Errorf("%d clicks and %d keys for %d lessons leave %.1f s to read each, want %.1f", took.Clicks, took.Keys, lessons, reading, toRead)
	}
	var stored struct {
		Items []struct {
			ID  string `json:"id"`
			Cue string `json:"cue"`
		} `json:"items"`
	}
	s.call(s.Owner, "GET", "/v1/lessons?limit=200", nil, &stored)
	if len(stored.Items) != lessons {
		t.Fatalf("%d lessons are stored, want %d", len(stored.Items), lessons)
	}
	for i, l := range stored.Items {
		if l.Cue != cue {
			t.Errorf("lesson %d has the cue %q, want %q", i, l.Cue, cue)
		}
	}

	s.photograph(stored.Items[0].ID)
	s.elsewhere()
	phone := s.phone()
	phone.signIn()
	phone.see("From your lesson", cue)
	phone.stocked()
	const shown = `document.querySelector(".media img")?.naturalWidth === 40`
	phone.press("Lesson of")
	phone.wait("the photo", shown)
	s.must(phone.Offline(true))
	phone.place("#/now")
	phone.press("Lesson of")
	phone.wait("the photo without a network", shown)
	phone.see("Keep in mind", cue, "until a later lesson")
	phone.start()
	for block := range 5 {
		phone.see(fmt.Sprintf("Block %d of 5", block+1))
		if phone.value(`document.querySelector(".cue")?.innerText ?? ""`) == cue {
			return
		}
		phone.tap("Next")
	}
	t.Error("no technique block shows the cue")
}
