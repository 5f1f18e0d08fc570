package pgtest

import (
	"context"
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/moby/moby/client"
	"github.com/testcontainers/testcontainers-go"
	"github.com/testcontainers/testcontainers-go/log"
)

// engineLimit is how long an engine may take to answer.
const engineLimit = 3 * time.Second

// engine is a Docker engine that answered.
type engine struct {
	*testcontainers.DockerClient
	// local says that it runs on this machine, so that containers can listen on the loopback address.
	local bool
	// host is where its published ports are.
	host string
}

// findEngine gives the engine, or errAbsent with the reason.
func findEngine(ctx context.Context) (*engine, error) {
	ctx, cancel := context.WithTimeout(ctx, engineLimit)
	defer cancel()
	log.SetDefault(log.NewNoopLogger())
	// Our containers end by themselves, see containerProgram. The library reads this once, before it looks for an engine.
	if err := os.Setenv("TESTCONTAINERS_RYUK_DISABLED", "true"); err != nil {
		return nil, err
	}
	if err := named(ctx); err != nil {
		return nil, fmt.Errorf("%w: no Docker engine answers: %w", errAbsent, err)
	}
	found, err := discover(ctx)
	if err != nil {
		return nil, fmt.Errorf("%w: no Docker engine answers: %w", errAbsent, err)
	}
	e := &engine{DockerClient: found, local: true, host: "127.0.0.1"}
	if _, address, ok := strings.Cut(found.DaemonHost(), "tcp://"); ok {
		e.host, _, _ = strings.Cut(address, ":")
		e.local = e.host == "127.0.0.1" || e.host == "localhost"
	}
	return e, nil
}

// named asks the engine that DOCKER_HOST names, if it names one: it must not be replaced in silence, as the library would.
func named(ctx context.Context) error {
	if os.Getenv("DOCKER_HOST") == "" {
		return nil
	}
	c, err := client.New(client.FromEnv)
	if err != nil {
		return err
	}
	defer c.Close()
	_, err = c.Ping(ctx, client.PingOptions{})
	return err
}

// discover has the library look for the engine where it usually is. Some of what it can't find makes it panic.
func discover(ctx context.Context) (found *testcontainers.DockerClient, err error) {
	defer func() {
		if reason := recover(); reason != nil {
			err = fmt.Errorf("%v", reason)
		}
	}()
	found, err = testcontainers.NewDockerClientWithOpts(ctx)
	if err != nil {
		return nil, err
	}
	_, err = found.Ping(ctx, client.PingOptions{})
	return found, err
}
