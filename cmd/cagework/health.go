package main

import (
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"time"
)

// healthCmd lets a container without a shell or another program check its own health.
type healthCmd struct {
	Address string `name:"address" env:"CAGEWORK_ADDRESS" default:"127.0.0.1:8080" help:"Where serve listens."`
}

// Run asks the service on this machine whether it can work, and fails with its reason when it can't.
func (h healthCmd) Run(ctx context.Context, c *console) error {
	host, port, err := net.SplitHostPort(h.Address)
	if err != nil {
		return fmt.Errorf("--address: %w", err)
	}
	if ip := net.ParseIP(host); host == "" || ip.IsUnspecified() {
		host = "localhost" // it listens on all addresses, this one among them
	}
	ctx, cancel := context.WithTimeout(ctx, 3*time.Second)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+net.JoinHostPort(host, port)+"/readyz", http.NoBody)
	if err != nil {
		return err
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		return err
	}
	defer res.Body.Close()
	body, err := io.ReadAll(io.LimitReader(res.Body, 4<<10))
	if err != nil {
		return err
	}
	if res.StatusCode != http.StatusOK {
		return fmt.Errorf("not ready: %s: %s", res.Status, strings.TrimSpace(string(body)))
	}
	c.printf("ready\n")
	return nil
}
