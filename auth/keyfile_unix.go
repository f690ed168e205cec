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

// giveTo gives a file to the owner of another, which only root can do: a command that
// root runs must not take the keys from the service's own user.
func giveTo(path string, was fs.FileInfo) {
	if s, ok := was.Sys().(*syscall.Stat_t); ok {
		_ = os.Chown(path, int(s.Uid), int(s.Gid))
	}
}
