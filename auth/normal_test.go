package auth_test

import (
	"strings"
	"testing"

	"fringework/auth"
	"fringework/domain"
)

// TestTypedOtherwise: neither the e-mail nor the password depends on how a
// keyboard writes an accent.
func TestTypedOtherwise(t *testing.T) {
	w := newFixture(t)
	_, err := w.SignUpAcademy(w.ctx, auth.SignUp{
		AcademyName: "Dune", TimeZone: "UTC", Name: "Zoe", Email: "zoe\u0308@D\u00dcNE.example", Password: "cafe\u0301 on the tee", Address: home,
	})
	w.ok(err)
	in, err := w.signIn("zo\u00eb@d\u00fcne.example", "caf\u00e9 on the tee")
	w.ok(err)
	w.same("e-mail kept", in.Account.Email, "zo\u00eb@d\u00fcne.example")
}

// TestFromBeforeNormalising: who signed up before e-mails and passwords were
// normalised gets in as before, and from then on also the other way.
func TestFromBeforeNormalising(t *testing.T) {
	w := newFixture(t)
	const email, typed = "zoe\u0308@dune.example", "cafe\u0301 on the tee"
	hash, err := w.Hasher.Hash(w.ctx, typed)
	w.ok(err)
	w.ok(w.memory.Write(w.ctx, func(tx auth.Tx) error {
		return tx.AddAccount(w.ctx, auth.Account{ID: w.clock.NewID(), Email: email, Name: "Zoe", Password: hash, Created: start})
	}))
	_, err = w.signIn(email, "caf\u00e9 on the tee")
	w.refused("composed, before", err, domain.Unauthenticated, "sign_in_refused")
	_, err = w.signIn(email, typed)
	w.ok(err)
	_, err = w.signIn(email, "caf\u00e9 on the tee")
	w.ok(err)
	w.same("hash as it was", strings.Contains(w.kept(), hash), false)
}

func TestGuessableIsRefused(t *testing.T) {
	w := newFixture(t)
	owner := w.who(w.signUp("olga"))
	_, err := w.SignUpAcademy(w.ctx, auth.SignUp{AcademyName: "Blue Heron", TimeZone: "UTC", Name: "Ann", Email: "ann@example.org", Password: "Blueheron7", Address: home})
	w.invalid("the academy's name", err, "/password")
	w.invalid("a common one", w.ChangePassword(w.ctx, owner, password, "iloveyou", home), "/new_password")
	w.invalid("the academy's name, later", w.ChangePassword(w.ctx, owner, password, "academy of olga", home), "/new_password")
	w.invalid("the operator's", w.ResetPassword(w.ctx, "olga@example.org", "olga@example.org"), "/new_password")
	_, code := w.invite(owner, auth.Invite{Role: domain.Coach})
	_, err = w.AcceptInvitation(w.ctx, auth.Accept{Code: code, Email: "carl@example.org", Password: "carlsmith99", Name: "Carl Smith", Address: home})
	w.invalid("who joins", err, "/password")
}
