//go:build !unix

package app

import (
	"errors"
	"net"
)

// listenPrivately is for systems whose sockets carry no owner.
func listenPrivately(string) (net.Listener, error) {
	return nil, errors.New("this system has no sockets for one user alone")
}
