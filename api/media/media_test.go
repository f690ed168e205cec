package media

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"strings"
	"testing"

	"fringework/domain"
)

// photo is a picture whose left upper quarter is red, the rest blue.
func photo(w, h int) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{0, 0, 255, 255}
			if x < w/2 && y < h/2 {
				c = color.RGBA{255, 0, 0, 255}
			}
			img.SetRGBA(x, y, c)
		}
	}
	return img
}

func asJPEG(t *testing.T, img image.Image) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := jpeg.Encode(&out, img, &jpeg.Options{Quality: 100}); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// byteOrder is either.
type byteOrder interface {
	binary.ByteOrder
	binary.AppendByteOrder
}

// withExif puts an orientation and a place into a JPEG (EXIF 2.32, section 4.6).
func withExif(picture []byte, order byteOrder, orientation uint16) []byte {
	tiff := []byte("MM\x00*")
	if order.Uint16([]byte{1, 0}) == 1 {
		tiff = []byte("II*\x00")
	}
	tiff = order.AppendUint32(tiff, 8)
	tiff = order.AppendUint16(tiff, 2)
	entry := func(tag, kind uint16, count uint32, value uint16) {
		tiff = order.AppendUint16(tiff, tag)
		tiff = order.AppendUint16(tiff, kind)
		tiff = order.AppendUint32(tiff, count)
		tiff = order.AppendUint16(tiff, value)
		tiff = order.AppendUint16(tiff, 0)
	}
	entry(0x010f, 2, 3, 0)
	entry(0x0112, 3, 1, orientation)
	segment := append([]byte("Exif\x00\x00"), append(tiff, "GPS 57.4N"...)...)
	head := binary.BigEndian.AppendUint16([]byte{0xff, 0xd8, 0xff, 0xe1}, uint16(len(segment)+2))
	return append(append(head, segment...), picture[2:]...)
}

func cleaned(t *testing.T, content []byte) image.Image {
	t.Helper()
	c, err := Clean(content)
	if err != nil {
		t.Fatal(err)
	}
	if c.Type != "image/jpeg" || bytes.Contains(c.Bytes, []byte("Exif")) || bytes.Contains(c.Bytes, []byte("GPS")) {
		t.Errorf("a photo came out as %s with its descriptions", c.Type)
	}
	img, err := jpeg.Decode(bytes.NewReader(c.Bytes))
	if err != nil {
		t.Fatal(err)
	}
	return img
}

// corner tells where the red is: "left upper" and so on.
func corner(img image.Image) string {
	b := img.Bounds()
	for name, at := range map[string][2]int{"left upper": {1, 1}, "right upper": {3, 1}, "left lower": {1, 3}, "right lower": {3, 3}} {
		if r, _, blue, _ := img.At(b.Dx()*at[0]/4, b.Dy()*at[1]/4).RGBA(); r > blue {
			return name
		}
	}
	return "nowhere"
}

// The eight orientations, as EXIF 2.32 describes them: where row 0 and column 0 are.
func TestOrientations(t *testing.T) {
	plain := asJPEG(t, photo(80, 40))
	for orientation, want := range map[uint16]string{
		1: "left upper", 2: "right upper", 3: "right lower", 4: "left lower", 5: "left upper", 6: "right upper", 7: "right lower", 8: "left lower", 9: "left upper",
	} {
		for _, order := range []byteOrder{binary.BigEndian, binary.LittleEndian} {
			img := cleaned(t, withExif(plain, order, orientation))
			if got := corner(img); got != want {
				t.Errorf("%v, orientation %d: the first corner is %s, want %s", order, orientation, got, want)
			}
			if tall := img.Bounds().Dy() > img.Bounds().Dx(); tall != (orientation >= 5 && orientation <= 8) {
				t.Errorf("orientation %d: %v", orientation, img.Bounds())
			}
		}
	}
}

func TestPhotos(t *testing.T) {
	var out bytes.Buffer
	if err := png.Encode(&out, photo(5000, 30)); err != nil {
		t.Fatal(err)
	}
	if b := cleaned(t, out.Bytes()).Bounds(); b.Dx() != 1666 || b.Dy() != 10 { // a third
		t.Errorf("a long photo is %v", b)
	}
	if got := corner(cleaned(t, out.Bytes())); got != "left upper" {
		t.Errorf("its first corner is %s", got)
	}
	glass := image.NewRGBA(image.Rect(0, 0, 4, 4)) // wholly transparent
	out.Reset()
	if err := png.Encode(&out, glass); err != nil {
		t.Fatal(err)
	}
	if r, g, b, _ := cleaned(t, out.Bytes()).At(2, 2).RGBA(); r < 0xf000 || g < 0xf000 || b < 0xf000 {
		t.Errorf("what shows through is %x %x %x, want white", r, g, b)
	}
	cut := withExif(asJPEG(t, photo(80, 40)), binary.BigEndian, 6)
	for n := range 60 { // an EXIF header that ends early turns nothing, and breaks nothing
		orientation(cut[:n])
	}
}

// box is an MP4 box.
func box(name string, parts ...[]byte) []byte {
	body := bytes.Join(parts, nil)
	return append(append(binary.BigEndian.AppendUint32(nil, uint32(8+len(body))), name...), body...)
}

// mvhd is a header of version 0 of so many thousandths of a second.
func mvhd(thousandths uint32) []byte {
	body := make([]byte, 100)
	binary.BigEndian.PutUint32(body[12:], 1000)
	binary.BigEndian.PutUint32(body[16:], thousandths)
	return box("mvhd", body)
}

func track(kind string, more ...[]byte) []byte {
	hdlr := box("hdlr", make([]byte, 8), []byte(kind), make([]byte, 13))
	return box("trak", append([][]byte{box("tkhd", make([]byte, 84)), box("mdia", hdlr)}, more...)...)
}

// mp4 is a clip with a place in every corner.
func mp4(thousandths uint32) []byte {
	place := box("\xa9xyz", []byte("+57.4-002.1/"))
	return bytes.Join([][]byte{
		box("ftyp", []byte("mp42\x00\x00\x00\x00")),
		box("moov", mvhd(thousandths), track("vide", box("udta", place)), track("soun"), track("meta"), box("udta", place), box("meta", place)),
		box("uuid", []byte("+57.4-002.1/")),
		box("mdat", []byte("pictures")),
	}, nil)
}

func TestMP4(t *testing.T) {
	before := mp4(20_000)
	c, err := Clean(before)
	if err != nil {
		t.Fatal(err)
	}
	if c.Type != "video/mp4" || len(c.Bytes) != len(before) || bytes.Contains(c.Bytes, []byte("+57.4")) || !bytes.Contains(c.Bytes, []byte("pictures")) ||
		bytes.Index(c.Bytes, []byte("mdat")) != bytes.Index(before, []byte("mdat")) || !bytes.Contains(before, []byte("+57.4")) {
		t.Errorf("the clip came out as %s of %d bytes, want %d with nothing moved and no place:\n%q", c.Type, len(c.Bytes), len(before), c.Bytes)
	}
	long := make([]byte, 112) // version 1: 64 bits of time
	long[0] = 1
	binary.BigEndian.PutUint32(long[20:], 10)
	binary.BigEndian.PutUint64(long[24:], 123)
	if d, err := movieLength(long); err != nil || d.Seconds() != 12.3 {
		t.Errorf("version 1: %v, %v; want 12.3 s", d, err)
	}
	rest := append([]byte("\x00\x00\x00\x00mdat"), "to the end"...)
	if c, err := Clean(append(bytes.TrimSuffix(mp4(9000), box("mdat", []byte("pictures"))), rest...)); err != nil || !bytes.HasSuffix(c.Bytes, []byte("to the end")) {
		t.Errorf("a box to the end: %v", err)
	}
	wide := append(binary.BigEndian.AppendUint64([]byte("\x00\x00\x00\x01mdat"), 20), "wide"...)
	if _, err := Clean(append(mp4(9000), wide...)); err != nil {
		t.Errorf("a box of 64 bits: %v", err)
	}
}

// element is a WebM element with a size of eight bytes.
func element(id uint32, parts ...[]byte) []byte {
	body := bytes.Join(parts, nil)
	head := bytes.TrimLeft(binary.BigEndian.AppendUint32(nil, id), "\x00")
	return append(binary.BigEndian.AppendUint64(head, 1<<56|uint64(len(body))), body...)
}

// webm is a clip of so many milliseconds with a title, a date, tags and a file in it.
func webm(ms float64, docType string) []byte {
	secret := []byte("Links End, hole 4")
	duration := binary.BigEndian.AppendUint64(nil, math.Float64bits(ms))
	return bytes.Join([][]byte{
		element(ebmlHeader, element(ebmlDocType, []byte(docType))),
		element(ebmlSegment,
			element(ebmlInfo, element(ebmlScale, []byte{0x0f, 0x42, 0x40}), element(ebmlDuration, duration), element(ebmlTitle, secret), element(ebmlDate, secret[:8])),
			element(ebmlTags, secret), element(ebmlAttached, secret), element(0x1f43b675, []byte("pictures"))),
		element(0xbf, secret[:3]), {0xbf, 0x82, 'L', 'i'},
	}, nil)
}

func TestWebM(t *testing.T) {
	before := webm(19_500, "webm")
	c, err := Clean(before)
	if err != nil {
		t.Fatal(err)
	}
	if c.Type != "video/webm" || len(c.Bytes) != len(before) || bytes.Contains(c.Bytes, []byte("Links")) || bytes.HasSuffix(c.Bytes, []byte("Li")) || !bytes.Contains(c.Bytes, []byte("pictures")) {
		t.Errorf("the clip came out as %s of %d bytes, want %d without its words:\n%q", c.Type, len(c.Bytes), len(before), c.Bytes)
	}
	if again, err := Clean(c.Bytes); err != nil || !bytes.Equal(again.Bytes, c.Bytes) {
		t.Errorf("cleaning again gave %v", err)
	}
	short := binary.BigEndian.AppendUint32(nil, math.Float32bits(2.5))
	if got := float(short); got != 2.5 {
		t.Errorf("a short number is %v, want 2.5", got)
	}
	if v, n := vint([]byte{0xff}, true); v != unknownLength || n != 1 {
		t.Errorf("an unknown size is %d of %d bytes", v, n)
	}
	if v, n := vint([]byte{0x40, 0x7f}, true); v != 0x7f || n != 2 { // RFC 8794, section 4.1
		t.Errorf("127 in two bytes is %d of %d bytes", v, n)
	}
}

func TestRefused(t *testing.T) {
	picture := asJPEG(t, photo(40, 40))
	large := bytes.Clone(picture)
	at := bytes.Index(large, []byte{0xff, 0xc0})
	binary.BigEndian.PutUint16(large[at+5:], 6000)
	binary.BigEndian.PutUint16(large[at+7:], 6000)
	damaged := mp4(9000)
	damaged[3] = 0xff
	for what, c := range map[string]struct {
		content []byte
		say     string
	}{
		"nothing":            {nil, "neither"},
		"a page":             {[]byte("<!doctype html><script>alert(1)</script>"), "neither"},
		"a drawing":          {[]byte("<svg xmlns='http://www.w3.org/2000/svg'/>"), "neither"},
		"a photo cut off":    {picture[:len(picture)/2], "cannot be read"},
		"a photo's head":     {picture[:4], "cannot be read"},
		"a bomb":             {large, "36 megapixels"},
		"a long clip":        {mp4(21_001), "clip of 21 seconds; cut it to 20"},
		"a clip without end": {mp4(0), "how long"},
		"a damaged clip":     {damaged, "cannot be read"},
		"a clip cut off":     {mp4(9000)[:60], "cannot be read"},
		"only sound":         {bytes.ReplaceAll(mp4(9000), []byte("vide"), []byte("soun")), "without pictures"},
		"a long WebM":        {webm(60_000, "webm"), "60 seconds"},
		"an endless WebM":    {webm(math.Inf(1), "webm"), "seconds"},
		"no number":          {webm(math.NaN(), "webm"), "how long"},
		"another kind":       {webm(9000, "matroska"), "no WebM"},
		"a WebM cut off":     {webm(9000, "webm")[:70], "cannot be read"},
	} {
		_, err := Clean(c.content)
		fields := domain.FieldsOf(err)
		if domain.KindOf(err) != domain.Invalid || len(fields) != 1 || !strings.Contains(fields[0].Detail, c.say) {
			t.Errorf("%s: got %v %v, want %q", what, err, fields, c.say)
		}
	}
}

// FuzzClean: whatever comes, the answer is a refusal or something to keep.
func FuzzClean(f *testing.F) {
	f.Add(mp4(9000))
	f.Add(webm(9000, "webm"))
	f.Add([]byte("\xff\xd8\xff"))
	f.Fuzz(func(t *testing.T, content []byte) {
		c, err := Clean(content)
		if err == nil && len(c.Bytes) == 0 || err != nil && domain.KindOf(err) != domain.Invalid {
			t.Errorf("got %d bytes and %v", len(c.Bytes), err)
		}
	})
}
