package auth

import (
	"context"
	"slices"
	"time"

	"fringework/domain"
)

// InvitationView is what the holder of a code is shown before accepting.
type InvitationView struct {
	AcademyName string
	Role        domain.Role
	// Name is whom it is for, By the name of who made it; Student the name of
	// the junior, for a guardian. Any may be empty but By.
	Name    string
	By      string
	Student string
	Junior  bool
	// EmailBound says that only one e-mail, not told here, may accept.
	EmailBound bool
	// TimeZone is the academy's, as a proposal for the member's own.
	TimeZone string
	Expires  time.Time
}

// InspectInvitation tells the holder of a code what accepting it means. A code
// that never was is NotFound, one that cannot be used any more a Conflict.
func (s *Service) InspectInvitation(ctx context.Context, code, address string) (v InvitationView, err error) {
	academy, i, err := s.byCode(ctx, code, Origin(address))
	if err != nil {
		return v, err
	}
	err = s.Store.Read(ctx, func(tx Tx) error {
		in, err := tx.Academy(ctx, academy)
		if err != nil {
			return err
		}
		v = InvitationView{
			AcademyName: in.Name, Role: i.Role, Name: i.Name, Junior: i.Junior,
			EmailBound: i.Email != "", TimeZone: in.TimeZone, Expires: i.Expires,
		}
		by, err := inviter(ctx, tx, academy, i)
		if err != nil {
			return err
		}
		v.By = by.Name
		if i.Student == "" {
			return nil
		}
		student, err := tx.Member(ctx, academy, i.Student)
		v.Student = student.Name
		return err
	})
	if err == nil {
		if state := i.State(s.now()); state != Open {
			return InvitationView{}, errClosed(state)
		}
	}
	return v, err
}

// byCode finds an invitation in any state, within the limits on guessing.
func (s *Service) byCode(ctx context.Context, code, origin string) (academy domain.ID, i Invitation, err error) {
	limit := secretBucket(origin)
	if err = s.waitFor(ctx, limit); err != nil {
		return "", i, err
	}
	err = s.Store.Read(ctx, func(tx Tx) (err error) {
		academy, i, err = tx.InvitationByCode(ctx, DigestOf(normalCode(code)))
		return err
	})
	if isNotFound(err) {
		err = s.missed(ctx, limit, domain.Errorf(domain.NotFound, "no_invitation",
			"There is no invitation with this code. Check it letter by letter, or ask for a new one."))
	}
	return academy, i, err
}

// inviter finds who made an invitation, which is worth nothing once they have
// left or may not invite any more.
func inviter(ctx context.Context, tx MemberTx, academy domain.ID, i Invitation) (Member, error) {
	m, err := tx.Member(ctx, academy, i.By)
	if isNotFound(err) || err == nil && (!m.Removed.IsZero() || !slices.Contains(inviters[m.Role], i.Role)) {
		return Member{}, errClosed(Revoked)
	}
	return m, err
}

// Accept is who accepts an invitation.
type Accept struct {
	Code string
	// Account, when set, is the account that is signed in already; Email and
	// Password are not looked at then.
	Account domain.ID
	// Email and Password are of an account to be made, or the right ones of
	// an account that exists.
	Email    string
	Password string
	// SecondFactor is a code, for an account that has one.
	SecondFactor string
	// Name is what the member is called; with Account it may be empty, and is
	// the account's then.
	Name string
	// TimeZone is the member's own, an IANA name; empty means the academy's.
	TimeZone string
	// Address is the network address that asks.
	Address string

	// proven says that Account was found by its password alone.
	proven bool
}

func (in *Accept) check() error {
	var p domain.Problems
	if in.Name != "" || in.Account == "" {
		in.Name = checkName(&p, "/name", in.Name)
	}
	if in.TimeZone != "" {
		checkZone(&p, in.TimeZone)
	}
	if in.Account == "" {
		in.Email = checkEmail(&p, in.Email)
		checkPassword(&p, "/password", in.Password, in.Name, in.Email)
	}
	return p.Err("acceptance", "The invitation was not accepted.")
}

// AcceptInvitation makes the holder of a code a member, and signs them in to
// the academy. Repeated by the same account it signs in and changes nothing
// else, so that a lost reply does no harm. Errors: NotFound for an unknown
// code; Conflict when the invitation was used by somebody else, has expired or
// was withdrawn, and when the account is a member already; Invalid for bad
// fields (/name, /time_zone, /email, /password); Unauthenticated for a wrong
// password of an account that exists.
//
// Where there is mail and the invitation is bound to no e-mail, whoever has no account
// is sent a link to finish with, and so it seems to whoever gives a wrong password: a
// code must not tell which addresses have accounts. Without mail it does, as a new
// address is let in at once; the limits on guessing bound how many are asked about.
//
// Somebody who was removed from the academy comes back as the member they
// were, in the invitation's role. A guardian may accept a further invitation,
// for another junior.
func (s *Service) AcceptInvitation(ctx context.Context, in Accept) (SignedIn, error) {
	if err := in.check(); err != nil {
		return SignedIn{}, err
	}
	origin := Origin(in.Address)
	academy, i, err := s.byCode(ctx, in.Code, origin)
	if err != nil {
		return SignedIn{}, err
	}
	// No account is made, and no password looked at, for nothing.
	if state := i.State(s.now()); state != Open && state != Accepted {
		return SignedIn{}, errClosed(state)
	}
	if err := in.checkBound(i); err != nil {
		return SignedIn{}, err
	}
	if s.Mail && in.Account == "" && i.Email == "" {
		// Whoever has an account and shows it goes on; nobody else learns of it.
		p, err := s.prove(ctx, in.Email, in.Password, origin)
		switch {
		case domain.KindOf(err) == domain.Unauthenticated && i.State(s.now()) != Open:
			return SignedIn{}, errClosed(i.State(s.now()))
		case domain.KindOf(err) == domain.Unauthenticated:
			return SignedIn{Mailed: true}, s.joinByMail(ctx, academy, i, in)
		case err != nil:
			return SignedIn{}, err
		}
		in.Account, in.proven = p.ID, true
	}
	c := candidate{account: in.Account, proven: in.proven, email: in.Email, password: in.Password, code: in.SecondFactor, name: in.Name, origin: origin}
	var accepted AcceptedInvitation
	signed, err := s.admitted(ctx, c, func(tx Tx, a Account, now time.Time) (domain.ID, error) {
		j := joining{service: s, tx: tx, academy: academy, account: a, now: now}
		var err error
		accepted, err = j.join(ctx, i.ID, in)
		return academy, err
	})
	if err == nil {
		signed.Accepted = &accepted
	}
	return signed, err
}

// join accepts an invitation and gives it as it is afterwards.
func (j joining) join(ctx context.Context, id domain.ID, in Accept) (AcceptedInvitation, error) {
	if err := j.accept(ctx, id, in); err != nil {
		return AcceptedInvitation{}, err
	}
	return j.accepted(ctx, id)
}

// AcceptedInvitation is an invitation that was accepted just now or before.
type AcceptedInvitation struct {
	Invitation
	// Inviter is who made it, as they stand now; zero when they have left.
	Inviter domain.Actor
}

func (j joining) accepted(ctx context.Context, id domain.ID) (out AcceptedInvitation, err error) {
	if out.Invitation, err = j.tx.Invitation(ctx, j.academy, id); err != nil {
		return out, err
	}
	by, err := j.tx.Member(ctx, j.academy, out.By)
	if err == nil && by.Removed.IsZero() {
		out.Inviter = domain.Actor{Academy: j.academy, Member: by.ID, Role: by.Role}
	}
	return out, err
}

// checkBound refuses an e-mail that a bound invitation is not for. That of an
// account signed in already is checked once it is read.
func (in Accept) checkBound(i Invitation) error {
	if in.Account != "" || i.Email == "" || i.Email == in.Email {
		return nil
	}
	return errBound()
}

func errBound() error {
	var p domain.Problems
	p.Add("/email", "is not the address of this invitation; use the one it was sent to")
	return p.Err("invitation_bound", "This invitation is for another e-mail address.")
}

// joining is one acceptance in its transaction.
type joining struct {
	service *Service
	tx      Tx
	academy domain.ID
	account Account
	now     time.Time
}

func (j joining) accept(ctx context.Context, id domain.ID, in Accept) error {
	i, err := j.tx.Invitation(ctx, j.academy, id)
	if err != nil {
		return err
	}
	if i.Email != "" && i.Email != j.account.Email {
		return errBound()
	}
	if state := i.State(j.now); state != Open {
		return j.repeated(ctx, i, state)
	}
	if _, err := inviter(ctx, j.tx, j.academy, i); err != nil {
		return err
	}
	m, fresh, err := j.member(ctx, i, in)
	if err != nil {
		return err
	}
	taken, err := j.tx.TakeInvitation(ctx, j.academy, i.ID, m.ID, j.now)
	if err != nil {
		return err
	}
	if !taken {
		return errRaced
	}
	return j.tie(ctx, i, m, fresh)
}

// repeated lets the account that has accepted an invitation do so again.
func (j joining) repeated(ctx context.Context, i Invitation, state InvitationState) error {
	if state != Accepted {
		return errClosed(state)
	}
	m, err := j.tx.Member(ctx, j.academy, i.AcceptedBy)
	if err == nil && (m.Account != j.account.ID || !m.Removed.IsZero()) {
		err = errClosed(state)
	}
	return err
}

// member stores who joins, or finds the guardian who is a member already and
// so is not fresh.
func (j joining) member(ctx context.Context, i Invitation, in Accept) (m Member, fresh bool, err error) {
	m = Member{
		ID: j.service.Env.NewID(), Account: j.account.ID, Role: i.Role, Junior: i.Junior, Created: j.now,
		Name: in.Name, TimeZone: in.TimeZone,
	}
	if m.Name == "" {
		m.Name = j.account.Name
	}
	if m.TimeZone == "" {
		a, err := j.tx.Academy(ctx, j.academy)
		if err != nil {
			return m, false, err
		}
		m.TimeZone = a.TimeZone
	}
	was, err := j.tx.MemberOfAccount(ctx, j.academy, j.account.ID)
	switch {
	case isNotFound(err):
		err = j.tx.AddMember(ctx, j.academy, m)
		if err != nil && domain.KindOf(err) == domain.Conflict {
			err = errRaced
		}
		return m, true, err
	case err != nil:
		return m, false, err
	case !was.Removed.IsZero():
		// Nobody ceases to be a junior by leaving: an owner says so.
		m.ID, m.Junior = was.ID, i.Role == domain.Student && (m.Junior || was.Junior)
		if _, err = j.tx.Reinstate(ctx, j.academy, m); err != nil {
			return m, true, err
		}
		// What they had allowed to apps before they left does not come alive again.
		_, err = j.tx.EndConnections(ctx, j.academy, ConnectionQuery{Member: m.ID}, j.now, Rejoined)
		return m, true, err
	case was.Role == domain.Guardian && i.Role == domain.Guardian:
		return was, false, nil
	case i.Role == domain.Guardian:
		return m, false, domain.Errorf(domain.Conflict, "already_member",
			"This account already belongs to the academy, as %s, and an account has one role there. To be a guardian as well, sign out and accept the invitation with another e-mail address of yours.", was.Role)
	}
	return m, false, domain.Errorf(domain.Conflict, "already_member",
		"This account already belongs to the academy, as %s. Sign in instead.", was.Role)
}

// tie does what an invitation says beside the role, and writes the log. A
// coach or group that is gone meanwhile is left out: the student still joins.
func (j joining) tie(ctx context.Context, i Invitation, m Member, fresh bool) (err error) {
	student := i.Student
	switch i.Role {
	case domain.Student:
		student = m.ID
		if i, err = j.place(ctx, i, m.ID); err != nil {
			return err
		}
	case domain.Guardian:
		ward, err := j.tx.Member(ctx, j.academy, i.Student)
		if isNotFound(err) || err == nil && (!ward.Removed.IsZero() || ward.Role != domain.Student) {
			return errClosed(Revoked)
		}
		if err == nil {
			err = j.tx.Guard(ctx, j.academy, m.ID, i.Student, j.now)
		}
		if err != nil {
			return err
		}
	}
	accepted := domain.Event{
		At: j.now, Actor: m.ID, Kind: "invitation.accepted", Subject: i.ID, Student: student,
		Data: map[string]any{"role": string(i.Role), "member": string(m.ID)},
	}
	if fresh {
		return record(ctx, j.tx, j.academy, accepted, joined(m, student, i.data()))
	}
	return record(ctx, j.tx, j.academy, accepted)
}

// place links an invited student and adds them to the group, and gives the
// invitation without what is gone.
func (j joining) place(ctx context.Context, i Invitation, student domain.ID) (Invitation, error) {
	coach, err := isTeacher(ctx, j.tx, j.academy, i.Coach)
	if err != nil {
		return i, err
	}
	if coach {
		err = j.tx.Link(ctx, j.academy, i.Coach, student, j.now)
	} else {
		i.Coach = ""
	}
	if err != nil || i.Group == "" {
		return i, err
	}
	group, err := j.tx.HasGroup(ctx, j.academy, i.Group)
	if err == nil && group {
		return i, j.tx.Join(ctx, j.academy, i.Group, student, j.now)
	}
	i.Group = ""
	return i, err
}
