package api

import "fringework/auth"

// talkRoutes are lessons, messages between students and coaches, shared reports, and
// webhooks.
func (s *Server) talkRoutes() []route {
	const hooks, deliveries = "/v1/webhooks", "/v1/webhooks/:webhook_id/deliveries"
	const messages, links = "/v1/students/:student_id/messages", "/v1/students/:student_id/report-links"
	return []route{
		guarded(post, "/v1/lessons", auth.LessonWrite, s.planLessons),
		guarded(get, "/v1/lessons", auth.LessonRead, s.listLessons),
		guarded(get, lessonPath, auth.LessonRead, s.getLesson),
		guarded(put, lessonPath, auth.LessonWrite, s.putLesson).conditional(),
		guarded(del, lessonPath, auth.LessonWrite, s.deleteLesson),
		guarded(get, lessonPath+"/preparation", auth.LessonWrite, s.prepareLesson),
		guarded(post, mediaPath, auth.LessonWrite, s.addLessonMedia),
		guarded(get, mediaPath+"/:media_id", auth.MediaRead, s.getLessonMedia),
		guarded(del, mediaPath+"/:media_id", auth.MediaDelete, s.deleteLessonMedia),
		guarded(get, "/v1/academy/media", auth.LessonWrite, s.getMediaUse),

		guarded(post, "/v1/messages", auth.MessageMany, s.sendMessages),
		guarded(get, "/v1/messages/unread", auth.MessageMany, s.listUnread),
		guarded(post, messages, auth.MessageWrite, s.createMessage),
		guarded(get, messages, auth.MessageRead, s.listMessages),
		guarded(put, messages+"/read", auth.MessageRead, s.markMessages),

		guarded(post, links, auth.ReportShare, s.createReportLink),
		guarded(get, links, auth.ReportShare, s.listReportLinks),
		guarded(del, links+"/:link_id", auth.ReportShare, s.withdrawReportLink),
		open(post, "/v1/shared-reports", s.readSharedReport),

		guarded(post, hooks, auth.WebhookManage, s.createWebhook),
		guarded(get, hooks, auth.WebhookManage, s.listWebhooks),
		guarded(get, hooks+"/:webhook_id", auth.WebhookManage, s.getWebhook),
		guarded(put, hooks+"/:webhook_id", auth.WebhookManage, s.updateWebhook).conditional(),
		guarded(del, hooks+"/:webhook_id", auth.WebhookManage, s.deleteWebhook),
		guarded(post, hooks+"/:webhook_id/rotate", auth.WebhookManage, s.rotateWebhook),
		guarded(post, hooks+"/:webhook_id/test", auth.WebhookManage, s.testWebhook),
		guarded(get, deliveries, auth.WebhookManage, s.listDeliveries),
		guarded(post, deliveries+"/:delivery_id/resend", auth.WebhookManage, s.resendDelivery),
	}
}
