// Package local runs a private Postgres server from the programs installed on the machine, or from a copy of them that is
// fetched once where there are none.
//
// A persistent server keeps its data in a directory of its own, is durable, and is adopted by the next Start when the
// program that started it was killed. A throwaway server is for tests: fast instead of durable, and gone with its data
// as soon as the process that started it ends, however that happens.
//
// Either listens on the loopback address only and asks everyone for a password, which is made up at random and kept
// where only its owner can read it. As root, the server's processes run as an unprivileged user.
package local

import (
	"context"
	"errors"
	"io"
	"net"
	"net/url"
	"path/filepath"
	"strconv"
	"sync"
)

// ErrInUse says that another running program uses the server of a directory.
var ErrInUse = errors.New("the server directory is in use by another program")

// Options says what kind of server Start gives. The zero value is a persistent one in DefaultDir.
type Options struct {
	// Dir is a persistent server's directory, DefaultDir when empty. For a throwaway server it's the directory in which
	// one with a new name is made; when empty, memory if there is plenty of it and TMPDIR isn't set, otherwise the one
	// for temporary files.
	Dir string
	// Throwaway asks for a server that ends with this process.
	Throwaway bool
	// Programs says whose programs are run, the machine's own when zero.
	Programs Programs
	// Port is the port to listen on, any free one when zero. An adopted server keeps its own.
	Port int
	// Log is told what takes a while, a line each; nil is silent. What the server writes is in Server.LogFile.
	Log io.Writer

	pickPort func() (int, error)
}

// Programs says where a server's programs come from.
type Programs int

const (
	// OfMachine are those that are installed, and no others.
	OfMachine Programs = iota
	// Copied are those of a copy that is fetched once and kept.
	Copied
	// OfMachineOrCopied are the machine's, and the copy's where it has none or none of the version that the data needs.
	OfMachineOrCopied
)

// Server is a running server. Hold on to it as long as the server is needed: it holds the directory's lock, and with a
// throwaway server the server itself.
type Server struct {
	// Dir is the server's directory.
	Dir string
	// Port is where it listens on the loopback address.
	Port int
	// Programs are what it runs.
	Programs Binaries
	// PID is its main process.
	PID int
	// Version is that of its programs, such as "15.18", and Major the part that data depends on.
	Version string
	Major   int
	// Adopted says that the server was already running.
	Adopted bool

	cluster *cluster
	lock    *lock
	guard   *guard

	stopping sync.Mutex
	stopped  bool
}

// Start gives a running server, or an error that says what to do: ErrNoBinaries, ErrNotFetched, ErrInUse, ErrOtherVersion
// and ErrNotOurs can be told apart by errors.Is. When the context ends early, what was started is stopped again.
func Start(ctx context.Context, options Options) (*Server, error) {
	if options.pickPort == nil {
		options.pickPort = freePort
	}
	if options.Port != 0 {
		options.pickPort = func() (int, error) { return options.Port, nil }
	}
	if options.Throwaway {
		return startThrowaway(ctx, options)
	}
	return startPersistent(ctx, options)
}

func (c *cluster) server(running postmaster, adopted bool) *Server {
	return &Server{
		Dir:      c.dir,
		Port:     running.port,
		Programs: c.binaries,
		PID:      running.pid,
		Version:  c.binaries.Version,
		Major:    c.binaries.Major,
		Adopted:  adopted,
		cluster:  c,
	}
}

// URL is the address of a database for the superuser, password included. The server comes with one called postgres.
func (s *Server) URL(database string) string {
	return address(s.cluster.password, s.Port, database)
}

// LogFile is where the server's own messages go.
func (s *Server) LogFile() string {
	return filepath.Join(s.Dir, logFile)
}

func address(password string, port int, database string) string {
	u := url.URL{
		Scheme:   "postgres",
		User:     url.UserPassword(superuser, password),
		Host:     net.JoinHostPort("127.0.0.1", strconv.Itoa(port)),
		Path:     "/" + database,
		RawQuery: "sslmode=disable",
	}
	return u.String()
}
