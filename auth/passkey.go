package auth

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"net/url"
	"time"

	"github.com/go-webauthn/webauthn/protocol"
	"github.com/go-webauthn/webauthn/webauthn"
	"github.com/google/uuid"

	"fringework/domain"
)

// Purposes of tickets here: each holds the challenge that the device signs.
const (
	forNewPasskey    Purpose = "passkey-new"
	forPasskeySignIn Purpose = "passkey-sign-in"
)

// passkeyLife is how long somebody may take to unlock their device.
const passkeyLife = 10 * time.Minute

// maxPasskeys is how many an account may have.
const maxPasskeys = 20

// NewParty says whose passkeys these are: those of the host that people reach the
// service at. Browsers make passkeys only over HTTPS, or on localhost.
func NewParty(publicURL string) (*webauthn.WebAuthn, error) {
	u, err := url.Parse(publicURL)
	if err != nil || u.Hostname() == "" || u.Scheme != "https" && (u.Scheme != "http" || u.Hostname() != "localhost") {
		return nil, errors.New("auth: passkeys need a public address with https")
	}
	return webauthn.New(&webauthn.Config{RPID: u.Hostname(), RPDisplayName: "Fringework", RPOrigins: []string{u.Scheme + "://" + u.Host}})
}

// holder is an account as the library of passkeys sees it.
type holder struct {
	account  Account
	passkeys []webauthn.Credential
}

func (h holder) WebAuthnID() []byte {
	id := uuid.MustParse(string(h.account.ID))
	return id[:]
}
func (h holder) WebAuthnName() string                       { return h.account.Email }
func (h holder) WebAuthnDisplayName() string                { return h.account.Name }
func (h holder) WebAuthnCredentials() []webauthn.Credential { return h.passkeys }

// holderOf reads an account with its passkeys.
func holderOf(ctx context.Context, tx Tx, account domain.ID) (h holder, kept []Passkey, err error) {
	if h.account, err = tx.Account(ctx, account); err != nil {
		return h, nil, err
	}
	if kept, err = tx.Passkeys(ctx, account); err != nil {
		return h, nil, err
	}
	for _, p := range kept {
		var c webauthn.Credential
		if err := json.Unmarshal([]byte(p.Doc), &c); err != nil {
			return h, nil, err
		}
		h.passkeys = append(h.passkeys, c)
	}
	return h, kept, nil
}

func errPasskeysOff() *domain.Error {
	return domain.Errorf(domain.Conflict, "passkeys_off", "This service has no passkeys: its public address is not set, or does not begin with https.")
}

func errPasskey() *domain.Error {
	return domain.Errorf(domain.Unauthenticated, "passkey_refused", "This passkey was not accepted. Try again, or sign in with your password.")
}

// errPasskeyLate is the answer to a device that took too long, or to a second
// answer to one challenge.
func errPasskeyLate() *domain.Error {
	return domain.Errorf(domain.Conflict, "passkey_late", "This took too long, or was sent already. Begin again to add a passkey.")
}

// Challenge is what a browser is asked about a passkey.
type Challenge struct {
	// Ticket goes with the browser's answer.
	Ticket string
	// Options are what the browser is given: a JSON object with the member
	// publicKey, of Web Authentication level 3 §5.4 or §5.5.
	Options []byte
}

// challenge remembers a session of the library until the browser has answered.
func (s *Service) challenge(ctx context.Context, purpose Purpose, account domain.ID, options any, session *webauthn.SessionData) (c Challenge, err error) {
	if c.Options, err = json.Marshal(options); err != nil {
		return c, err
	}
	err = s.Store.Write(ctx, func(tx Tx) error {
		c.Ticket, _, err = s.issue(ctx, tx, purpose, account, passkeyLife, session)
		return err
	})
	return c, err
}

// BeginPasskey asks the browser of whoever is signed in for a new passkey. A wrong
// password is Invalid at /password.
func (s *Service) BeginPasskey(ctx context.Context, id Identity, password, address string) (Challenge, error) {
	if s.Party == nil {
		return Challenge{}, errPasskeysOff()
	}
	account, err := s.proveAgain(ctx, id, password, address)
	if err != nil {
		return Challenge{}, err
	}
	var h holder
	err = s.Store.Read(ctx, func(tx Tx) (err error) {
		h, _, err = holderOf(ctx, tx, account.ID)
		return err
	})
	if err != nil {
		return Challenge{}, err
	}
	if len(h.passkeys) >= maxPasskeys {
		return Challenge{}, domain.Errorf(domain.Conflict, "too_many_passkeys", "This account has %d passkeys, which is the most. Remove one first.", maxPasskeys)
	}
	options, session, err := s.Party.BeginRegistration(h,
		webauthn.WithExclusions(webauthn.Credentials(h.passkeys).CredentialDescriptors()),
		webauthn.WithAuthenticatorSelection(protocol.AuthenticatorSelection{
			ResidentKey: protocol.ResidentKeyRequirementRequired, RequireResidentKey: protocol.ResidentKeyRequired(),
			UserVerification: protocol.VerificationRequired,
		}))
	if err != nil {
		return Challenge{}, err
	}
	return s.challenge(ctx, forNewPasskey, account.ID, options, session)
}

// AddPasskey keeps what the browser made, under a name of 1 to 100 characters, ends
// all other sign-ins of the account, and gives recovery codes if there are none yet,
// to be shown this once. What the browser did not make for this account and this
// challenge is Invalid at /credential.
func (s *Service) AddPasskey(ctx context.Context, id Identity, ticket, name string, credential []byte, address string) (made Passkey, codes []string, err error) {
	if s.Party == nil {
		return made, nil, errPasskeysOff()
	}
	var p domain.Problems
	name = checkName(&p, "/name", name)
	if err := p.Err("passkey", "The passkey was not added."); err != nil {
		return made, nil, err
	}
	wrong := func() error {
		var p domain.Problems
		p.Add("/credential", "is not what the browser was asked for; begin again")
		return p.Err("passkey", "The passkey was not added.")
	}
	var session webauthn.SessionData
	t, err := s.present(ctx, ticket, forNewPasskey, Origin(address), &session, errPasskeyLate())
	if err != nil {
		return made, nil, err
	}
	parsed, err := protocol.ParseCredentialCreationResponseBytes(credential)
	if err != nil || t.Account != id.Account {
		return made, nil, wrong()
	}
	err = s.Store.Write(ctx, func(tx Tx) error {
		if err := spend(ctx, tx, t, errPasskeyLate()); err != nil {
			return err
		}
		h, _, err := holderOf(ctx, tx, id.Account)
		if err != nil {
			return err
		}
		c, err := s.Party.CreateCredential(h, session, parsed)
		if err != nil {
			return wrong()
		}
		doc, err := json.Marshal(c)
		if err != nil {
			return err
		}
		made = Passkey{ID: s.Env.NewID(), Account: id.Account, Credential: c.ID, Name: name, Doc: string(doc), Created: s.now()}
		if err := tx.AddPasskey(ctx, made); err != nil {
			return err
		}
		codes, err = s.factorAdded(ctx, tx, id, ByPasskey)
		return err
	})
	return made, codes, err
}

// RemovePasskey forgets a passkey of the account that asks. Errors are as for
// RemoveAuthenticator; NotFound when there is none of that identity.
func (s *Service) RemovePasskey(ctx context.Context, id Identity, passkey domain.ID, c Confirmation) error {
	return s.confirmed(ctx, id, c, func(tx Tx) error {
		gone, err := tx.RemovePasskey(ctx, id.Account, passkey)
		if err != nil {
			return err
		}
		if !gone {
			return domain.ErrNotFound("passkey")
		}
		return s.factorRemoved(ctx, tx, id, ByPasskey)
	})
}

// passkeyBucket limits challenges per origin, each of which is a row.
func passkeyBucket(origin string) Bucket {
	return Bucket{label("passkey-origin", origin), 60, 5 * time.Second}
}

// BeginPasskeySignIn asks a browser for any passkey it has of this service. It
// tells nothing of any account.
func (s *Service) BeginPasskeySignIn(ctx context.Context, address string) (Challenge, error) {
	if s.Party == nil {
		return Challenge{}, errPasskeysOff()
	}
	wait, err := s.Limiter.Take(ctx, s.now(), passkeyBucket(Origin(address)))
	if err != nil {
		return Challenge{}, err
	}
	if wait > 0 {
		return Challenge{}, tooMany(wait)
	}
	options, session, err := s.Party.BeginDiscoverableLogin(webauthn.WithUserVerification(protocol.VerificationRequired))
	if err != nil {
		return Challenge{}, err
	}
	return s.challenge(ctx, forPasskeySignIn, "", options, session)
}

// PasskeySignIn starts a family for whoever unlocked a passkey, which is two
// factors in one: the device, and what unlocks it. Whatever is wrong with the
// answer is Unauthenticated.
func (s *Service) PasskeySignIn(ctx context.Context, ticket string, credential []byte, academy domain.ID, address string) (SignedIn, error) {
	if s.Party == nil {
		return SignedIn{}, errPasskeysOff()
	}
	origin := Origin(address)
	var session webauthn.SessionData
	t, err := s.present(ctx, ticket, forPasskeySignIn, origin, &session, errPasskey())
	if err != nil {
		return SignedIn{}, err
	}
	parsed, err := protocol.ParseCredentialRequestResponseBytes(credential)
	if err != nil {
		return SignedIn{}, s.missed(ctx, secretBucket(origin), errPasskey().Because(err))
	}
	var opened opening
	err = s.Store.Write(ctx, func(tx Tx) error {
		if err := spend(ctx, tx, t, errPasskey()); err != nil {
			return err
		}
		a, err := s.unlocked(ctx, tx, session, parsed)
		if err == nil {
			opened, err = s.open(ctx, tx, a, academy, origin, s.now())
		}
		return err
	})
	if domain.KindOf(err) == domain.Unauthenticated {
		err = s.missed(ctx, secretBucket(origin), err)
	}
	if err != nil {
		return SignedIn{}, err
	}
	return s.hand(opened)
}

// unlocked finds whose passkey an answer is of, and notes that it was used.
func (s *Service) unlocked(ctx context.Context, tx Tx, session webauthn.SessionData, parsed *protocol.ParsedCredentialAssertionData) (Account, error) {
	var h holder
	var kept []Passkey
	_, c, err := s.Party.ValidatePasskeyLogin(func(_, handle []byte) (webauthn.User, error) {
		id, err := uuid.FromBytes(handle)
		if err != nil {
			return nil, err
		}
		h, kept, err = holderOf(ctx, tx, domain.ID(id.String()))
		return h, err
	}, session, parsed)
	if err != nil || c.Authenticator.CloneWarning {
		return Account{}, errPasskey().Because(err)
	}
	doc, err := json.Marshal(c)
	if err != nil {
		return Account{}, err
	}
	for _, p := range kept {
		if bytes.Equal(p.Credential, c.ID) {
			p.Doc, p.Used = string(doc), s.now()
			return h.account, tx.SavePasskey(ctx, p)
		}
	}
	return Account{}, errPasskey()
}
