package local

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// The files of a server's directory, beside the data itself.
const (
	markerFile   = "CAGEWORK_SERVER"
	lockFile     = "lock"
	passwordFile = "password"
	logFile      = "postgres.log"
	dataDir      = "data"
	newDataDir   = "data.new"
)

// The marker's content says which kind of directory it is. Nothing is ever changed or removed where it's missing.
const (
	persistentMarker = "A private PostgreSQL server of Cagework. Remove this directory only when no server runs in it.\n"
	throwawayMarker  = "A throwaway PostgreSQL server of Cagework's tests. It may be removed when no test is running.\n"
)

// ErrNotOurs says that a directory holds something that this package didn't make, and that it was left alone.
var ErrNotOurs = errors.New("not a server directory of the current user")

// DefaultDir is where a persistent server lives unless told otherwise: in the user's cache directory, but for root
// among the machine's own data, since other users (the server runs as one) can't enter root's home.
func DefaultDir() string {
	if os.Geteuid() == 0 {
		return filepath.Join("/var/lib", "cagework", "postgres")
	}
	if cache, err := os.UserCacheDir(); err == nil {
		return filepath.Join(cache, "cagework", "postgres")
	}
	return filepath.Join(os.TempDir(), "cagework-"+strconv.Itoa(os.Geteuid()), "postgres")
}

// claim makes sure that a directory is one of ours, making it when there is none.
func claim(dir string) error {
	if err := makeDir(dir); err != nil {
		return err
	}
	if info, err := os.Lstat(dir); err != nil || !info.IsDir() || !isOurs(dir) {
		return fmt.Errorf("%w: %s isn't a directory of ours", ErrNotOurs, dir)
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	// The marker is written before anything else, also by another program at this moment: what isn't empty has one.
	if len(entries) == 0 {
		return mark(dir, persistentMarker)
	}
	content, err := os.ReadFile(filepath.Join(dir, markerFile))
	if err != nil || !strings.HasPrefix(persistentMarker, string(content)) {
		return fmt.Errorf("%w: %s holds other things, such as %s: choose an empty directory, or one that doesn't exist", ErrNotOurs, dir, entries[0].Name())
	}
	return nil
}

// mark writes the marker unless there is one.
func mark(dir, content string) error {
	file, err := os.OpenFile(filepath.Join(dir, markerFile), os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return nil
	}
	if err != nil {
		return err
	}
	_, err = file.WriteString(content)
	return errors.Join(err, file.Close())
}

// dirMode is who may enter a directory that holds a server. Root's are searchable for others, as the server runs as
// another user; what is inside isn't readable for them.
func dirMode() fs.FileMode {
	if os.Geteuid() == 0 {
		return 0o711
	}
	return 0o700
}

// makeDir makes a directory and what is missing above it.
func makeDir(dir string) error {
	if _, err := os.Lstat(dir); err == nil {
		return nil
	}
	if parent := filepath.Dir(dir); parent != dir {
		if err := makeDir(parent); err != nil {
			return err
		}
	}
	mode := dirMode()
	if err := os.Mkdir(dir, mode); err != nil {
		if errors.Is(err, fs.ErrExist) {
			return nil
		}
		return err
	}
	// The umask may have taken something away.
	return os.Chmod(dir, mode)
}

// password reads the superuser's password of a server directory, or makes one up for a new directory. The file belongs
// to the account, because initdb reads it.
func password(dir string, as account) (string, error) {
	path := filepath.Join(dir, passwordFile)
	content, err := os.ReadFile(path)
	if err == nil && len(content) > 0 {
		return strings.TrimSpace(string(content)), nil
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return "", err
	}
	if _, err := os.Lstat(filepath.Join(dir, dataDir)); err == nil {
		return "", fmt.Errorf("local: %s is missing, so the data beside it can't be opened: put it back, or move %s away to start with an empty one", path, dir)
	}
	secret := rand.Text()
	if err := writeSecret(path, secret, as); err != nil {
		return "", err
	}
	return secret, nil
}

// writeSecret puts the whole file in place at once, so that a crash never leaves half a password.
func writeSecret(path, secret string, as account) error {
	draft := path + ".new"
	if err := os.Remove(draft); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	file, err := os.OpenFile(draft, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = file.WriteString(secret + "\n")
	if err := errors.Join(err, file.Sync(), file.Close(), as.own(draft)); err != nil {
		return err
	}
	return os.Rename(draft, path)
}
