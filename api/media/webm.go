package media

import (
	"encoding/binary"
	"math"
	"math/bits"
	"time"
)

// A WebM file is elements in elements (RFC 8794, RFC 9559): a number that names it, a
// size, and what is in it, both numbers of one to eight bytes.
const (
	ebmlHeader    = 0x1a45dfa3
	ebmlDocType   = 0x4282
	ebmlSegment   = 0x18538067
	ebmlInfo      = 0x1549a966
	ebmlScale     = 0x2ad7b1
	ebmlDuration  = 0x4489
	ebmlTitle     = 0x7ba9
	ebmlDate      = 0x4461
	ebmlTags      = 0x1254c367
	ebmlAttached  = 0x1941a469
	ebmlVoid      = 0xec
	unknownLength = math.MaxUint64
)

// cleanWebM blanks the descriptions of a clip in place, and tells how long it is.
func cleanWebM(clip []byte) (length time.Duration, err error) {
	kind := ""
	scale, units := uint64(1_000_000), 0.0 // nanoseconds, RFC 9559 §5.1.2.9
	err = elements(clip, func(id uint64, element, body []byte) error {
		switch id {
		case ebmlHeader:
			return elements(body, func(id uint64, _, body []byte) error {
				if id == ebmlDocType {
					kind = string(body)
				}
				return nil
			})
		case ebmlSegment:
			return elements(body, func(id uint64, element, body []byte) error {
				switch id {
				case ebmlTags, ebmlAttached:
					void(element)
				case ebmlInfo:
					return elements(body, func(id uint64, element, body []byte) error {
						switch id {
						case ebmlScale:
							scale = unsigned(body)
						case ebmlDuration:
							units = float(body)
						case ebmlTitle, ebmlDate:
							void(element)
						}
						return nil
					})
				}
				return nil
			})
		}
		void(element)
		return nil
	})
	if err == nil && kind != "webm" {
		err = refused("is no WebM clip; export it anew as MP4")
	}
	seconds := units * float64(scale) / 1e9
	if math.IsNaN(seconds) {
		seconds = 0
	}
	return time.Duration(min(seconds, 1e6) * float64(time.Second)), err
}

// elements calls look for each element: what names it, all of it, and what is in it. One
// of unknown size reaches to the end.
func elements(content []byte, look func(id uint64, element, body []byte) error) error {
	for len(content) > 0 {
		id, n := vint(content, false)
		size, m := vint(content[n:], true)
		if n == 0 || m == 0 {
			return errDamaged()
		}
		rest := uint64(len(content) - n - m)
		if size == unknownLength {
			size = rest
		}
		if size > rest {
			return errDamaged()
		}
		end := n + m + int(size)
		if err := look(id, content[:end], content[n+m:end]); err != nil {
			return err
		}
		content = content[end:]
	}
	return nil
}

// vint reads a number of one to eight bytes, whose first byte tells how many; without
// its mark where it is a size. n is 0 when there is none.
func vint(content []byte, size bool) (value uint64, n int) {
	if len(content) == 0 || content[0] == 0 {
		return 0, 0
	}
	n = bits.LeadingZeros8(content[0]) + 1
	if n > len(content) {
		return 0, 0
	}
	for _, b := range content[:n] {
		value = value<<8 | uint64(b)
	}
	if !size {
		return value, n
	}
	value &^= 1 << (7 * n)
	if value == 1<<(7*n)-1 {
		return unknownLength, n
	}
	return value, n
}

// void makes an element one that says nothing, of the same size, so that nothing else
// moves. What is too short for that says nothing either way.
func void(element []byte) {
	if len(element) < 2 {
		return
	}
	n := len(element)
	clear(element)
	element[0] = ebmlVoid
	if n < 9 {
		element[1] = 0x80 | byte(n-2)
		return
	}
	binary.BigEndian.PutUint64(element[1:9], uint64(n-9))
	element[1] = 0x01
}

func unsigned(body []byte) (n uint64) {
	for _, b := range body[:min(8, len(body))] {
		n = n<<8 | uint64(b)
	}
	return n
}

func float(body []byte) float64 {
	switch len(body) {
	case 4:
		return float64(math.Float32frombits(binary.BigEndian.Uint32(body)))
	case 8:
		return math.Float64frombits(binary.BigEndian.Uint64(body))
	}
	return 0
}
