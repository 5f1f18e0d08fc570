package pgtest

import (
	"cmp"
	"context"
	"crypto/rand"
	_ "embed" // for the container's program
	"errors"
	"fmt"
	"net"
	"net/netip"
	"net/url"
	"os"
	"strings"
	"time"

	"github.com/containerd/errdefs"
	"github.com/jackc/pgx/v5"
	"github.com/moby/moby/api/types/container"
	"github.com/moby/moby/api/types/network"
	"github.com/moby/moby/client"
	"github.com/testcontainers/testcontainers-go"
)

const (
	// imageVariable names the image of the containers, publicImage by default.
	imageVariable = "TEST_DATABASE_IMAGE"
	publicImage   = "postgres:17"

	// startLimit ends the wait for a container that doesn't get ready.
	startLimit = 45 * time.Second
	// look is the time between two looks at a container that is waited for.
	look = 50 * time.Millisecond
	// bornLimit is how long a container may be made and not yet started. After that, whoever made it was killed.
	bornLimit = 15 * time.Second

	// label marks our containers; its value is the folder in which the tests ran that started one.
	label       = "cagework.tests"
	passwordKey = "POSTGRES_PASSWORD" //nolint:gosec // a variable's name, and no password
)

var databasePort = network.MustParsePort("5432/tcp")

// containerProgram runs the server for as long as somebody is connected to it, and ends when nobody has been for a while;
// the engine then removes the container with its volume. So nothing has to look after it, not even when everything that
// used it was killed, and the packages of a run can share it without one of them owning it. The library's reaper does the
// like by an image of its own, which isn't always to be had, and has been seen to come too early and too late.
//
//go:embed container.sh
var containerProgram string

// settings are fast instead of durable.
var settings = []string{
	"fsync=off", "synchronous_commit=off", "full_page_writes=off", "wal_level=minimal", "max_wal_senders=0",
	"max_connections=300", "timezone=UTC", "log_timezone=UTC",
	// A client that went without a word, on another machine, is noticed.
	"tcp_keepalives_idle=10", "tcp_keepalives_interval=5", "tcp_keepalives_count=3",
}

// lease is the connection that keeps the container.
var lease *pgx.Conn //nolint:unused // held, not read

// fromContainer gives a superuser's URL on the container of this run, which is shared by its packages.
func fromContainer(ctx context.Context) (string, error) {
	e, err := findEngine(ctx)
	if err != nil {
		return "", err
	}
	defer e.Close()
	image := cmp.Or(os.Getenv(imageVariable), publicImage)
	if err := e.want(ctx, image); err != nil {
		return "", err
	}
	ctx, cancel := context.WithTimeout(ctx, startLimit)
	defer cancel()
	e.sweep(ctx)
	// The library's name for a run is made of the process that started this one and when it began.
	address, err := e.share(ctx, "cagework-tests-"+testcontainers.SessionID()[:16], image)
	if err != nil {
		return "", fmt.Errorf("%w: a container of %s: %w", errAbsent, image, err)
	}
	return address, nil
}

// share joins the container of a name, and starts it when it isn't there. The engine sees to it that a name is given once.
func (e *engine) share(ctx context.Context, name, image string) (string, error) {
	for starts := 0; ; {
		address, err := e.join(ctx, name)
		if err == nil {
			return address, nil
		}
		if errdefs.IsNotFound(err) {
			if starts++; starts > 3 {
				return "", fmt.Errorf("it ends while it starts: try \"docker run --rm -e %s=x %s\"", passwordKey, image)
			}
			if err := e.start(ctx, name, image); err != nil {
				return "", err
			}
			continue
		}
		if !errors.Is(err, errNotReady) {
			return "", err
		}
		select {
		case <-ctx.Done():
			return "", fmt.Errorf("%w within %.0f seconds", err, startLimit.Seconds())
		case <-time.After(look):
		}
	}
}

var errNotReady = errors.New("it doesn't get ready")

// join connects to a container that runs. One that has ended, or was never started, is removed.
func (e *engine) join(ctx context.Context, name string) (string, error) {
	found, err := e.ContainerInspect(ctx, name, client.ContainerInspectOptions{})
	if err != nil {
		return "", err
	}
	c := found.Container
	switch {
	case c.State.Running:
		return e.lease(ctx, c)
	case c.State.Status == container.StateCreated && age(c.Created) < bornLimit:
	default:
		_, _ = e.ContainerRemove(ctx, c.ID, client.ContainerRemoveOptions{Force: true, RemoveVolumes: true})
	}
	return "", errNotReady
}

// lease connects to the server in a container, by whichever of its addresses can be reached from here: inside of a
// container of the same engine the published port is on another machine's loopback.
func (e *engine) lease(ctx context.Context, c container.InspectResponse) (string, error) {
	var password string
	for _, setting := range c.Config.Env {
		if value, ok := strings.CutPrefix(setting, passwordKey+"="); ok {
			password = value
		}
	}
	for _, host := range e.hosts(c) {
		u := url.URL{Scheme: "postgres", User: url.UserPassword("postgres", password), Host: host, Path: "/postgres", RawQuery: "sslmode=disable"}
		config, err := pgx.ParseConfig(u.String())
		if err != nil {
			return "", err
		}
		// A stranger at that address must not be told the password, which other methods would do.
		config.RequireAuth = "scram-sha-256"
		config.ConnectTimeout = 2 * time.Second
		if lease, err = pgx.ConnectConfig(ctx, config); err == nil {
			return u.String(), nil
		}
	}
	return "", errNotReady
}

func (e *engine) hosts(c container.InspectResponse) []string {
	var hosts []string
	for _, binding := range c.NetworkSettings.Ports[databasePort] {
		hosts = append(hosts, net.JoinHostPort(e.host, binding.HostPort))
	}
	for _, at := range c.NetworkSettings.Networks {
		if at.IPAddress.IsValid() {
			hosts = append(hosts, net.JoinHostPort(at.IPAddress.String(), databasePort.Port()))
		}
	}
	return hosts
}

// start makes and starts the container. That another process did so at the same moment is no error.
func (e *engine) start(ctx context.Context, name, image string) error {
	folder, err := os.Getwd()
	if err != nil {
		return err
	}
	var arguments []string
	for _, setting := range settings {
		arguments = append(arguments, "-c", setting)
	}
	made, err := testcontainers.Run(ctx, image,
		testcontainers.WithName(name),
		testcontainers.WithLabels(map[string]string{label: folder}),
		testcontainers.WithEnv(map[string]string{
			passwordKey: rand.Text(), "POSTGRES_INITDB_ARGS": "--encoding=UTF8 --locale=C.UTF-8 --no-sync",
		}),
		testcontainers.WithEntrypoint("sh", "-c", containerProgram, "sh"),
		testcontainers.WithCmd(arguments...),
		testcontainers.WithExposedPorts(databasePort.String()),
		testcontainers.WithHostConfigModifier(func(host *container.HostConfig) {
			host.AutoRemove, host.ShmSize = true, 256<<20
			if e.local {
				host.PortBindings = network.PortMap{databasePort: {{HostIP: netip.MustParseAddr("127.0.0.1")}}}
			}
		}))
	if err == nil || errdefs.IsConflict(err) {
		return nil
	}
	if made != nil {
		_, removeErr := e.ContainerRemove(context.WithoutCancel(ctx), made.GetContainerID(), client.ContainerRemoveOptions{Force: true, RemoveVolumes: true})
		if !errdefs.IsNotFound(removeErr) {
			err = errors.Join(err, removeErr)
		}
	}
	return err
}

// sweep removes the containers that never came to run because whoever made them was killed.
func (e *engine) sweep(ctx context.Context) {
	left, err := e.ContainerList(ctx, client.ContainerListOptions{All: true, Filters: make(client.Filters).Add("label", label)})
	if err != nil {
		return
	}
	for _, c := range left.Items {
		if c.State != container.StateRunning && time.Since(time.Unix(c.Created, 0)) > bornLimit {
			_, _ = e.ContainerRemove(ctx, c.ID, client.ContainerRemoveOptions{Force: true, RemoveVolumes: true})
		}
	}
}

// age is how long ago something was made, by the engine's account of it.
func age(created string) time.Duration {
	at, err := time.Parse(time.RFC3339Nano, created)
	if err != nil {
		return 0
	}
	return time.Since(at)
}
