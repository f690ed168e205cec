//go:build unix

package repo

import (
	"io/fs"
	"syscall"
)

// names is how many names a file has.
func names(info fs.FileInfo) int {
	if s, ok := info.Sys().(*syscall.Stat_t); ok {
		return int(s.Nlink)
	}
	return 1
}
