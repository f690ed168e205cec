package api

import "fringework/auth"

// talkRoutes are messages between students and coaches, and shared reports.
func (s *Server) talkRoutes() []route {
	const messages, links = "/v1/students/:student_id/messages", "/v1/students/:student_id/report-links"
	return []route{
		guarded(post, "/v1/messages", auth.MessageMany, s.sendMessages),
		guarded(get, "/v1/messages/unread", auth.MessageMany, s.listUnread),
		guarded(post, messages, auth.MessageWrite, s.createMessage),
		guarded(get, messages, auth.MessageRead, s.listMessages),
		guarded(put, messages+"/read", auth.MessageRead, s.markMessages),

		guarded(post, links, auth.ReportShare, s.createReportLink),
		guarded(get, links, auth.ReportShare, s.listReportLinks),
		guarded(del, links+"/:link_id", auth.ReportShare, s.withdrawReportLink),
		open(post, "/v1/shared-reports", s.readSharedReport),
	}
}
