package mail

import (
	"fmt"
	"net/url"
	"strings"
	"unicode"

	"fringework/auth"
	"fringework/domain"
)

// Text is what a letter says, before it takes a form.
type Text struct {
	Subject string
	// Greeting names whom it is to; it may be empty.
	Greeting string
	Words    []string
	// Button is what to press, and Link where that leads; both may be empty.
	Button, Link string
	// After is what follows the button.
	After []string
	// Sections are between Words and Button.
	Sections []Section
	// Unsubscribe is the address that stops letters of this kind, and Account the
	// page where that is changed; empty for letters that come when something happened.
	Unsubscribe, Account string
}

// roles are what people are invited as.
var roles = map[domain.Role]string{
	domain.Owner: "an owner", domain.Coach: "a coach", domain.Student: "a student", domain.Guardian: "the guardian of a junior",
}

// notYou is what follows a letter about something that somebody did.
const notYou = "If that was you, there is nothing to do. If not, set a new password now, and tell your academy."

// Words writes a letter. base is the address at which people reach the service.
func Words(l auth.Letter, base string) (t Text, err error) {
	link := func(page, secret string) string {
		return strings.TrimSuffix(base, "/") + "/" + page + "#" + url.PathEscape(secret)
	}
	when := l.At.UTC().Format("2 January 2006, 15:04") + " (UTC)"
	forgotten := strings.TrimSuffix(base, "/") + "/forgotten"
	switch l.Kind {
	case auth.LetterInvitation:
		t = Text{
			Subject: fmt.Sprintf("%s invites you to %s", l.By, l.Academy),
			Words:   []string{fmt.Sprintf("%s invites you to join %s as %s.", l.By, l.Academy, roles[l.Role])},
			Button:  "See the invitation", Link: link("join", l.Code),
			After: []string{
				"It is for this e-mail address alone, and good until " + l.Expires.UTC().Format("2 January 2006") + ".",
				"If you do not know " + l.By + ", ignore this letter; nothing happens.",
			},
		}
	case auth.LetterReset:
		t = Text{
			Subject: "Set a new password",
			Words:   []string{"Somebody asked for a new password for this address. You can choose one now."},
			Button:  "Choose a new password", Link: link("reset", l.Token),
			After: []string{"The link is good once, for an hour. All devices are then signed out.", "If you did not ask for it, ignore this letter; your password stays as it is."},
		}
	case auth.LetterHandedReset:
		t = Text{
			Subject: "A link to set your password was made",
			Words:   []string{fmt.Sprintf("On %s %s made a link with which you can set a new password, to hand on to you.", when, l.By)},
			After:   []string{"If you did not ask for it, talk to them and to your academy."},
		}
	case auth.LetterVerify:
		t = Text{
			Subject: "Confirm your e-mail address",
			Words:   []string{"Confirm that this address is yours. From then on you sign in with it, and we tell you here when something happens to your account."},
			Button:  "Confirm the address", Link: link("confirm", l.Token),
			After: []string{"The link is good once, for a day.", "If you did not ask for it, ignore this letter; nothing is changed."},
		}
	case auth.LetterMoved:
		t = Text{
			Subject: "Your e-mail address was changed",
			Words:   []string{fmt.Sprintf("Since %s you sign in with %s.", when, l.Address)},
			After:   []string{"If that was not you, tell your academy or the operator of the service at once."},
		}
	case auth.LetterSignUp:
		t = Text{
			Subject: "Make your academy",
			Words:   []string{fmt.Sprintf("You are about to make the academy %s. Confirm first that this address is yours.", l.Academy)},
			Button:  "Make the academy", Link: link("begin", l.Token),
			After: []string{"The link is good once, for a day.", "If you did not ask for it, ignore this letter; nothing is made."},
		}
	case auth.LetterHasAccount:
		t = Text{
			Subject: "You have an account already",
			Words:   []string{"Somebody tried to make an academy with this address. It has an account already, so nothing was made.", "If that was you, make the academy with the password of your account. If you have forgotten it, choose a new one first."},
			Button:  "Choose a new password", Link: forgotten,
		}
	case auth.LetterJoin:
		t = Text{
			Subject: "Join " + l.Academy,
			Words:   []string{fmt.Sprintf("You are about to join %s. Confirm first that this address is yours.", l.Academy)},
			Button:  "Join", Link: link("begin", l.Token),
			After: []string{"The link is good once, for a day.", "If you did not ask for it, leave it be: nothing is made."},
		}
	case auth.LetterMayJoin:
		t = Text{
			Subject: "You have an account already",
			Words:   []string{"Somebody accepted an invitation with this address and a password that is not yours. Nothing was changed.", "If that was you, open the invitation again and give the password of your account. If you have forgotten it, choose a new one first."},
			Button:  "I have forgotten my password", Link: forgotten,
		}
	case auth.LetterSignIn:
		t = Text{
			Subject: "A new sign-in to your account",
			Words:   []string{fmt.Sprintf("Somebody signed in to your account on %s from a network that was not used for it before.", when), notYou},
			Button:  "Set a new password", Link: forgotten,
		}
	case auth.LetterReplayed:
		t = Text{
			Subject: "A sign-in was ended for your safety",
			Words: []string{
				fmt.Sprintf("On %s an old copy of one of your sign-ins was used. Somebody may have copied it from a device of yours, so that sign-in was ended.", when),
				"Sign in again. If you have not restored or copied a device, set a new password.",
			},
			Button: "Set a new password", Link: forgotten,
		}
	case auth.LetterPassword:
		t = Text{
			Subject: "Your password was changed",
			Words:   []string{fmt.Sprintf("Your password was changed on %s. Other devices were signed out.", when), notYou},
			Button:  "Set a new password", Link: forgotten,
		}
	case auth.LetterFactor:
		t = Text{
			Subject: "How you sign in was changed",
			Words:   []string{fmt.Sprintf("The second factor of your account (an app for codes or a passkey) was changed on %s.", when), notYou},
			Button:  "Set a new password", Link: forgotten,
		}
	case auth.LetterDigest:
		if t, err = digestWords(l, base); err != nil {
			return t, err
		}
	default:
		return t, fmt.Errorf("mail: there are no words for a letter of the kind %q", l.Kind)
	}
	if l.Name != "" {
		t.Greeting = "Hello " + oneLine(l.Name) + ","
	}
	t.Subject = oneLine(t.Subject)
	return t, nil
}

// oneLine leaves nothing of people's words that could end a header, or that a
// reader would decode (RFC 2047).
func oneLine(text string) string {
	text = strings.ReplaceAll(text, "=?", "= ?")
	return strings.Join(strings.FieldsFunc(text, func(r rune) bool { return unicode.IsControl(r) || unicode.IsSpace(r) || r == '\u2028' || r == '\u2029' }), " ")
}
