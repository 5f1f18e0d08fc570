package main

import (
	"syscall"

	"golang.org/x/sys/unix"
)

// peerControl sets peerTimeout, which a listener's connections take over from it.
func peerControl(_, _ string, c syscall.RawConn) error {
	var failed error
	err := c.Control(func(fd uintptr) {
		failed = unix.SetsockoptInt(int(fd), unix.IPPROTO_TCP, unix.TCP_USER_TIMEOUT, int(peerTimeout.Milliseconds()))
	})
	if err != nil {
		return err
	}
	return failed
}
