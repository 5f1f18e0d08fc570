package local

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"

	embedded "github.com/fergusstrange/embedded-postgres"
)

// ErrNotFetched says that there is no copy of the server's programs and that none could be fetched.
var ErrNotFetched = errors.New("a copy of PostgreSQL could not be fetched")

// repository is where a copy of the server's programs comes from when the machine has none, and where it's kept.
type repository struct {
	url     string // of a Maven repository that holds io.zonky.test.postgres
	version string // such as "17.5.0", as the repository writes it
	dir     string // where copies are kept, a directory for each version
}

// The variables that choose another repository, such as a mirror, another version or another place.
const (
	repositoryVariable = "CAGEWORK_POSTGRES_REPOSITORY"
	versionVariable    = "CAGEWORK_POSTGRES_VERSION"
	cacheVariable      = "CAGEWORK_POSTGRES_CACHE"
)

// publicRepository is the library's own default, which it doesn't tell.
const publicRepository = "https://repo1.maven.org/maven2"

func theRepository() repository {
	return repository{
		url:     strings.TrimSuffix(cmp.Or(os.Getenv(repositoryVariable), publicRepository), "/"),
		version: cmp.Or(os.Getenv(versionVariable), string(embedded.V17)),
		dir:     cmp.Or(os.Getenv(cacheVariable), filepath.Join(filepath.Dir(DefaultDir()), "programs")),
	}
}

const (
	// reachLimit ends the question whether the repository answers at all; fetchLimit the fetching itself.
	reachLimit = 5 * time.Second
	fetchLimit = 10 * time.Minute
	// stagingPrefix begins the names of directories in which a copy is still being made.
	stagingPrefix = "fetching-"
)

// copied gives the copy that's already there, if it can be used.
func (r repository) copied() (Binaries, error) {
	return inspect(filepath.Join(r.dir, r.version, "bin"))
}

// get gives the copy, fetching it first when there is none. Programs that do so at the same time wait for the first.
func (r repository) get(ctx context.Context, log io.Writer) (Binaries, error) {
	if b, err := r.copied(); err == nil {
		return b, nil
	}
	ctx, cancel := context.WithTimeout(ctx, fetchLimit)
	defer cancel()
	b, err := r.fetchOnce(ctx, log)
	if err != nil {
		return Binaries{}, fmt.Errorf("%w: version %s from %s: %w", ErrNotFetched, r.version, r.url, err)
	}
	return b, nil
}

func (r repository) fetchOnce(ctx context.Context, log io.Writer) (Binaries, error) {
	if err := makeDir(r.dir); err != nil {
		return Binaries{}, err
	}
	held, err := r.lock(ctx)
	if err != nil {
		return Binaries{}, err
	}
	defer held.release()
	if b, err := r.copied(); err == nil {
		return b, nil
	}
	r.sweep()
	if err := r.reach(ctx); err != nil {
		return Binaries{}, err
	}
	if log != nil {
		fmt.Fprintf(log, "no PostgreSQL on this machine: fetching a copy of version %s, once, into %s\n", r.version, r.dir)
	}
	if err := r.fetch(ctx); err != nil {
		return Binaries{}, err
	}
	return r.copied()
}

func (r repository) lock(ctx context.Context) (*lock, error) {
	for {
		held, err := tryLock(filepath.Join(r.dir, lockFile))
		if held != nil || err != nil {
			return held, err
		}
		if err := sleep(ctx, 10*pause); err != nil {
			return nil, fmt.Errorf("another program has been fetching it for long: %w", err)
		}
	}
}

// sweep removes what programs that were killed left half-made. The lock says that nobody is at work.
func (r repository) sweep() {
	left, _ := filepath.Glob(filepath.Join(r.dir, stagingPrefix+"*"))
	for _, dir := range left {
		_ = os.RemoveAll(dir)
	}
}

// reach asks whether the repository answers, with whatever, so that a machine without a network learns that in seconds:
// the library itself waits without an end, and doesn't say what was wrong.
func (r repository) reach(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, reachLimit)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, http.MethodHead, r.url+"/", http.NoBody)
	if err != nil {
		return err
	}
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return err
	}
	return response.Body.Close()
}

// fetch makes the copy under another name first: a directory with the version's name is complete.
func (r repository) fetch(ctx context.Context) error {
	staging, err := os.MkdirTemp(r.dir, stagingPrefix)
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(staging) }()
	programs := filepath.Join(staging, "programs")
	done := make(chan error, 1)
	// The library can't be told to stop. What goes on after our end writes into a directory that the next sweep removes.
	go func() { done <- r.unpack(staging, programs) }()
	select {
	case err = <-done:
	case <-ctx.Done():
		err = ctx.Err()
	}
	if err != nil {
		return err
	}
	if err := openForOthers(programs); err != nil {
		return err
	}
	final := filepath.Join(r.dir, r.version)
	if err := os.RemoveAll(final); err != nil { // one that was found unusable
		return err
	}
	return os.Rename(programs, final)
}

// unpack has the library fetch and unpack, and nothing more. It offers no call that does only that: a start does it first
// and then makes a data directory, which must fail here. The package os removes no path that ends in a dot, so that a
// start with one for its data ends after unpacking, before it runs anything.
func (r repository) unpack(staging, programs string) error {
	logs := libraryLogs()
	err := embedded.NewDatabase(embedded.DefaultConfig().
		BinaryRepositoryURL(r.url).
		Version(embedded.PostgresVersion(r.version)).
		CachePath(filepath.Join(staging, "archive")).
		BinariesPath(programs).
		RuntimePath(filepath.Join(staging, "runtime")).
		DataPath(staging + string(filepath.Separator) + "data" + string(filepath.Separator) + ".").
		Logger(io.Discard).
		Port(0)).Start()
	for file := range libraryLogs() {
		if _, before := logs[file]; !before {
			_ = os.Remove(file)
		}
	}
	if _, missing := os.Stat(filepath.Join(programs, "bin", executable("initdb"))); missing != nil {
		return cmp.Or(err, missing)
	}
	return nil
}

// libraryLogs lists the empty files that the library makes for a log and never removes, as far as they are ours.
func libraryLogs() map[string]bool {
	logs := map[string]bool{}
	files, _ := filepath.Glob(filepath.Join(os.TempDir(), "embedded_postgres_log*"))
	for _, file := range files {
		if info, err := os.Lstat(file); err == nil && info.Mode().IsRegular() && info.Size() == 0 && isOurs(file) {
			logs[file] = true
		}
	}
	return logs
}

// openForOthers lets the server's account read the programs, which is another one for root.
func openForOthers(dir string) error {
	if os.Geteuid() != 0 {
		return nil
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return err
	}
	defer root.Close()
	return fs.WalkDir(root.FS(), ".", func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.Type()&fs.ModeSymlink != 0 {
			return err
		}
		info, err := entry.Info()
		if err != nil {
			return err
		}
		mode := info.Mode().Perm() | 0o444
		if entry.IsDir() || mode&0o100 != 0 {
			mode |= 0o111
		}
		return root.Chmod(path, mode)
	})
}
