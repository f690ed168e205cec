package authtest

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"

	"github.com/descope/virtualwebauthn"
)

// NewPasskey makes a key of a device of an independent library. That one leaves out
// leading zero bytes of the public key's coordinates, which RFC 9053, 7.1.1, forbids;
// so this takes a key that has none.
func NewPasskey() virtualwebauthn.Credential {
	for {
		key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
		if err != nil {
			panic(err)
		}
		point, err := key.PublicKey.Bytes() // 4, then both coordinates in 32 bytes each
		if err != nil {
			panic(err)
		}
		if point[1] == 0 || point[33] == 0 {
			continue
		}
		text, err := x509.MarshalPKCS8PrivateKey(key)
		if err != nil {
			panic(err)
		}
		return virtualwebauthn.NewCredentialWithImportedKey(virtualwebauthn.KeyTypeEC2, text)
	}
}
