//go:build unix

package auth

import (
	"errors"
	"io/fs"
	"os"
	"syscall"
)

// ours reports whether whoever runs this could change who may open a file: it is theirs,
// and not on a file system that is mounted read-only.
func ours(path string, info fs.FileInfo) bool {
	s, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return true
	}
	const toWrite = 2 // W_OK of access(2)
	if errors.Is(syscall.Access(path, toWrite), syscall.EROFS) {
		return false
	}
	return int(s.Uid) == os.Geteuid()
}
