package postgres

import (
	"strings"
	"syscall"

	"golang.org/x/sys/unix"
)

// peerControl bounds how long what was sent may stay unconfirmed; the system's own patience is a quarter of an hour.
func peerControl(network, _ string, c syscall.RawConn) error {
	if !strings.HasPrefix(network, "tcp") {
		return nil
	}
	var failed error
	err := c.Control(func(fd uintptr) {
		failed = unix.SetsockoptInt(int(fd), unix.IPPROTO_TCP, unix.TCP_USER_TIMEOUT, int(peerTimeout.Milliseconds()))
	})
	if err != nil {
		return err
	}
	return failed
}
