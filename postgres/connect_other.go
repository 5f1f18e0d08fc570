//go:build !linux

package postgres

import "syscall"

// peerControl has no portable way to bound how long what was sent may stay unconfirmed: keepalives must do.
func peerControl(string, string, syscall.RawConn) error { return nil }
