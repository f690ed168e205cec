package repo

import (
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"time"

	"fringework/domain"
)

// A packer writes and reads what is kept of progress: derived values, which a
// rebuild can make again, in a compact form. One function names the fields of a
// type in order, for both directions. Integers are signed variable-length ones
// as in encoding/binary, numbers the eight bytes of IEEE 754, identities the
// sixteen bytes of a UUID.
type packer struct {
	bytes   []byte // written so far, or still to be read
	reading bool
	failed  bool
}

var errDamaged = errors.New("repo: what is kept of progress is damaged; run fringework rebuild --repair")

// write packs a value behind its version.
func write[T any](version byte, value *T, fields func(*packer, *T)) []byte {
	p := packer{bytes: make([]byte, 1, 256)}
	p.bytes[0] = version
	fields(&p, value)
	return p.bytes
}

// read unpacks a value of that version.
func read[T any](version byte, packed []byte, fields func(*packer, *T)) (value T, err error) {
	if len(packed) == 0 || packed[0] != version {
		return value, fmt.Errorf("%w: not in form %d", errDamaged, version)
	}
	p := packer{bytes: packed[1:], reading: true}
	if fields(&p, &value); p.failed || len(p.bytes) > 0 {
		return value, errDamaged
	}
	return value, nil
}

// take gives the next n bytes.
func (p *packer) take(n int) []byte {
	if p.failed || n < 0 || n > len(p.bytes) {
		p.failed = true
		return nil
	}
	b := p.bytes[:n]
	p.bytes = p.bytes[n:]
	return b
}

func (p *packer) int64(v *int64) {
	if !p.reading {
		p.bytes = binary.AppendVarint(p.bytes, *v)
		return
	}
	if len(p.bytes) > 0 && p.bytes[0] < 0x80 { // most are one byte; see binary.Varint
		x := p.bytes[0]
		*v = int64(x>>1) ^ -int64(x&1)
		p.bytes = p.bytes[1:]
		return
	}
	x, n := binary.Varint(p.bytes)
	if p.take(n); n <= 0 {
		p.failed = true
		x = 0
	}
	*v = x
}

func (p *packer) ints(vs ...*int) {
	for _, v := range vs {
		x := int64(*v)
		p.int64(&x)
		*v = int(x)
	}
}

func (p *packer) bool(v *bool) {
	x := 0
	if *v {
		x = 1
	}
	p.ints(&x)
	*v = x == 1
}

func (p *packer) length(v *domain.Length) {
	x := int64(*v)
	p.int64(&x)
	*v = domain.Length(x)
}

func (p *packer) floats(vs ...*float64) {
	for _, v := range vs {
		if !p.reading {
			p.bytes = binary.LittleEndian.AppendUint64(p.bytes, math.Float64bits(*v))
		} else if b := p.take(8); b != nil {
			*v = math.Float64frombits(binary.LittleEndian.Uint64(b))
		}
	}
}

// count packs how many of something follow, each of a byte at least.
func (p *packer) count(n int) int {
	p.ints(&n)
	if p.reading && (n < 0 || n > len(p.bytes)) {
		p.failed = true
		return 0
	}
	return n
}

func (p *packer) text(v *string) {
	n := p.count(len(*v))
	if !p.reading {
		p.bytes = append(p.bytes, *v...)
		return
	}
	*v = string(p.take(n))
}

// word packs a text that is mostly one of those known, which need not be made
// anew when it is read.
func (p *packer) word(v *string, known map[string]string) {
	n := p.count(len(*v))
	if !p.reading {
		p.bytes = append(p.bytes, *v...)
		return
	}
	b := p.take(n)
	if w, ok := known[string(b)]; ok {
		*v = w
		return
	}
	*v = string(b)
}

// id packs an identity: a UUID in sixteen bytes, anything else as text.
func (p *packer) id(v *domain.ID) {
	uuid, isUUID := uuidBytes(string(*v))
	p.bool(&isUUID)
	switch {
	case !isUUID:
		p.text((*string)(v))
	case p.reading:
		if b := p.take(16); b != nil {
			*v = domain.ID(uuidText([16]byte(b)))
		}
	default:
		p.bytes = append(p.bytes, uuid[:]...)
	}
}

// uuidBytes reads a UUID in its canonical lower-case form.
func uuidBytes(s string) (b [16]byte, ok bool) {
	if len(s) != 36 {
		return b, false
	}
	var digits [32]byte
	n := 0
	for i := range len(s) {
		switch c := s[i]; {
		case i == 8 || i == 13 || i == 18 || i == 23:
			if c != '-' {
				return b, false
			}
		case c >= 'A' && c <= 'F':
			return b, false
		default:
			digits[n] = c
			n++
		}
	}
	_, err := hex.Decode(b[:], digits[:])
	return b, err == nil
}

func uuidText(b [16]byte) string {
	var out [36]byte
	hex.Encode(out[:8], b[:4])
	hex.Encode(out[9:13], b[4:6])
	hex.Encode(out[14:18], b[6:8])
	hex.Encode(out[19:23], b[8:10])
	hex.Encode(out[24:], b[10:])
	out[8], out[13], out[18], out[23] = '-', '-', '-', '-'
	return string(out[:])
}

// instant packs an instant that may be zero, in milliseconds.
func (p *packer) instant(v *time.Time) {
	set := !v.IsZero()
	p.bool(&set)
	if !set {
		return
	}
	ms := v.UnixMilli()
	if p.int64(&ms); p.reading {
		*v = instant(ms)
	}
}

var epoch = domain.Date{Year: 1970, Month: time.January, Day: 1}

// date packs a date that may be none, in days since 1970.
func (p *packer) date(v *domain.Date) {
	set := *v != domain.Date{}
	p.bool(&set)
	if !set {
		return
	}
	days := 0
	if !p.reading {
		days = epoch.DaysUntil(*v)
	}
	if p.ints(&days); p.reading {
		*v = epoch.AddDays(days)
	}
}

// packSlice packs a slice; an empty one is read as nil.
func packSlice[T any](p *packer, v *[]T, fields func(*packer, *T)) {
	n := p.count(len(*v))
	if p.reading && n > 0 {
		*v = make([]T, n)
	}
	for i := range *v {
		fields(p, &(*v)[i])
	}
}

// packOptional packs what a pointer points to, if to anything.
func packOptional[T any](p *packer, v **T, fields func(*packer, *T)) {
	set := *v != nil
	if p.bool(&set); !set {
		return
	}
	if p.reading {
		*v = new(T)
	}
	fields(p, *v)
}
