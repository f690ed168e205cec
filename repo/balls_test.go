package repo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"math"
	"reflect"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"fringework/domain"
	"fringework/domain/practice"
	"fringework/domain/streak"
)

// drawBall draws every field, also one that is added tomorrow.
func drawBall() *rapid.Generator[practice.Ball] {
	return rapid.MakeCustom[practice.Ball](rapid.MakeConfig{Types: map[reflect.Type]*rapid.Generator[any]{
		reflect.TypeFor[practice.Miss]():    rapid.SampledFrom(append(practice.Misses(), "")).AsAny(),
		reflect.TypeFor[practice.Contact](): rapid.SampledFrom(append(practice.Contacts(), "")).AsAny(),
		reflect.TypeFor[streak.Outcome]():   rapid.SampledFrom(streak.Outcomes()).AsAny(),
		reflect.TypeFor[string]():           rapid.OneOf(rapid.SampledFrom([]string{"", "wedge", "nine", "light rough"}), rapid.String()).AsAny(),
		reflect.TypeFor[domain.Length]():    rapid.OneOf(rapid.Just(domain.Length(0)), rapid.Map(rapid.Int32(), func(n int32) domain.Length { return domain.Length(n) })).AsAny(),
		reflect.TypeFor[int]():              rapid.OneOf(rapid.Just(0), rapid.Int()).AsAny(),
		reflect.TypeFor[time.Duration]():    rapid.Map(rapid.Int64Range(-1e12, 1e12), func(ms int64) time.Duration { return time.Duration(ms) * time.Millisecond }).AsAny(),
	}})
}

// Whatever is packed comes out as it went in.
func TestPackedBallsSurvive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.SliceOfN(drawBall(), 0, 40).Draw(t, "balls")
		got, err := unpack(pack(want))
		if err != nil {
			t.Fatal(err)
		}
		if len(want) == 0 {
			want = nil
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Fatalf("(-want +got)\n%s", d)
		}
	})
}

// A ball of which only the outcome is known takes one byte, and the rest of a
// block three: the version and two counts.
func TestPackedBallsAreSmall(t *testing.T) {
	balls := make([]practice.Ball, 60)
	if got, want := len(pack(balls)), 60+4; got > want {
		t.Errorf("60 plain balls take %d bytes, want at most %d", got, want)
	}
	for i := range balls {
		balls[i] = practice.Ball{Outcome: streak.In, Measured: true, Leave: domain.Metre, Club: "wedge", Lie: "fairway",
			Distance: 20 * domain.Metre, After: time.Duration(i) * 20 * time.Second}
	}
	// A byte of flags, three for the leave, three for 20,000 ms since the last.
	if got, want := len(pack(balls)), 60*7+30; got > want {
		t.Errorf("60 measured balls take %d bytes, want at most %d", got, want)
	}
}

// The form is the database's: what this release writes, the next one reads.
func TestPackedForm(t *testing.T) {
	packed := []byte{
		2,                                // version
		2, 0, 5, 'w', 'e', 'd', 'g', 'e', // words: none, wedge
		4,                  // balls
		0b0000_0010,        // holed
		0b0011_1001, 20, 1, // in, measured, leave 10, club wedge
		0b0000_0100, 0xd0, 0x0f, // out, 1,000 ms later
		0b1000_0001, 1, 6, // in, from 3 on
	}
	before := []byte{ // the same in version 1
		1,
		2, 0, 5, 'w', 'e', 'd', 'g', 'e',
		4,
		0b0000_0010,
		0b0001_1101, 20, 1,
		0b1000_0000, 0xd0, 0x0f,
		0b0100_0001, 6,
	}
	want := []practice.Ball{
		{Outcome: streak.Holed},
		{Outcome: streak.In, Measured: true, Leave: 10, Club: "wedge"},
		{Outcome: streak.Out, Club: "wedge", After: time.Second},
		{Outcome: streak.In, Club: "wedge", After: time.Second, Distance: 3},
	}
	if got := pack(want); !bytes.Equal(got, packed) {
		t.Errorf("packed as %x, want %x", got, packed)
	}
	for _, form := range [][]byte{packed, before} {
		got, err := unpack(form)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("version %d (-want +got)\n%s", form[0], d)
		}
	}
}

func TestDamagedBallsAreErrors(t *testing.T) {
	good := pack([]practice.Ball{{Outcome: streak.In, Measured: true, Leave: domain.Metre, Club: "wedge", Lie: "sand", Distance: 5, After: time.Second}})
	for n := range good {
		if _, err := unpack(good[:n]); !errors.Is(err, errPacked) {
			t.Errorf("cut to %d bytes: got error %v, want %v", n, err, errPacked)
		}
	}
	for what, packed := range map[string][]byte{
		"another version":  append([]byte{3}, good[1:]...),
		"a flag too many":  binary.AppendUvarint([]byte{2, 0, 1}, packedKnown+1),
		"more bytes":       append(slices.Clip(good), 0),
		"no such outcome":  {1, 0, 1, 3},
		"no such word":     {2, 0, 1, packedClub, 0},
		"no such length":   {2, 0, 1, packedLeave, 0xff, 0xff, 0xff, 0xff, 0xff, 0x0f},
		"too many balls":   {1, 0, 200, 1},
		"endless number":   {1, 0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x80},
		"words beyond end": {1, 9, 1, 'w'},
	} {
		if balls, err := unpack(packed); !errors.Is(err, errPacked) {
			t.Errorf("%s: got %v and error %v, want %v", what, balls, err, errPacked)
		}
	}
}

func FuzzUnpack(f *testing.F) {
	f.Add(pack(nil))
	f.Add(pack([]practice.Ball{{Outcome: streak.Holed, Club: "nine"}, {Leave: math.MaxInt32, After: time.Hour}}))
	f.Fuzz(func(t *testing.T, packed []byte) {
		balls, err := unpack(packed)
		if err != nil {
			return
		}
		again, err := unpack(pack(balls))
		if err != nil || !cmp.Equal(balls, again) {
			t.Errorf("%x was read as %v, and that as %v with error %v", packed, balls, again, err)
		}
	})
}
