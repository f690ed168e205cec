//go:build unix

package app

import (
	"net"
	"os"
	"path/filepath"
)

// listenPrivately listens on a socket that only the user who runs the process can
// open: it is made where nobody else can reach it, and moved once it is closed to
// them.
func listenPrivately(path string) (net.Listener, error) {
	dir, err := os.MkdirTemp(filepath.Dir(path), ".sock")
	if err != nil {
		return nil, err
	}
	defer func() { _ = os.RemoveAll(dir) }()
	made := filepath.Join(dir, "s")
	l, err := net.Listen("unix", made)
	if err != nil {
		return nil, err
	}
	l.(*net.UnixListener).SetUnlinkOnClose(false)
	if err = os.Chmod(made, 0o600); err == nil {
		err = os.Rename(made, path)
	}
	if err != nil {
		_ = l.Close()
		return nil, err
	}
	return moved{l, path}, nil
}

// moved is a listener whose socket has another name than it was made by.
type moved struct {
	net.Listener
	path string
}

// Close implements net.Listener.
func (m moved) Close() error {
	_ = os.Remove(m.path)
	return m.Listener.Close()
}
