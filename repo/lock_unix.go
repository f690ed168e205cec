//go:build unix

package repo

import (
	"errors"
	"os"
	"syscall"
)

// lockFile takes a file for this process until it lets go or ends, however it
// ends. The file itself stays.
func lockFile(path string) (unlock func() error, err error) {
	file, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, err
	}
	if err := syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		if errors.Is(err, syscall.EWOULDBLOCK) {
			err = errInUse
		}
		return nil, errors.Join(err, file.Close())
	}
	return file.Close, nil
}
