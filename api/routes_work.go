package api

import "fringework/auth"

// curriculumRoutes are skills, programmes and assignments.
func (s *Server) curriculumRoutes() []route {
	const programme = "/v1/programmes/:programme_id"
	const assignment = "/v1/assignments/:assignment_id"
	return []route{
		guarded(post, "/v1/skills", auth.SkillWrite, s.createSkill),
		guarded(get, "/v1/skills", auth.SkillRead, s.listSkills),
		guarded(get, "/v1/skills/:skill_id", auth.SkillRead, s.getSkill),
		guarded(put, "/v1/skills/:skill_id", auth.SkillWrite, s.updateSkill).conditional(),
		guarded(post, "/v1/skills/:skill_id/archive", auth.SkillWrite, s.archiveSkill),
		guarded(post, "/v1/skills/:skill_id/restore", auth.SkillWrite, s.restoreSkill),
		guarded(post, "/v1/skills/:skill_id/ladder/preview", auth.InsightRead, s.previewLadder),
		guarded(get, "/v1/starting-points", auth.ProgrammeRead, s.listStartingPoints),

		guarded(post, "/v1/programmes", auth.ProgrammeWrite, s.createProgramme),
		guarded(get, "/v1/programmes", auth.ProgrammeRead, s.listProgrammes),
		guarded(post, "/v1/programmes/import", auth.ProgrammeWrite, s.importProgramme),
		guarded(get, programme, auth.ProgrammeRead, s.getProgramme),
		guarded(put, programme, auth.ProgrammeWrite, s.saveDraft).conditional(),
		guarded(post, programme+"/clone", auth.ProgrammeWrite, s.cloneProgramme),
		guarded(post, programme+"/archive", auth.ProgrammeWrite, s.archiveProgramme),
		guarded(post, programme+"/restore", auth.ProgrammeWrite, s.restoreProgramme),
		guarded(get, programme+"/document", auth.ProgrammeRead, s.exportProgramme),
		guarded(post, programme+"/versions", auth.ProgrammePublish, s.publishProgramme).conditional(),
		guarded(get, programme+"/versions", auth.ProgrammeRead, s.listVersions),
		guarded(get, programme+"/versions/:number", auth.ProgrammeRead, s.getVersion),
		guarded(get, programme+"/differences", auth.ProgrammeRead, s.getDifferences),
		guarded(get, programme+"/days", auth.ProgrammeRead, s.getPlanDays),
		guarded(get, programme+"/cohort", auth.DashboardRead, s.getCohort),

		guarded(post, "/v1/assignments", auth.AssignmentWrite, s.createAssignments),
		guarded(post, "/v1/assignments/bulk", auth.AssignmentWrite, s.changeAssignments),
		guarded(get, "/v1/assignments", auth.AssignmentRead, s.listAssignments),
		guarded(get, assignment, auth.AssignmentRead, s.getAssignment),
		guarded(post, assignment+"/pause", auth.AssignmentWrite, s.pauseAssignment).conditional(),
		guarded(post, assignment+"/resume", auth.AssignmentWrite, s.resumeAssignment).conditional(),
		guarded(post, assignment+"/move", auth.AssignmentWrite, s.moveAssignment).conditional(),
		guarded(post, assignment+"/end", auth.AssignmentWrite, s.endAssignment).conditional(),
		guarded(post, assignment+"/tests", auth.AssignmentWrite, s.askForTests).conditional(),
	}
}

// practiceRoutes are sessions, progress, the dashboard and calculations.
func (s *Server) practiceRoutes() []route {
	return []route{
		guarded(get, "/v1/sessions", auth.SessionRead, s.listSessions),
		guarded(put, sessionPath, auth.SessionWrite, s.putSession),
		guarded(get, sessionPath, auth.SessionRead, s.getSession),
		guarded(del, sessionPath, auth.SessionWrite, s.deleteSession),
		guarded(post, sessionPath+"/comments", auth.CommentWrite, s.createComment),
		guarded(get, sessionPath+"/comments", auth.CommentRead, s.listComments),
		guarded(put, commentPath, auth.CommentReply, s.editComment),
		guarded(del, commentPath, auth.CommentReply, s.deleteComment),
		guarded(post, commentPath+"/replies", auth.CommentReply, s.replyToComment),

		guarded(get, "/v1/rounds", auth.RoundRead, s.listRounds),
		guarded(put, roundPath, auth.RoundWrite, s.putRound),
		guarded(get, roundPath, auth.RoundRead, s.getRound),
		guarded(del, roundPath, auth.RoundWrite, s.deleteRound),
		guarded(get, "/v1/students/:student_id/course", auth.ProgressSee, s.getCourse),

		guarded(get, "/v1/matches/:match_id", auth.SessionRead, s.getMatch),
		guarded(get, "/v1/students/:student_id/matches", auth.SessionRead, s.listMatches),
		guarded(get, "/v1/students/:student_id/now", auth.NowRead, s.getNow),
		guarded(get, "/v1/students/:student_id/tests", auth.NowRead, s.getTests),
		guarded(post, "/v1/students/:student_id/start", auth.StartTake, s.takeStart),
		guarded(get, "/v1/students/:student_id/days", auth.NowRead, s.getStudentDays),
		guarded(get, bagPath, auth.NowRead, s.getBag),
		guarded(put, bagPath, auth.BagWrite, s.putBag),
		guarded(get, seasonPath, auth.NowRead, s.getSeason),
		guarded(put, seasonPath, auth.SeasonWrite, s.putSeason),
		guarded(get, "/v1/students/:student_id/progress", auth.ProgressSee, s.getProgress),
		guarded(get, "/v1/students/:student_id/played-out", auth.ProgressSee, s.getPlayedOut),
		guarded(get, "/v1/students/:student_id/learning", auth.ProgressSee, s.getLearning),
		guarded(put, "/v1/students/:student_id/quiet-tests", auth.QuietSay, s.putQuietTests),
		guarded(get, "/v1/dashboard", auth.DashboardRead, s.getDashboard),
		guarded(get, "/v1/skills/:skill_id/insights", auth.InsightRead, s.getInsights),

		guarded(get, "/v1/calc", auth.CalcRun, s.listCalculations),
		guarded(post, "/v1/calc/:name", auth.CalcRun, s.runCalculation),
	}
}
