package api

import "fringework/auth"

const (
	introspectPath = "/v1/oauth/introspect"
	metadataPath   = "/.well-known/oauth-authorization-server"
	revokePath     = "/v1/oauth/revoke"
	tokenPath      = "/v1/oauth/token"
	// connectPage is the page that asks people; see api/web.
	connectPage = "/connect"
)

// appRoutes are apps of others and OAuth 2.0.
func (s *Server) appRoutes() []route {
	return []route{
		open(get, metadataPath, s.oauthMetadata),
		open(post, tokenPath, s.createToken),
		open(post, revokePath, s.revokeToken),
		open(post, introspectPath, s.introspectToken),
		guarded(post, "/v1/oauth/authorizations/inspect", auth.AppConnect, s.inspectAuthorization),
		guarded(post, "/v1/oauth/authorizations", auth.AppConnect, s.decideAuthorization),

		guarded(post, "/v1/apps", auth.AppManage, s.registerApp),
		guarded(get, "/v1/apps", auth.AppManage, s.listApps),
		guarded(get, "/v1/apps/:app_id", auth.AppManage, s.getApp),
		guarded(del, "/v1/apps/:app_id", auth.AppManage, s.revokeApp),
		guarded(get, "/v1/apps/:app_id/connections", auth.AppManage, s.listAppConnections),
		guarded(get, "/v1/connections", auth.AppConnect, s.listConnections),
		guarded(del, "/v1/connections/:connection_id", auth.AppConnect, s.endConnection),
	}
}
