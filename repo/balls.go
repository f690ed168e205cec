package repo

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/practice"
	"fringework/domain/streak"
)

// Balls are kept packed, a block's in one value:
//
//	version   1 byte, 2
//	words     count, then each as length and bytes: the clubs and lies of the
//	          block, each once
//	balls     count, then each as its flags and the fields they announce
//
// Counts, lengths, indices and flags are unsigned, all else signed
// variable-length integers as in encoding/binary. A club, a lie and a distance
// stand until another is given; an instant is told as milliseconds since the one
// before; a miss and a contact by their places in the domain's lists. A ball of which only the outcome and the instant are known thus takes
// three bytes. A field more is a flag more, behind the last.
//
// In version 1, which is still read, the flags were one byte in another order.
const packedVersion = 2

// Flags of a ball. The outcome is in the lowest two bits.
const (
	packedAfter = 1 << (iota + 2)
	packedMeasured
	packedLeave
	packedClub
	packedLie
	packedDistance
	packedMiss
	packedContact
	packedStrokes

	packedKnown = packedStrokes<<1 - 1
)

// flagsOfVersion1 gives the flags of a byte of version 1, which had the instant
// last.
func flagsOfVersion1(b byte) uint64 {
	const after, others = 1 << 7, 0b0111_1100
	flags := uint64(b&3) | uint64(b&others)<<1
	if b&after != 0 {
		flags |= packedAfter
	}
	return flags
}

// previous is what a ball may have in common with the one before it.
type previous struct {
	club, lie string
	distance  domain.Length
	after     int64 // milliseconds
}

// pack writes balls. After is kept in whole milliseconds.
func pack(balls []practice.Ball) []byte {
	words := map[string]uint64{}
	var list []string
	for _, b := range balls {
		for _, w := range []string{b.Club, b.Lie} {
			if _, known := words[w]; !known {
				words[w] = uint64(len(list))
				list = append(list, w)
			}
		}
	}
	out := []byte{packedVersion}
	out = binary.AppendUvarint(out, uint64(len(list)))
	for _, w := range list {
		out = binary.AppendUvarint(out, uint64(len(w)))
		out = append(out, w...)
	}
	out = binary.AppendUvarint(out, uint64(len(balls)))
	var s previous
	for _, b := range balls {
		out = s.pack(out, b, words)
	}
	return out
}

func (s *previous) pack(out []byte, b practice.Ball, words map[string]uint64) []byte {
	after := b.After.Milliseconds()
	flags := uint64(b.Outcome) & 3
	for _, f := range [...]struct {
		flag  uint64
		there bool
	}{
		{packedAfter, after != s.after}, {packedMeasured, b.Measured}, {packedLeave, b.Leave != 0},
		{packedClub, b.Club != s.club}, {packedLie, b.Lie != s.lie}, {packedDistance, b.Distance != s.distance},
		{packedMiss, b.Miss != ""}, {packedContact, b.Contact != ""}, {packedStrokes, b.Strokes != 0},
	} {
		if f.there {
			flags |= f.flag
		}
	}
	out = binary.AppendUvarint(out, flags)
	if flags&packedLeave != 0 {
		out = binary.AppendVarint(out, int64(b.Leave))
	}
	if flags&packedClub != 0 {
		out = binary.AppendUvarint(out, words[b.Club])
	}
	if flags&packedLie != 0 {
		out = binary.AppendUvarint(out, words[b.Lie])
	}
	if flags&packedDistance != 0 {
		out = binary.AppendVarint(out, int64(b.Distance))
	}
	if flags&packedAfter != 0 {
		out = binary.AppendVarint(out, after-s.after)
	}
	if flags&packedMiss != 0 {
		out = binary.AppendUvarint(out, uint64(slices.Index(practice.Misses(), b.Miss)))
	}
	if flags&packedContact != 0 {
		out = binary.AppendUvarint(out, uint64(slices.Index(practice.Contacts(), b.Contact)))
	}
	if flags&packedStrokes != 0 {
		out = binary.AppendVarint(out, int64(b.Strokes))
	}
	*s = previous{b.Club, b.Lie, b.Distance, after}
	return out
}

var errPacked = errors.New("repo: packed balls are damaged")

// unpack reads what pack wrote; nothing gives nil.
func unpack(packed []byte) (balls []practice.Ball, err error) {
	r := unpacker{rest: packed}
	version := r.byte()
	if r.failed || version < 1 || version > packedVersion {
		return nil, fmt.Errorf("%w: version %d", errPacked, version)
	}
	words := make([]string, r.count())
	for i := range words {
		words[i] = string(r.take(r.count()))
	}
	n := r.count()
	if n > 0 {
		balls = make([]practice.Ball, n)
	}
	var s previous
	for i := range balls {
		balls[i] = r.ball(&s, r.flags(version), words)
	}
	if r.failed || len(r.rest) > 0 {
		return nil, errPacked
	}
	return balls, nil
}

// unpacker reads from the front of rest; after a failure everything is zero.
type unpacker struct {
	rest   []byte
	failed bool
}

func (r *unpacker) flags(version byte) uint64 {
	if version == 1 {
		return flagsOfVersion1(r.byte())
	}
	flags := r.unsigned()
	if flags > packedKnown {
		r.failed = true
	}
	return flags
}

func (r *unpacker) ball(s *previous, flags uint64, words []string) practice.Ball {
	b := practice.Ball{Outcome: streak.Outcome(flags & 3), Measured: flags&packedMeasured != 0}
	if b.Outcome > streak.Holed {
		r.failed = true
	}
	if flags&packedLeave != 0 {
		b.Leave = r.length()
	}
	if flags&packedClub != 0 {
		s.club = r.word(words)
	}
	if flags&packedLie != 0 {
		s.lie = r.word(words)
	}
	if flags&packedDistance != 0 {
		s.distance = r.length()
	}
	if flags&packedAfter != 0 {
		s.after += r.signed()
	}
	if flags&packedMiss != 0 {
		b.Miss = listed(r, practice.Misses())
	}
	if flags&packedContact != 0 {
		b.Contact = listed(r, practice.Contacts())
	}
	if flags&packedStrokes != 0 {
		b.Strokes = int(r.signed())
	}
	b.Club, b.Lie, b.Distance, b.After = s.club, s.lie, s.distance, time.Duration(s.after)*time.Millisecond
	return b
}

// listed reads a word of a list by its place there.
func listed[W any](r *unpacker, list []W) (w W) {
	i := r.unsigned()
	if r.failed || i >= uint64(len(list)) {
		r.failed = true
		return w
	}
	return list[i]
}

func (r *unpacker) byte() byte {
	if b := r.take(1); len(b) == 1 {
		return b[0]
	}
	return 0
}

// take gives the next n bytes.
func (r *unpacker) take(n int) []byte {
	if r.failed || n > len(r.rest) {
		r.failed = true
		return nil
	}
	b := r.rest[:n]
	r.rest = r.rest[n:]
	return b
}

// count reads a number of things that take at least a byte each.
func (r *unpacker) count() int {
	n := r.unsigned()
	if n > uint64(len(r.rest)) {
		r.failed = true
		return 0
	}
	return int(n)
}

func (r *unpacker) word(words []string) string {
	i := r.unsigned()
	if r.failed || i >= uint64(len(words)) {
		r.failed = true
		return ""
	}
	return words[i]
}

func (r *unpacker) length() domain.Length {
	n := r.signed()
	if n < math.MinInt32 || n > math.MaxInt32 {
		r.failed = true
		return 0
	}
	return domain.Length(n)
}

func (r *unpacker) unsigned() uint64 {
	v, n := binary.Uvarint(r.rest)
	r.skip(n)
	if r.failed {
		return 0
	}
	return v
}

func (r *unpacker) signed() int64 {
	v, n := binary.Varint(r.rest)
	r.skip(n)
	if r.failed {
		return 0
	}
	return v
}

func (r *unpacker) skip(n int) {
	if r.failed || n <= 0 {
		r.failed = true
		return
	}
	r.rest = r.rest[n:]
}
