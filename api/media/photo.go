package media

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/jpeg"
	_ "image/png" // photos may come as PNG
)

const (
	// mostPixels keeps the memory of one photo below about 100 MB while it is read.
	mostPixels = 25_000_000
	// longSide is how many pixels the longer side of a kept photo has at most: enough
	// to fill a tablet (our choice).
	longSide = 2048
	quality  = 85
)

// cleanPhoto writes a photo anew: upright, not larger than longSide, and with nothing
// but its pixels.
func cleanPhoto(content []byte) ([]byte, error) {
	config, _, err := image.DecodeConfig(bytes.NewReader(content))
	if err != nil || config.Width < 1 || config.Height < 1 {
		return nil, refused("is a photo that cannot be read; export it anew as JPEG")
	}
	if config.Width*config.Height > mostPixels {
		return nil, refused("is a photo of %d megapixels; make it smaller than %d", config.Width*config.Height/1_000_000, mostPixels/1_000_000)
	}
	photo, _, err := image.Decode(bytes.NewReader(content))
	if err != nil {
		return nil, refused("is a photo that cannot be read; export it anew as JPEG")
	}
	var out bytes.Buffer
	err = jpeg.Encode(&out, upright(smaller(photo), orientation(content)), &jpeg.Options{Quality: quality})
	return out.Bytes(), err
}

// smaller averages blocks of pixels until the photo is no larger than longSide.
func smaller(photo image.Image) *image.RGBA {
	b := photo.Bounds()
	by := (max(b.Dx(), b.Dy()) + longSide - 1) / longSide
	out := image.NewRGBA(image.Rect(0, 0, max(1, b.Dx()/by), max(1, b.Dy()/by)))
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			out.SetRGBA(x, y, mean(photo, b.Min.X+x*by, b.Min.Y+y*by, by))
		}
	}
	return out
}

// mean is the mean colour of a block of so many pixels a side, on white.
func mean(photo image.Image, x0, y0, side int) color.RGBA {
	b := photo.Bounds()
	var sum [3]uint32
	n := uint32(0)
	for y := y0; y < min(y0+side, b.Max.Y); y++ {
		for x := x0; x < min(x0+side, b.Max.X); x++ {
			r, g, bl, a := photo.At(x, y).RGBA()
			white := 0xffff - a
			sum[0] += (r + white) >> 8
			sum[1] += (g + white) >> 8
			sum[2] += (bl + white) >> 8
			n++
		}
	}
	return color.RGBA{uint8(sum[0] / n), uint8(sum[1] / n), uint8(sum[2] / n), 0xff}
}

// upright turns and mirrors a photo as its orientation says (EXIF 2.32, tag 0x0112).
func upright(photo *image.RGBA, orientation uint16) *image.RGBA {
	w, h := photo.Rect.Dx(), photo.Rect.Dy()
	var from func(x, y int) (int, int)
	switch orientation {
	case 2:
		from = func(x, y int) (int, int) { return w - 1 - x, y }
	case 3:
		from = func(x, y int) (int, int) { return w - 1 - x, h - 1 - y }
	case 4:
		from = func(x, y int) (int, int) { return x, h - 1 - y }
	case 5:
		from = func(x, y int) (int, int) { return y, x }
	case 6:
		from = func(x, y int) (int, int) { return y, h - 1 - x }
	case 7:
		from = func(x, y int) (int, int) { return w - 1 - y, h - 1 - x }
	case 8:
		from = func(x, y int) (int, int) { return w - 1 - y, x }
	default:
		return photo
	}
	if orientation >= 5 {
		w, h = h, w
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	w, h = photo.Rect.Dx(), photo.Rect.Dy()
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			sx, sy := from(x, y)
			out.SetRGBA(x, y, photo.RGBAAt(sx, sy))
		}
	}
	return out
}

// orientation reads how a JPEG is to be turned, 1 to 8; 1 where it does not say.
func orientation(content []byte) uint16 {
	for at := 2; at+4 <= len(content) && content[at] == 0xff; {
		size := int(binary.BigEndian.Uint16(content[at+2:]))
		segment := content[at+4 : min(len(content), at+2+max(2, size))]
		if content[at+1] == 0xe1 && bytes.HasPrefix(segment, []byte("Exif\x00\x00")) {
			return tiffOrientation(segment[6:])
		}
		if content[at+1] == 0xda { // the picture begins
			break
		}
		at += 2 + max(2, size)
	}
	return 1
}

// tiffOrientation reads it from the first directory of a TIFF header.
func tiffOrientation(tiff []byte) uint16 {
	if len(tiff) < 8 {
		return 1
	}
	var order binary.ByteOrder = binary.BigEndian
	if tiff[0] == 'I' {
		order = binary.LittleEndian
	}
	first := int(order.Uint32(tiff[4:]))
	if first < 8 || first+2 > len(tiff) {
		return 1
	}
	for i := range int(order.Uint16(tiff[first:])) {
		entry := first + 2 + 12*i
		if entry+12 > len(tiff) {
			break
		}
		if order.Uint16(tiff[entry:]) == 0x0112 {
			return order.Uint16(tiff[entry+8:])
		}
	}
	return 1
}
