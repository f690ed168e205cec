package api

import "fringework/auth"

// accessRoutes are signing up, signing in, invitations and keys.
func (s *Server) accessRoutes() []route {
	return []route{
		open(post, "/v1/academies", s.signUp),
		open(post, "/v1/sign-in", s.signIn),
		open(post, "/v1/sign-out", s.signOut),
		open(post, "/v1/tokens/refresh", s.refreshTokens),

		guarded(get, "/v1/me", auth.AccountRead, s.getMe),
		guarded(patch, "/v1/me", auth.MemberWrite, s.patchMe).conditional(),
		guarded(put, "/v1/me/password", auth.AccountWrite, s.changePassword),

		guarded(get, "/v1/me/export", auth.AccountRead, s.exportMe),
		guarded(get, "/v1/me/export/page", auth.AccountRead, s.exportMePage),
		guarded(post, "/v1/me/leave", auth.MemberWrite, s.leaveAcademy),
		guarded(post, "/v1/me/deletion", auth.AccountWrite, s.deleteAccount),
		guarded(get, "/v1/me/juniors", auth.JuniorList, s.listWards),
		guarded(post, "/v1/me/calendar", auth.CalendarManage, s.createCalendar),
		guarded(get, "/v1/me/calendar", auth.CalendarManage, s.getCalendar),
		guarded(del, "/v1/me/calendar", auth.CalendarManage, s.withdrawCalendar),
		open(get, "/calendars/:file", s.readCalendar),

		open(post, "/v1/invitations/inspect", s.inspectInvitation),
		open(post, "/v1/invitations/accept", s.acceptInvitation),
		guarded(post, "/v1/invitations", auth.InvitationMake, s.createInvitation),
		guarded(post, "/v1/invitations/bulk", auth.InvitationMake, s.createInvitations),
		guarded(get, "/v1/invitations", auth.InvitationList, s.listInvitations),
		guarded(get, "/v1/invitations/:invitation_id", auth.InvitationList, s.getInvitation),
		guarded(del, "/v1/invitations/:invitation_id", auth.InvitationRevoke, s.revokeInvitation),

		guarded(post, "/v1/keys", auth.KeyManage, s.createKey),
		guarded(get, "/v1/keys", auth.KeyManage, s.listKeys),
		guarded(get, "/v1/keys/:key_id", auth.KeyManage, s.getKey),
		guarded(del, "/v1/keys/:key_id", auth.KeyManage, s.revokeKey),
	}
}

// peopleRoutes are the academy's members, links, groups and log.
func (s *Server) peopleRoutes() []route {
	return []route{
		guarded(get, "/v1/academy", auth.AcademyRead, s.getAcademy),
		guarded(patch, "/v1/academy", auth.AcademyWrite, s.patchAcademy).conditional(),
		guarded(get, "/v1/academy/practised", auth.PractisedRead, s.getPractised),

		guarded(get, "/v1/members", auth.MemberList, s.listMembers),
		guarded(get, "/v1/members/:member_id", auth.MemberRead, s.getMember),
		guarded(patch, "/v1/members/:member_id", auth.MemberWrite, s.patchMember).conditional(),
		guarded(del, "/v1/members/:member_id", auth.MemberRemove, s.removeMember),
		guarded(post, "/v1/members/:member_id/erase", auth.MemberErase, s.eraseMember),

		guarded(get, "/v1/students/:student_id/coaches", auth.MemberRead, s.listCoaches),
		guarded(put, "/v1/students/:student_id/coaches/:coach_id", auth.LinkWrite, s.linkCoach),
		guarded(del, "/v1/students/:student_id/coaches/:coach_id", auth.LinkWrite, s.unlinkCoach),
		guarded(put, "/v1/students/:student_id/consent", auth.ConsentWrite, s.putConsent),
		guarded(get, "/v1/students/:student_id/guardians", auth.MemberRead, s.listGuardians),
		guarded(put, "/v1/students/:student_id/guardians/:guardian_id", auth.GuardianLet, s.letGuardian),
		guarded(del, "/v1/students/:student_id/guardians/:guardian_id", auth.GuardianEnd, s.endGuardian),

		guarded(post, "/v1/groups", auth.GroupWrite, s.createGroup),
		guarded(get, "/v1/groups", auth.GroupRead, s.listGroups),
		guarded(get, "/v1/groups/:group_id", auth.GroupRead, s.getGroup),
		guarded(put, "/v1/groups/:group_id", auth.GroupWrite, s.updateGroup).conditional(),
		guarded(del, "/v1/groups/:group_id", auth.GroupWrite, s.deleteGroup).conditional(),

		guarded(get, "/v1/events", auth.EventRead, s.listEvents),
		guarded(get, "/v1/changes", auth.ChangeRead, s.listChanges),
	}
}
