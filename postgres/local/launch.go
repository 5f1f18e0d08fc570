package local

import (
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

const (
	// attempts bounds the retries of what passes by itself: a port taken in between, a dead server's last sessions.
	attempts = 20
	// patience ends a start when the caller's context has no deadline. Recovery after a crash can take long.
	patience = 2 * time.Minute
	// pause is the time between two looks at something that is waited for.
	pause = 5 * time.Millisecond
)

// freePort asks the system for a port nobody uses. Somebody may take it before the server does: then launch tries
// another one.
func freePort() (int, error) {
	listener, err := net.Listen("tcp4", "127.0.0.1:0") //nolint:noctx // it waits for nothing
	if err != nil {
		return 0, err
	}
	defer listener.Close()
	return listener.Addr().(*net.TCPAddr).Port, nil
}

// launch starts the server process and waits until it answers.
func (c *cluster) launch(ctx context.Context) (postmaster, error) {
	for attempt := 1; ; attempt++ {
		port, err := c.pickPort()
		if err != nil {
			return postmaster{}, fmt.Errorf("local: find a free port: %w", err)
		}
		started, output, err := c.try(ctx, port)
		if err == nil {
			c.say("PostgreSQL %s listens on 127.0.0.1:%d", c.binaries.Version, port)
			return started, nil
		}
		err = fmt.Errorf("local: start PostgreSQL %s as %s: %w\n%s", c.binaries.Version, c.as, err, output)
		if attempt == attempts || !passes(output) || ctx.Err() != nil {
			return postmaster{}, err
		}
		time.Sleep(time.Duration(attempt) * 10 * time.Millisecond)
	}
}

// passes says that a failed start is worth repeating, by what the server wrote.
func passes(output string) bool {
	return strings.Contains(output, "could not create any TCP/IP sockets") || // the port was taken
		strings.Contains(output, "is still in use") // sessions of a server that was killed are about to end
}

// try starts the server on a port. When that fails, it also gives what the server wrote.
func (c *cluster) try(ctx context.Context, port int) (postmaster, string, error) {
	log, err := os.OpenFile(filepath.Join(c.dir, logFile), os.O_CREATE|os.O_APPEND|os.O_RDWR, 0o600)
	if err != nil {
		return postmaster{}, "", err
	}
	defer log.Close()
	before, err := log.Seek(0, 2)
	if err != nil {
		return postmaster{}, "", err
	}
	// Not bound to the context: the server is meant to outlive it. Its output goes to a file, so that it neither holds
	// a pipe of ours open nor dies of one that nobody reads any more.
	cmd := exec.Command(c.binaries.path("postgres"), c.arguments(port)...)
	cmd.Dir, cmd.Env, cmd.SysProcAttr = c.binaries.Dir, environment(), c.as.attributes()
	cmd.Stdout, cmd.Stderr = log, log
	if err := cmd.Start(); err != nil {
		return postmaster{}, "", err
	}
	started := postmaster{pid: cmd.Process.Pid, port: port}
	if err := cmd.Process.Release(); err != nil {
		return postmaster{}, "", err
	}
	if err := c.await(ctx, started); err != nil {
		output := make([]byte, 64<<10)
		n, _ := log.ReadAt(output, before)
		return postmaster{}, lastLines(output[:n]), err
	}
	return started, "", nil
}

func (c *cluster) arguments(port int) []string {
	settings := []string{
		"port=" + strconv.Itoa(port),
		"listen_addresses=127.0.0.1",
		// Loopback needs no directory that is both private and short enough for a socket's name.
		"unix_socket_directories=",
		"password_encryption=scram-sha-256",
		"timezone=UTC",
		"log_timezone=UTC",
		"logging_collector=off",
	}
	if c.throwaway {
		settings = append(settings, "fsync=off", "synchronous_commit=off", "full_page_writes=off",
			"wal_level=minimal", "max_wal_senders=0", "max_connections=300",
			"min_wal_size=32MB", "max_wal_size=128MB")
	}
	args := []string{"-D", c.data()}
	for _, setting := range settings {
		args = append(args, "-c", setting)
	}
	return args
}

// await returns when a process just started accepts our password; when it ended; or when the context did, after which
// the process is stopped.
func (c *cluster) await(ctx context.Context, started postmaster) error {
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	for {
		now, ok := readPostmaster(c.data())
		if ok && now.pid == started.pid && now.ready {
			return c.verify(ctx, started.port)
		}
		if exited(started.pid) {
			return fmt.Errorf("the server ended while starting")
		}
		if err := sleep(ctx, pause); err != nil {
			_ = stopFast(c, started.pid)
			return err
		}
	}
}

func sleep(ctx context.Context, duration time.Duration) error {
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(duration):
		return nil
	}
}
