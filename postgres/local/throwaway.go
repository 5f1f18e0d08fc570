package local

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// throwawayPrefix begins the names of throwaway servers' directories.
const throwawayPrefix = "cagework-throwaway-"

// startThrowaway makes a server that its guard removes when this process ends. The guard comes as early as possible: what
// is left by a process killed before, a directory, waits for the next sweep.
func startThrowaway(ctx context.Context, options Options) (*Server, error) {
	found, err := chosen(ctx, options)
	if err != nil {
		return nil, err
	}
	as, err := serverAccount()
	if err != nil {
		return nil, err
	}
	places := throwawayPlaces(options.Dir)
	memory, _ := memoryDir() // what was left there may be what takes up the room
	for _, place := range append(slices.Clone(places), memory) {
		sweep(place)
	}
	dir, held, err := placeThrowaway(places, as)
	if err != nil {
		return nil, err
	}
	guard, err := startGuard(dir)
	if err != nil {
		return nil, errors.Join(err, held.release(), os.RemoveAll(dir))
	}
	server, err := runThrowaway(ctx, dir, found[0], as, options)
	if err != nil {
		return nil, errors.Join(err, guard.dismiss(context.WithoutCancel(ctx), 0), held.release())
	}
	server.lock, server.guard = held, guard
	return server, nil
}

func runThrowaway(ctx context.Context, dir string, binaries Binaries, as account, options Options) (*Server, error) {
	c, err := assemble(dir, binaries, as, options)
	if err != nil {
		return nil, err
	}
	if err := c.initialize(ctx); err != nil {
		return nil, err
	}
	running, err := c.launch(ctx)
	if err != nil {
		return nil, err
	}
	return c.server(running, false), nil
}

// throwawayPlaces are the directories in which throwaway servers may be made, best first: the one asked for and no
// other; otherwise what the environment says, or memory, or the usual ones for temporary files.
func throwawayPlaces(asked string) []string {
	if asked != "" {
		return []string{asked}
	}
	var choices []string
	if dir, ok := memoryDir(); ok && os.Getenv("TMPDIR") == "" {
		choices = append(choices, dir)
	}
	return append(choices, os.TempDir(), "/tmp", "/var/tmp")
}

// placeThrowaway makes a directory in the first place that allows it and that the account can enter: root's own directory
// for temporary files may be closed to it.
func placeThrowaway(places []string, as account) (string, *lock, error) {
	var failed error
	for _, place := range places {
		real, err := filepath.Abs(place)
		if err == nil {
			real, err = filepath.EvalSymlinks(real)
		}
		if err == nil {
			err = as.reaches(real)
		}
		if err == nil {
			dir, held, makeErr := makeThrowaway(real)
			if makeErr == nil {
				return dir, held, nil
			}
			err = makeErr
		}
		failed = errors.Join(failed, err)
	}
	return "", nil, fmt.Errorf("local: no place for a throwaway server: %w", failed)
}

// makeThrowaway makes a directory and locks it. The marker comes last: only what has one is ever swept away, and by then
// the lock says that it's in use.
func makeThrowaway(parent string) (string, *lock, error) {
	dir, err := os.MkdirTemp(parent, throwawayPrefix)
	if err != nil {
		return "", nil, err
	}
	held, err := tryLock(filepath.Join(dir, lockFile))
	if err == nil && held == nil {
		err = fmt.Errorf("%w: %s", ErrInUse, dir)
	}
	if err == nil {
		err = os.Chmod(dir, dirMode())
	}
	if err == nil {
		err = mark(dir, throwawayMarker)
	}
	if err != nil {
		return "", nil, errors.Join(err, os.RemoveAll(dir))
	}
	return dir, held, nil
}

// isThrowaway says that a directory is surely one of ours.
func isThrowaway(dir string) bool {
	info, err := os.Lstat(dir)
	if err != nil || !info.IsDir() || !isOurs(dir) || !strings.HasPrefix(filepath.Base(dir), throwawayPrefix) {
		return false
	}
	content, err := os.ReadFile(filepath.Join(dir, markerFile))
	return err == nil && string(content) == throwawayMarker
}
