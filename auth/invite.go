package auth

import (
	"context"
	"slices"
	"time"

	"fringework/domain"
)

// Invite is whom to invite, and as what.
type Invite struct {
	// Role is coach, student or guardian; coaches do not invite coaches, and
	// nobody invites owners.
	Role domain.Role
	// Email, when set, binds the invitation to that address.
	Email string
	// Name is whom it is for, up to 100 characters; may be empty.
	Name string
	// Coach is whom a student will be linked to. A coach's students are
	// always their own, so a coach leaves it empty.
	Coach domain.ID
	// Group is what a student will be added to; may be empty.
	Group domain.ID
	// Junior marks a student as a junior.
	Junior bool
	// Student is the junior whom a guardian will read, needed for guardians.
	Student domain.ID
	// Gives is what a student is given on joining; may be zero. The version is
	// one that is published.
	Gives Gift
}

// inviters says which roles each role invites.
var inviters = map[domain.Role][]domain.Role{
	domain.Owner: {domain.Coach, domain.Student, domain.Guardian},
	domain.Coach: {domain.Student, domain.Guardian},
}

// Invite makes an invitation of the asker's academy and the code that accepts
// it, which is shown this once. Bad fields are Invalid, at /role, /email,
// /name, /coach, /group, /junior, /student and /programme.
func (s *Service) Invite(ctx context.Context, a domain.Actor, in Invite) (Invitation, string, error) {
	if err := allowed(a, InvitationMake); err != nil {
		return Invitation{}, "", err
	}
	if err := in.check(a); err != nil {
		return Invitation{}, "", err
	}
	made, err := s.invite(ctx, a, []Invite{in})
	if err != nil {
		return Invitation{}, "", err
	}
	return made[0].Invitation, made[0].Code, made[0].Err
}

// Invited is an invitation with the code that accepts it, shown this once, or
// why it was not made.
type Invited struct {
	Invitation Invitation
	Code       string
	Err        error
}

// invite keeps invitations that were checked, all or none, but those of people who
// belong to the academy already, which have an error.
func (s *Service) invite(ctx context.Context, a domain.Actor, all []Invite) (made []Invited, err error) {
	err = s.Store.Write(ctx, func(tx Tx) error {
		made = nil
		for n, in := range all {
			// Those who are invited alike are looked up once.
			if n == 0 || !in.alike(all[n-1]) {
				if err := in.checkMembers(ctx, tx, a); err != nil {
					return err
				}
			}
			belongs, err := in.belongs(ctx, tx, a.Academy)
			if err != nil {
				return err
			}
			one := Invited{Err: errBelongs}
			if !belongs {
				if one, err = s.keep(ctx, tx, a, in); err != nil {
					return err
				}
			}
			made = append(made, one)
		}
		return nil
	})
	return made, err
}

// errBelongs says that an address is of somebody who need not be invited.
var errBelongs = &domain.Error{Kind: domain.Conflict, Code: "already_member", Detail: "The invitation was not created.",
	Fields: []domain.Field{{Pointer: "/email", Detail: "is of somebody who belongs to the academy already; they sign in with it, so leave them out or give another address"}}}

// belongs says whether the address is a member's of the academy. Of others' members
// it tells nothing. A guardian may be invited again, for another junior.
func (in Invite) belongs(ctx context.Context, tx Tx, academy domain.ID) (bool, error) {
	if in.Email == "" {
		return false, nil
	}
	account, err := tx.AccountByEmail(ctx, in.Email)
	if isNotFound(err) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	m, err := tx.MemberOfAccount(ctx, academy, account.ID)
	if isNotFound(err) {
		return false, nil
	}
	again := in.Role == domain.Guardian && m.Role == domain.Guardian
	return m.Removed.IsZero() && !again, err
}

// keep stores one invitation, and tells the log.
func (s *Service) keep(ctx context.Context, tx Tx, a domain.Actor, in Invite) (Invited, error) {
	code, now := newCode(), s.now()
	i := Invitation{
		ID: s.Env.NewID(), Role: in.Role, Email: in.Email, Name: in.Name, By: a.Member,
		Coach: in.Coach, Group: in.Group, Student: in.Student, Junior: in.Junior, Gives: in.Gives,
		Code: DigestOf(code), Created: now, Expires: now.Add(s.InvitationLife),
	}
	if err := tx.AddInvitation(ctx, a.Academy, i); err != nil {
		return Invited{}, err
	}
	return Invited{Invitation: i, Code: code}, tx.Record(ctx, a.Academy, domain.Event{
		At: now, Actor: a.Member, Kind: "invitation.made", Subject: i.ID, Student: i.Student, Data: i.data(),
	})
}

// data is what the log says of an invitation: nothing that tells who the
// invited person is.
func (i Invitation) data() map[string]any {
	d := map[string]any{"role": string(i.Role)}
	for name, id := range map[string]domain.ID{"coach": i.Coach, "group": i.Group} {
		if id != "" {
			d[name] = string(id)
		}
	}
	if i.Junior {
		d["junior"] = true
	}
	if i.Gives.Programme != "" {
		d["programme_id"], d["version"], d["start_date"] = string(i.Gives.Programme), i.Gives.Version, i.Gives.Start.String()
	}
	return d
}

// check holds the input to the rules that need no store, and fills in what
// follows from who asks.
func (in *Invite) check(a domain.Actor) error {
	var p domain.Problems
	if !slices.Contains(inviters[a.Role], in.Role) {
		p.Add("/role", "%q is not a role that you may invite to; use one of %s", in.Role, listed(inviters[a.Role]))
	}
	if in.Email != "" {
		in.Email = checkEmail(&p, in.Email)
	}
	if in.Name != "" {
		in.Name = checkName(&p, "/name", in.Name)
	}
	if in.Role == domain.Student && a.Role == domain.Coach && in.Coach == "" {
		in.Coach = a.Member
	}
	in.checkShape(&p)
	return p.Err("invitation_invalid", "The invitation was not created.")
}

// checkShape notes fields that the role does not have or lacks.
func (in *Invite) checkShape(p *domain.Problems) {
	if in.Role != domain.Student {
		if in.Coach != "" {
			p.Add("/coach", "is only for students; leave it out")
		}
		if in.Group != "" {
			p.Add("/group", "is only for students; leave it out")
		}
		if in.Junior {
			p.Add("/junior", "is only for students; leave it out")
		}
		if in.Gives != (Gift{}) {
			p.Add("/programme", "is only for students; leave it out")
		}
	}
	if in.Role == domain.Guardian && in.Student == "" {
		p.Add("/student", "is missing; give the junior whom the guardian looks after")
	}
	if in.Role != domain.Guardian && in.Student != "" {
		p.Add("/student", "is only for guardians; leave it out")
	}
}

// alike says whether two name the same members and group.
func (in Invite) alike(other Invite) bool {
	return in.Coach == other.Coach && in.Group == other.Group && in.Student == other.Student
}

// checkMembers holds the input to the members and groups of the academy.
func (in *Invite) checkMembers(ctx context.Context, tx MemberTx, a domain.Actor) error {
	var p domain.Problems
	if in.Coach != "" {
		ok, err := in.coachFits(ctx, tx, a)
		if err != nil {
			return err
		}
		if !ok {
			p.Add("/coach", "is not a coach you may link students to; give a coach of this academy, or leave it out")
		}
	}
	if in.Group != "" {
		ok, err := isID(in.Group), error(nil)
		if ok {
			ok, err = tx.HasGroup(ctx, a.Academy, in.Group)
		}
		if err != nil {
			return err
		}
		if !ok {
			p.Add("/group", "is not a group of this academy; check the ID")
		}
	}
	if in.Student != "" {
		ok, err := in.studentFits(ctx, tx, a)
		if err != nil {
			return err
		}
		if !ok {
			p.Add("/student", "is not a junior you work with; give a junior of this academy")
		}
	}
	return p.Err("invitation_invalid", "The invitation was not created.")
}

func (in *Invite) coachFits(ctx context.Context, tx MemberTx, a domain.Actor) (bool, error) {
	if a.Role == domain.Coach && in.Coach != a.Member {
		return false, nil
	}
	return isTeacher(ctx, tx, a.Academy, in.Coach)
}

// isTeacher reports whether a member belongs to an academy as coach or owner.
func isTeacher(ctx context.Context, tx MemberTx, academy, member domain.ID) (bool, error) {
	if !isID(member) {
		return false, nil
	}
	m, err := tx.Member(ctx, academy, member)
	if isNotFound(err) {
		return false, nil
	}
	return m.Removed.IsZero() && slices.Contains(teachers, m.Role), err
}

func (in *Invite) studentFits(ctx context.Context, tx MemberTx, a domain.Actor) (bool, error) {
	if !isID(in.Student) {
		return false, nil
	}
	m, err := tx.Member(ctx, a.Academy, in.Student)
	if isNotFound(err) {
		return false, nil
	}
	if err != nil || !m.Removed.IsZero() || m.Role != domain.Student || !m.Junior {
		return false, err
	}
	if a.SeesAll() {
		return true, nil
	}
	return tx.Linked(ctx, a.Academy, a.Member, in.Student)
}

// ListInvitations gives invitations ordered by identity, which is the order of
// making: all of them to an owner, their own to a coach; with open, only those
// that can still be accepted. Use State to tell what became of each.
func (s *Service) ListInvitations(ctx context.Context, a domain.Actor, open bool, page domain.Page) (list []Invitation, err error) {
	if err := allowed(a, InvitationList); err != nil {
		return nil, err
	}
	q := InvitationQuery{Page: page}
	if !a.SeesAll() {
		q.By = a.Member
	}
	if open {
		q.OpenAt = s.now()
	}
	err = s.Store.Read(ctx, func(tx Tx) (err error) {
		if list, err = tx.Invitations(ctx, a.Academy, q); err == nil {
			err = withdrawn(ctx, tx, a.Academy, list)
		}
		return err
	})
	return list, err
}

// withdrawn marks what was never used and whose maker has left as withdrawn
// then, since nobody can accept it any more.
func withdrawn(ctx context.Context, tx MemberTx, academy domain.ID, list []Invitation) error {
	left := map[domain.ID]time.Time{}
	for n, i := range list {
		if !i.Accepted.IsZero() || !i.Revoked.IsZero() {
			continue
		}
		if _, known := left[i.By]; !known {
			m, err := tx.Member(ctx, academy, i.By)
			if err != nil {
				return err
			}
			left[i.By] = m.Removed
		}
		list[n].Revoked = left[i.By]
	}
	return nil
}

// Invitation gives one invitation; to a coach only one they made.
func (s *Service) Invitation(ctx context.Context, a domain.Actor, id domain.ID) (i Invitation, err error) {
	if err := allowed(a, InvitationList); err != nil {
		return Invitation{}, err
	}
	err = s.Store.Read(ctx, func(tx Tx) (err error) {
		if i, err = ownInvitation(ctx, tx, a, id); err != nil {
			return err
		}
		one := []Invitation{i}
		err = withdrawn(ctx, tx, a.Academy, one)
		i = one[0]
		return err
	})
	return i, err
}

// ownInvitation finds an invitation that the asker may see.
func ownInvitation(ctx context.Context, tx InvitationTx, a domain.Actor, id domain.ID) (Invitation, error) {
	if !isID(id) {
		return Invitation{}, domain.ErrNotFound("invitation")
	}
	i, err := tx.Invitation(ctx, a.Academy, id)
	if isNotFound(err) || err == nil && !a.SeesAll() && i.By != a.Member {
		return Invitation{}, domain.ErrNotFound("invitation")
	}
	return i, err
}

// RevokeInvitation withdraws an invitation that is open, a coach only their
// own. Withdrawing again changes nothing; one accepted or expired is a
// Conflict.
func (s *Service) RevokeInvitation(ctx context.Context, a domain.Actor, id domain.ID) error {
	if err := allowed(a, InvitationRevoke); err != nil {
		return err
	}
	return s.Store.Write(ctx, func(tx Tx) error {
		now := s.now()
		i, err := ownInvitation(ctx, tx, a, id)
		if err != nil {
			return err
		}
		revoked, err := tx.RevokeInvitation(ctx, a.Academy, id, now)
		if err != nil {
			return err
		}
		if !revoked {
			if i, err = tx.Invitation(ctx, a.Academy, id); err != nil || i.State(now) == Revoked {
				return err
			}
			return errClosed(i.State(now))
		}
		return tx.Record(ctx, a.Academy, domain.Event{
			At: now, Actor: a.Member, Kind: "invitation.revoked", Subject: id, Student: i.Student, Data: i.data(),
		})
	})
}

// errClosed says that an invitation cannot be used any more.
func errClosed(state InvitationState) error {
	code, what := "invitation_accepted", "has been used"
	switch state {
	case Revoked:
		code, what = "invitation_revoked", "was withdrawn"
	case Expired:
		code, what = "invitation_expired", "has expired"
	}
	return domain.Errorf(domain.Conflict, code, "The invitation %s. Ask for a new one.", what)
}
