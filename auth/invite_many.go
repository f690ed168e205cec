package auth

import (
	"context"
	"slices"
	"strings"

	"fringework/domain"
)

// maxInvited is how many people one call invites.
const maxInvited = 200

// Invitee is one of several students who are invited alike.
type Invitee struct {
	// Name, Email or both say who it is; Email, when set, binds the invitation.
	Name   string
	Email  string
	Junior bool
}

// InviteStudents invites students who have everything but their names in
// common, and gives what became of each, in their order: those that are in order
// are invited together, the others are told what is wrong, at /name and /email.
// What is wrong with what they have in common (/coach, /group, /programme) or
// with the list (/items) is Invalid as a whole, and nobody is invited. Without
// a coach the students become the asker's.
func (s *Service) InviteStudents(ctx context.Context, a domain.Actor, common Invite, people []Invitee) ([]Invited, error) {
	if err := allowed(a, InvitationMake); err != nil {
		return nil, err
	}
	var p domain.Problems
	p.Entries("/items", "people", len(people), maxInvited)
	if err := p.Err("invitation_invalid", "Nobody was invited."); err != nil {
		return nil, err
	}
	common.Role = domain.Student
	if common.Coach == "" {
		common.Coach = a.Member
	}
	out := make([]Invited, len(people))
	var good []Invite
	var at []int
	for i, person := range people {
		one := common
		one.Name, one.Email, one.Junior = person.Name, person.Email, person.Junior
		if out[i].Err = one.checkInvitee(a, good); out[i].Err == nil {
			good, at = append(good, one), append(at, i)
		}
	}
	if len(good) == 0 {
		return out, nil
	}
	made, err := s.invite(ctx, a, good)
	for i := range made {
		out[at[i]] = made[i]
	}
	return out, err
}

// checkInvitee holds one of several to the rules, beside those before it.
func (in *Invite) checkInvitee(a domain.Actor, before []Invite) error {
	if strings.ContainsAny(in.Name, "\t\r\n") {
		var p domain.Problems
		p.Add("/name", "has more than one line or cell; give each person an entry of their own")
		return p.Err("invitation_invalid", "The invitation was not created.")
	}
	if err := in.check(a); err != nil {
		return err
	}
	var p domain.Problems
	if in.Name == "" && in.Email == "" {
		p.Add("/name", "is empty; give a name, an e-mail or both")
	}
	if strings.Contains(in.Name, ";") {
		p.Add("/name", "has a semicolon, as between two names; give each person an entry of their own")
	}
	if in.Email != "" && slices.ContainsFunc(before, func(b Invite) bool { return b.Email == in.Email }) {
		p.Add("/email", "is in the list twice; give it once")
	}
	return p.Err("invitation_invalid", "The invitation was not created.")
}
