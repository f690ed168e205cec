package media

import (
	"encoding/binary"
	"slices"
	"time"
)

// An MP4 file is boxes in boxes (ISO/IEC 14496-12): a size of four bytes, a name of
// four letters, and what is in it. A size of 1 is followed by one of eight bytes, and
// one of 0 reaches to the end of the file.

// isMP4 tells an MP4, or the QuickTime file that phones write, whose boxes are the same.
func isMP4(content []byte) bool { return len(content) >= 12 && string(content[4:8]) == "ftyp" }

// Boxes that are kept, by what they are in; all others are blanked: they describe the
// clip, and may say where and by whom it was made.
var keptBoxes = map[string][]string{
	"":     {"ftyp", "moov", "mdat", "free", "skip", "wide"},
	"moov": {"mvhd", "trak", "iods"},
	"trak": {"tkhd", "edts", "mdia", "tref"},
}

// cleanMP4 blanks the descriptions of a clip in place, and tells how long it is.
func cleanMP4(clip []byte) (length time.Duration, err error) {
	pictures := false
	err = boxes(clip, func(name string, box, body []byte) error {
		if !slices.Contains(keptBoxes[""], name) {
			return blank(box, body)
		}
		if name != "moov" {
			return nil
		}
		return boxes(body, func(name string, box, body []byte) error {
			switch {
			case !slices.Contains(keptBoxes["moov"], name):
				return blank(box, body)
			case name == "mvhd":
				length, err = movieLength(body)
				return err
			case name != "trak":
				return nil
			}
			kind := trackKind(body)
			pictures = pictures || kind == "vide"
			if kind != "vide" && kind != "soun" {
				return blank(box, body) // a track of places or of texts
			}
			return boxes(body, func(name string, box, body []byte) error {
				if slices.Contains(keptBoxes["trak"], name) {
					return nil
				}
				return blank(box, body)
			})
		})
	})
	if err == nil && !pictures {
		err = refused("is a clip without pictures; export it anew as MP4")
	}
	return length, err
}

func errDamaged() error { return refused("is a clip that cannot be read; export it anew as MP4") }

// boxes calls look for each box: its name, all of it, and what is in it.
func boxes(content []byte, look func(name string, box, body []byte) error) error {
	for len(content) > 0 {
		if len(content) < 8 {
			return errDamaged()
		}
		size, head := uint64(binary.BigEndian.Uint32(content)), uint64(8)
		switch size {
		case 0:
			size = uint64(len(content))
		case 1:
			if len(content) < 16 {
				return errDamaged()
			}
			size, head = binary.BigEndian.Uint64(content[8:]), 16
		}
		if size < head || size > uint64(len(content)) {
			return errDamaged()
		}
		if err := look(string(content[4:8]), content[:size], content[head:size]); err != nil {
			return err
		}
		content = content[size:]
	}
	return nil
}

// blank makes free space of a box, of the same size, so that nothing else moves.
func blank(box, body []byte) error {
	copy(box[4:8], "free")
	clear(body)
	return nil
}

// movieLength reads the length of the clip from its header.
func movieLength(body []byte) (time.Duration, error) {
	var scale, units uint64
	switch {
	case len(body) >= 20 && body[0] == 0:
		scale, units = uint64(binary.BigEndian.Uint32(body[12:])), uint64(binary.BigEndian.Uint32(body[16:]))
	case len(body) >= 32 && body[0] == 1:
		scale, units = uint64(binary.BigEndian.Uint32(body[20:])), binary.BigEndian.Uint64(body[24:])
	}
	if scale == 0 {
		return 0, errDamaged()
	}
	seconds := float64(units) / float64(scale)
	return time.Duration(min(seconds, 1e6) * float64(time.Second)), nil
}

// trackKind reads what a track has: "vide" for pictures, "soun" for sound.
func trackKind(track []byte) (kind string) {
	_ = boxes(track, func(name string, _, body []byte) error {
		if name != "mdia" {
			return nil
		}
		return boxes(body, func(name string, _, body []byte) error {
			if name == "hdlr" && len(body) >= 12 {
				kind = string(body[8:12])
			}
			return nil
		})
	}) // a damaged one has no kind
	return kind
}
