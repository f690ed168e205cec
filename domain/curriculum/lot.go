package curriculum

import (
	"hash/fnv"
	"strconv"

	"fringework/domain"
)

// Hidden is the lot of a test of the plan, by its 1-based block: with even odds it
// hides the run and the odds. It follows from the ID of the session, of which the phone
// draws 74 bits at random (UUIDv7, RFC 9562 §5.7), so that phone and service draw the
// same without asking each other, and nobody knows it before the session begins.
//
// The ID is hashed with FNV-1a of 32 bits and mixed by the last step of MurmurHash3
// (A. Appleby), so that each bit of the ID moves the bit that is read.
func Hidden(session domain.ID, block int) bool {
	h := fnv.New32a()
	h.Write([]byte(string(session) + "/" + strconv.Itoa(block)))
	x := h.Sum32()
	x ^= x >> 16
	x *= 0x85ebca6b
	x ^= x >> 13
	x *= 0xc2b2ae35
	x ^= x >> 16
	return x>>31 == 1
}
