package main

import (
	"context"
	"fmt"
	"net"
	"time"
)

// peerTimeout is how long what was sent to a client may stay unconfirmed: a phone that lost its network, or that takes
// nothing for so long, is let go.
const peerTimeout = 15 * time.Second

// listenTo opens a listener on whose connections a client that is gone is noticed in seconds. Without being asked, neither
// the network nor the system tells of one.
func listenTo(ctx context.Context, address string) (net.Listener, error) {
	lc := net.ListenConfig{
		KeepAliveConfig: net.KeepAliveConfig{Enable: true, Idle: 10 * time.Second, Interval: 2 * time.Second, Count: 3},
		Control:         peerControl,
	}
	listener, err := lc.Listen(ctx, "tcp", address)
	if err != nil {
		return nil, fmt.Errorf("listen: %w", err)
	}
	return listener, nil
}
