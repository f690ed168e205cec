package app

import (
	"log/slog"
	"net"
	"os"
)

// What a service manager is told, see sd_notify(3).
const (
	nowReady    = "READY=1"
	nowStopping = "STOPPING=1"
)

// tellManager tells the service manager that started this process how it is, where one
// wants to know: systemd does of a unit whose Type is notify.
func tellManager(state string, log *slog.Logger) {
	path := os.Getenv("NOTIFY_SOCKET")
	if path == "" {
		return
	}
	conn, err := net.Dial("unixgram", path)
	if err == nil {
		defer conn.Close()
		_, err = conn.Write([]byte(state))
	}
	if err != nil {
		log.Warn("the service manager was not told", "state", state, "error", err)
	}
}
