package api

// Deprecating makes a Server of whose operations one is deprecated: no real one is.
func Deprecating(c Config, method, path, since, sunset, link string) *Server {
	return newServer(c, func(table []route) []route {
		for i, r := range table {
			if r.method == method && r.path == path {
				table[i] = r.deprecated(since, sunset, link)
			}
		}
		return table
	})
}
