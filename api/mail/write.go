package mail

import (
	_ "embed"
	"fmt"
	"html/template"
	"net/mail"
	"strings"
	texts "text/template"
	"time"

	gomail "github.com/wneessen/go-mail"
)

//go:embed letter.html
var htmlForm string

//go:embed letter.txt
var textForm string

var (
	htmlLetter = template.Must(template.New("letter").Parse(htmlForm))
	textLetter = texts.Must(texts.New("letter").Parse(textForm))
)

// Envelope is what is on a letter beside its words.
type Envelope struct {
	From mail.Address
	// To is the address alone: names of strangers stay out of headers.
	To string
	// ID tells one letter from all others, and repeats when it is sent again.
	ID   string
	Date time.Time
}

// Write gives a letter its form: plain text and HTML beside each other.
func Write(t Text, e Envelope) (*gomail.Msg, error) {
	m := gomail.NewMsg(gomail.WithNoDefaultUserAgent())
	m.FromMailAddress(&e.From)
	if err := m.To(e.To); err != nil {
		return nil, fmt.Errorf("mail: the address cannot be written to: %w", err)
	}
	_, host, _ := strings.Cut(e.From.Address, "@")
	m.SetMessageIDWithValue(e.ID + "@" + host)
	m.SetDateWithValue(e.Date)
	m.Subject(oneLine(t.Subject))
	// No out-of-office answer, please (RFC 3834).
	m.SetGenHeader("Auto-Submitted", "auto-generated")
	if t.Unsubscribe != "" {
		// A button of the mail program (RFC 2369, RFC 8058), which takes no address
		// without encryption.
		m.SetGenHeader("List-Unsubscribe", "<"+t.Unsubscribe+">")
		if strings.HasPrefix(t.Unsubscribe, "https://") {
			m.SetGenHeader("List-Unsubscribe-Post", "List-Unsubscribe=One-Click")
		}
	}
	if err := m.SetBodyTextTemplate(textLetter, t); err != nil {
		return nil, err
	}
	return m, m.AddAlternativeHTMLTemplate(htmlLetter, t)
}
