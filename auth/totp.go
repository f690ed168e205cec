package auth

import (
	"crypto/subtle"
	"encoding/base32"
	"image"
	"strings"
	"time"

	"github.com/boombuler/barcode/qr"
	"github.com/pquerna/otp"
	"github.com/pquerna/otp/hotp"
	"github.com/pquerna/otp/totp"

	"fringework/domain"
)

// Codes of an app are of 6 digits, for steps of 30 s, by SHA-1: what every such
// app can do (RFC 6238 §5.2 advises the step).
const (
	totpStep   = 30 * time.Second
	totpSecret = 20 // bytes, as RFC 4226 §4 R6 advises
)

var hotpForm = hotp.ValidateOpts{Digits: otp.DigitsSix, Algorithm: otp.AlgorithmSHA1}

// Enrolment is what an app needs to know to show codes.
type Enrolment struct {
	// Secret is base32 without padding, to be typed.
	Secret string
	// URI is the same for a link or a picture: otpauth://totp/…
	URI string
	// Picture is the URI as a QR code: rows of modules, true where dark, without
	// the quiet zone around it.
	Picture [][]bool
}

var base32Plain = base32.StdEncoding.WithPadding(base32.NoPadding)

// enrolment writes a secret for an app.
func enrolment(email string, secret []byte) (e Enrolment, err error) {
	key, err := totp.Generate(totp.GenerateOpts{Issuer: "Fringework", AccountName: email, Secret: secret, Period: uint(totpStep / time.Second)})
	if err != nil {
		return e, err
	}
	picture, err := qr.Encode(key.URL(), qr.M, qr.Auto) // one pixel a module
	if err == nil {
		e = Enrolment{Secret: key.Secret(), URI: key.URL(), Picture: modules(picture)}
	}
	return e, err
}

func modules(m image.Image) (rows [][]bool) {
	for y := m.Bounds().Min.Y; y < m.Bounds().Max.Y; y++ {
		var row []bool
		for x := m.Bounds().Min.X; x < m.Bounds().Max.X; x++ {
			r, _, _, _ := m.At(x, y).RGBA()
			row = append(row, r < 0x8000)
		}
		rows = append(rows, row)
	}
	return rows
}

// matches finds the step of time whose code somebody shows: now's, or the one
// before or after, for clocks that differ and people who type slowly (RFC 6238
// §5.2 advises at most one). All are computed, so that the time taken does not
// tell which.
func matches(secret []byte, code string, now time.Time) (step int64, ok bool) {
	if len(secret) == 0 {
		return 0, false
	}
	middle := now.Unix() / int64(totpStep/time.Second)
	for s := middle - 1; s <= middle+1; s++ {
		want, err := hotp.GenerateCodeCustom(base32Plain.EncodeToString(secret), uint64(s), hotpForm)
		if err == nil && subtle.ConstantTimeCompare([]byte(want), []byte(code)) == 1 {
			step, ok = s, true
		}
	}
	return step, ok
}

// recoveryCodes is how many are made at once.
const recoveryCodes = 10

// newRecoveryCodes makes codes of 80 random bits, with their digests.
func newRecoveryCodes() (codes []string, digests []Digest) {
	for range recoveryCodes {
		code := newCode()[:16]
		digests = append(digests, DigestOf(code))
		codes = append(codes, strings.Join([]string{code[:4], code[4:8], code[8:12], code[12:]}, "-"))
	}
	return codes, digests
}

func errCode() *domain.Error {
	return domain.Errorf(domain.Unauthenticated, "code_refused",
		"This code is wrong, or was used already. Wait for the next one of your app, or give a recovery code.")
}
