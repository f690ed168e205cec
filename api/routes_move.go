package api

import "fringework/auth"

// moveRoutes are exports and imports.
func (s *Server) moveRoutes() []route {
	return []route{
		guarded(get, "/v1/exports/sessions", auth.SessionRead, s.exportSessions),
		guarded(get, "/v1/exports/balls", auth.SessionRead, s.exportBalls),
		guarded(get, "/v1/exports/milestones", auth.ProgressSee, s.exportMilestones),
		guarded(get, "/v1/exports/progress", auth.ProgressSee, s.exportProgress),
		guarded(get, archivePath, auth.AcademyExport, s.exportAcademy),
		guarded(post, importPath, auth.SessionWrite, s.importSessions),
	}
}
