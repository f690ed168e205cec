package repo

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// lockFile takes a file for this process until it lets go or ends, however it
// ends. The file itself stays.
func lockFile(path string) (unlock func() error, err error) {
	file, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, err
	}
	const whole = ^uint32(0)
	err = windows.LockFileEx(windows.Handle(file.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, whole, whole, new(windows.Overlapped))
	if err != nil {
		if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
			err = errInUse
		}
		return nil, errors.Join(err, file.Close())
	}
	return file.Close, nil
}
