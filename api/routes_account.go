package api

import "fringework/auth"

// accountRoutes are how a person signs in beside a password, and gets back in.
func (s *Server) accountRoutes() []route {
	return []route{
		open(get, "/v1/sign-in/ways", s.signInWays),
		open(post, "/v1/sign-in/code", s.finishSignIn),
		open(post, "/v1/sign-in/passkey/begin", s.beginPasskeySignIn),
		open(post, "/v1/sign-in/passkey", s.passkeySignIn),
		guarded(post, "/v1/me/passkeys/begin", auth.AccountWrite, s.beginPasskey),
		guarded(post, "/v1/me/passkeys", auth.AccountWrite, s.addPasskey),
		guarded(post, "/v1/me/passkeys/:passkey_id/remove", auth.AccountWrite, s.removePasskey),
		open(post, "/v1/password/forgotten", s.forgotPassword),
		open(post, "/v1/password/reset", s.useReset),
		open(post, "/v1/email/confirm", s.confirmEmail),
		open(post, "/v1/academies/confirm", s.confirmSignUp),
		guarded(post, "/v1/members/:member_id/reset-link", auth.PasswordHand, s.handReset),
		guarded(put, "/v1/me/email", auth.AccountWrite, s.changeEmail),
		guarded(post, "/v1/me/email/verify", auth.AccountWrite, s.askVerify),
		guarded(get, "/v1/me/weekly-letter", auth.DigestManage, s.getWeeklyLetter),
		guarded(put, "/v1/me/weekly-letter", auth.DigestManage, s.putWeeklyLetter),
		open(get, "/unsubscribe/:token", s.unsubscribePage),
		open(post, "/unsubscribe/:token", s.unsubscribe),
		guarded(get, "/v1/me/second-factor", auth.AccountRead, s.getFactors),
		guarded(post, "/v1/me/authenticator", auth.AccountWrite, s.beginAuthenticator),
		guarded(post, "/v1/me/authenticator/confirm", auth.AccountWrite, s.confirmAuthenticator),
		guarded(post, "/v1/me/authenticator/remove", auth.AccountWrite, s.removeAuthenticator),
		guarded(post, "/v1/me/recovery-codes", auth.AccountWrite, s.renewRecoveryCodes),
		guarded(put, "/v1/academy/second-factor", auth.AcademyWrite, s.putFactorRule),
	}
}
