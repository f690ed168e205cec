// Package media looks at photos and clips that people send: what they are is told by
// their content and never by their names, and what nobody agreed to, such as where they
// were taken, is taken out. A photo is written anew; a clip stays as it is but for what
// it says about itself, since nothing here can write one.
package media

import (
	"bytes"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
)

// Clean gives what may be kept of a photo or a clip: a JPEG of one frame, or the clip
// without its descriptions. It refuses what is neither, what is damaged, and a clip that
// is longer than academy.MaxClip or does not say how long it is.
func Clean(content []byte) (academy.Content, error) {
	switch {
	case bytes.HasPrefix(content, []byte("\xff\xd8\xff")), bytes.HasPrefix(content, []byte("\x89PNG\r\n\x1a\n")):
		photo, err := cleanPhoto(content)
		return academy.Content{Type: "image/jpeg", Bytes: photo}, err
	case isMP4(content):
		clip := bytes.Clone(content)
		length, err := cleanMP4(clip)
		return checked("video/mp4", clip, length, err)
	case bytes.HasPrefix(content, []byte("\x1a\x45\xdf\xa3")):
		clip := bytes.Clone(content)
		length, err := cleanWebM(clip)
		return checked("video/webm", clip, length, err)
	}
	return academy.Content{}, refused("is neither a JPEG or PNG photo nor an MP4 or WebM clip; export it as one of these")
}

// slack is how much longer than the limit a clip may be, since cameras stop late.
const slack = time.Second

// checked holds a clip to the limit of its length.
func checked(kind string, clip []byte, length time.Duration, err error) (academy.Content, error) {
	switch {
	case err != nil:
		return academy.Content{}, err
	case length <= 0:
		return academy.Content{}, refused("is a clip that does not say how long it is; export it anew")
	case length > academy.MaxClip+slack:
		return academy.Content{}, refused("is a clip of %d seconds; cut it to %d", int(length.Seconds()), int(academy.MaxClip.Seconds()))
	}
	return academy.Content{Type: kind, Bytes: clip}, nil
}

// refused is the answer to what is not kept.
func refused(format string, args ...any) error {
	var p domain.Problems
	p.Add("", format, args...)
	return p.Err("media_invalid", "Nothing was kept.")
}
