package api

// accessRoutes are signing up, signing in, invitations and keys.
func (s *Server) accessRoutes() []route {
	return []route{}
}

// peopleRoutes are the academy's members, links, groups and log.
func (s *Server) peopleRoutes() []route {
	return []route{}
}
