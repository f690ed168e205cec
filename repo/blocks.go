package repo

import (
	"encoding/binary"
	"errors"
	"fmt"
	"slices"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// A session's blocks are kept packed in one value, since all of them are read
// and written at once; no blocks are no bytes:
//
//	version   1 byte, 1
//	blocks    each as its fields, in the order of packBlock
//
// Numbers are unsigned, of four bytes, the highest first; a text is its length
// and its bytes, and so are the balls (see pack). Step 7 of the migrations wrote
// the blocks of older databases like this.
const blocksVersion = 1

// What the byte of a block says; a purpose is a byte more, its place in the domain's
// list. A flag more is behind the last.
const (
	blockAttested = 1 << iota
	blockQuiet
	blockPurpose
)

func packBlocks(blocks []practice.Block) []byte {
	if len(blocks) == 0 {
		return []byte{}
	}
	out := make([]byte, 1, 1+256*len(blocks))
	out[0] = blocksVersion
	for _, b := range blocks {
		out = packBlock(out, b)
	}
	return out
}

func packBlock(out []byte, b practice.Block) []byte {
	counts := practice.CountBalls(b.Balls)
	for _, n := range [...]int{b.PlanBlock, int(b.Radius), b.Seconds, b.Planned, counts.Balls, counts.Inside, counts.Holed} {
		out = binary.BigEndian.AppendUint32(out, uint32(n))
	}
	flags := byte(0)
	if b.Attested != nil {
		flags |= blockAttested
	}
	if b.Quiet {
		flags |= blockQuiet
	}
	if b.Purpose != "" {
		flags |= blockPurpose
	}
	out = append(out, flags)
	if t := b.Attested; t != nil {
		for _, n := range [...]int{t.Balls, t.Inside, t.Holed, t.BestRun} {
			out = binary.BigEndian.AppendUint32(out, uint32(n))
		}
	}
	if b.Purpose != "" {
		out = append(out, byte(slices.Index(curriculum.Purposes(), b.Purpose)))
	}
	for _, text := range [...][]byte{[]byte(b.Kind), []byte(b.Skill), pack(b.Balls)} {
		out = binary.BigEndian.AppendUint32(out, uint32(len(text)))
		out = append(out, text...)
	}
	return out
}

var errBlocks = errors.New("repo: packed blocks are damaged")

// unpackBlocks reads what packBlocks wrote; balls says whether the blocks come
// with their balls.
func unpackBlocks(packed []byte, balls bool) (blocks []practice.Block, err error) {
	if len(packed) == 0 {
		return nil, nil
	}
	r := unpacker{rest: packed}
	if v := r.byte(); v != blocksVersion {
		return nil, fmt.Errorf("%w: version %d", errBlocks, v)
	}
	for len(r.rest) > 0 && !r.failed {
		b, struck := r.block()
		if balls && !r.failed {
			if b.Balls, err = unpack(struck); err == nil && practice.CountBalls(b.Balls) != b.Counts {
				err = errBlocks
			}
			if err != nil {
				return nil, fmt.Errorf("block %d: %w", len(blocks)+1, err)
			}
		}
		blocks = append(blocks, b)
	}
	if r.failed || len(blocks) == 0 {
		return nil, errBlocks
	}
	return blocks, nil
}

// block reads a block and, packed, its balls.
func (r *unpacker) block() (b practice.Block, struck []byte) {
	b.PlanBlock, b.Radius, b.Seconds, b.Planned = r.number(), domain.Length(r.number()), r.number(), r.number()
	b.Counts = practice.BlockCounts{Balls: r.number(), Inside: r.number(), Holed: r.number()}
	flags := r.byte()
	if flags >= blockPurpose<<1 {
		r.failed = true
	}
	if flags&blockAttested != 0 {
		b.Attested = &progress.Attested{Balls: r.number(), Inside: r.number(), Holed: r.number(), BestRun: r.number()}
	}
	b.Quiet = flags&blockQuiet != 0
	if flags&blockPurpose != 0 {
		b.Purpose = r.purpose()
	}
	b.Kind, b.Skill = curriculum.BlockKind(r.take(r.number())), domain.ID(r.take(r.number()))
	return b, r.take(r.number())
}

func (r *unpacker) purpose() curriculum.Purpose {
	all := curriculum.Purposes()
	i := int(r.byte())
	if i >= len(all) {
		r.failed = true
	}
	if r.failed {
		return ""
	}
	return all[i]
}

func (r *unpacker) number() int {
	if b := r.take(4); b != nil {
		return int(binary.BigEndian.Uint32(b))
	}
	return 0
}

// sessionsOf gives the sessions of rows; balls says whether their blocks come
// with their balls.
func sessionsOf(rows []sessionRow, balls bool) ([]practice.Session, error) {
	return tryEach(rows, func(r sessionRow) (practice.Session, error) {
		session, err := r.session()
		if err == nil {
			if session.Blocks, err = unpackBlocks(r.Blocks, balls); err != nil {
				err = fmt.Errorf("session %s: %w", r.ID, err)
			}
		}
		return session, err
	})
}
