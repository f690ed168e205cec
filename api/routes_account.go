package api

import "fringework/auth"

// accountRoutes are how a person signs in beside a password, and gets back in.
func (s *Server) accountRoutes() []route {
	return []route{
		open(post, "/v1/sign-in/code", s.finishSignIn),
		guarded(get, "/v1/me/second-factor", auth.AccountRead, s.getFactors),
		guarded(post, "/v1/me/authenticator", auth.AccountWrite, s.beginAuthenticator),
		guarded(post, "/v1/me/authenticator/confirm", auth.AccountWrite, s.confirmAuthenticator),
		guarded(post, "/v1/me/authenticator/remove", auth.AccountWrite, s.removeAuthenticator),
		guarded(post, "/v1/me/recovery-codes", auth.AccountWrite, s.renewRecoveryCodes),
		guarded(put, "/v1/academy/second-factor", auth.AcademyWrite, s.putFactorRule),
	}
}
