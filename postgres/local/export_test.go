//go:build linux

package local

import "context"

// What tests need from the inside.

// FindIn looks for installations with a PATH and places of the test's choice.
func FindIn(path string, places []string) ([]Binaries, error) {
	found, rejects := findAll(path, places)
	if len(found) == 0 {
		return nil, notFound(places, rejects)
	}
	return found, nil
}

// The variables that say where a copy of the programs comes from.
const (
	RepositoryVariable = repositoryVariable
	VersionVariable    = versionVariable
	CacheVariable      = cacheVariable
)

// WithPorts makes Start try these ports in turn, then free ones.
func WithPorts(options Options, ports ...int) Options {
	options.pickPort = func() (int, error) {
		if len(ports) == 0 {
			return freePort()
		}
		port := ports[0]
		ports = ports[1:]
		return port, nil
	}
	return options
}

// Running says whether a process serves a server directory's data, by each way of telling.
func Running(pid int, dir string) (byWorkingDir, byPS bool) {
	data := dir + "/" + dataDir
	return running(pid, data), !exited(pid) && listedByPS(pid, data)
}

// ServerAccountID is the number of the user that servers run as, -1 for our own.
func ServerAccountID() (int, error) {
	as, err := serverAccount()
	if !as.other {
		return -1, err
	}
	return as.uid, err
}

// The names of files in a server directory.
const (
	MarkerFile   = markerFile
	PasswordFile = passwordFile
	LockFile     = lockFile
)

// ThrowawayMarker is what the marker of a throwaway server says.
const ThrowawayMarker = throwawayMarker

// FetchCopy gets the copy as a start would, without starting it.
func FetchCopy(ctx context.Context) error {
	_, err := chosen(ctx, Options{Programs: Copied})
	return err
}
