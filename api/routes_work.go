package api

import "fringework/auth"

// curriculumRoutes are skills, programmes and assignments.
func (s *Server) curriculumRoutes() []route {
	return []route{
		guarded(post, "/v1/skills", auth.SkillWrite, s.createSkill),
		guarded(get, "/v1/skills", auth.SkillRead, s.listSkills),
		guarded(get, "/v1/skills/:skill_id", auth.SkillRead, s.getSkill),
		guarded(put, "/v1/skills/:skill_id", auth.SkillWrite, s.updateSkill),
		guarded(post, "/v1/skills/:skill_id/archive", auth.SkillWrite, s.archiveSkill),
		guarded(post, "/v1/skills/:skill_id/restore", auth.SkillWrite, s.restoreSkill),
	}
}

// practiceRoutes are sessions, progress and the dashboard.
func (s *Server) practiceRoutes() []route {
	return []route{}
}
