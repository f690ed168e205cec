package domain

import (
	"crypto/sha256"
	"time"
)

// Claim is a request that is to be carried out once, however often it is sent.
type Claim struct {
	Academy ID
	// Asker is the member or the key that asks, each with keys of their own.
	Asker ID
	// Key is a digest of the client's key for the request, and Request of all that the
	// request says.
	Key, Request [sha256.Size]byte
	// Now is when it is asked, in UTC.
	Now time.Time
}
