package auth

import (
	"testing"
	"time"

	"github.com/pquerna/otp/hotp"
)

// TestTOTPReference: RFC 6238, appendix B, the values for SHA-1 with the last six
// of their eight digits.
func TestTOTPReference(t *testing.T) {
	secret := []byte("12345678901234567890")
	for at, code := range map[int64]string{
		59: "287082", 1111111109: "081804", 1111111111: "050471", 1234567890: "005924", 2000000000: "279037", 20000000000: "353130",
	} {
		step, ok := matches(secret, code, time.Unix(at, 0))
		if !ok || step != at/30 {
			t.Errorf("at %d: step %d, %v; want %d", at, step, ok, at/30)
		}
	}
	if _, ok := matches(secret, "287082", time.Unix(59+61, 0)); ok {
		t.Error("a code of two steps before is taken")
	}
	// Where the secret was lost, what would be its code lets nobody in.
	code, err := hotp.GenerateCodeCustom("", 1, hotpForm)
	if _, ok := matches(nil, code, time.Unix(59, 0)); ok || err != nil {
		t.Errorf("the code %s of no secret is taken, %v", code, err)
	}
}
