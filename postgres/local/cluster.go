package local

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
)

// superuser is the name of the server's first user.
const superuser = "postgres"

// ErrOtherVersion says that a directory was made by a version of Postgres that isn't installed. Nothing was changed.
var ErrOtherVersion = errors.New("the data was made by another major version of PostgreSQL")

// cluster is a server's directory with everything that is needed to run it.
type cluster struct {
	dir       string
	binaries  Binaries
	as        account
	password  string
	throwaway bool
	log       io.Writer
	pickPort  func() (int, error)
}

func (c *cluster) data() string {
	return filepath.Join(c.dir, dataDir)
}

func (c *cluster) say(format string, args ...any) {
	if c.log != nil {
		fmt.Fprintf(c.log, format+"\n", args...)
	}
}

// madeBy reads which major version made a directory's data, zero when there is none yet.
func madeBy(dir string) (int, error) {
	content, err := os.ReadFile(filepath.Join(dir, dataDir, "PG_VERSION"))
	if err == nil {
		return strconv.Atoi(strings.TrimSpace(string(content)))
	}
	if _, statErr := os.Lstat(filepath.Join(dir, dataDir)); errors.Is(statErr, fs.ErrNotExist) {
		return 0, nil
	}
	return 0, fmt.Errorf("local: %s holds no database that can be read: %w", filepath.Join(dir, dataDir), err)
}

// matching chooses the installation that can open a directory's data: another major version can't.
func matching(dir string, major int, found []Binaries) (Binaries, error) {
	var have []string
	for _, b := range found {
		if major == 0 || b.Major == major {
			return b, nil
		}
		have = append(have, fmt.Sprintf("%s (%s)", b.Version, b.Dir))
	}
	return Binaries{}, fmt.Errorf("%w: %s is of version %d, installed here is %s: install PostgreSQL %d, or move the directory away to start with an empty one",
		ErrOtherVersion, dir, major, strings.Join(have, ", "), major)
}

// initialize makes the data directory if there is none. It's made under another name first: whatever happens, data is
// either complete or absent.
func (c *cluster) initialize(ctx context.Context) error {
	if _, err := os.Lstat(c.data()); err == nil {
		return nil
	}
	c.say("making a database directory in %s with PostgreSQL %s", c.dir, c.binaries.Version)
	draft := filepath.Join(c.dir, newDataDir)
	var output []byte
	var err error
	for _, locale := range c.locales() {
		if output, err = c.initdb(ctx, draft, locale); err == nil {
			return os.Rename(draft, c.data())
		}
	}
	return fmt.Errorf("local: initdb as %s: %w\n%s", c.as, err, lastLines(output))
}

func (c *cluster) initdb(ctx context.Context, draft string, locale []string) ([]byte, error) {
	if err := errors.Join(os.RemoveAll(draft), os.Mkdir(draft, 0o700), c.as.own(draft)); err != nil {
		return nil, err
	}
	args := append([]string{
		"-D", draft,
		"-U", superuser,
		"--pwfile=" + filepath.Join(c.dir, passwordFile),
		"--auth=scram-sha-256",
		"--encoding=UTF8",
	}, locale...)
	if c.throwaway {
		args = append(args, "--no-sync")
	} else {
		args = append(args, "--data-checksums")
	}
	cmd := exec.CommandContext(ctx, c.binaries.path("initdb"), args...)
	cmd.Dir, cmd.Env, cmd.SysProcAttr = c.binaries.Dir, environment(), c.as.attributes()
	return cmd.CombinedOutput()
}

// locales are the ways to ask for an order by code point in which letters outside of ASCII are letters too, best first.
// The last one always works, without the letters.
func (c *cluster) locales() [][]string {
	plain := []string{"--locale=C"}
	switch {
	case c.binaries.Major >= 17:
		return [][]string{{"--locale-provider=builtin", "--builtin-locale=C.UTF-8", "--locale=C"}, plain}
	case runtime.GOOS == "linux":
		return [][]string{{"--locale=C.UTF-8", "--lc-messages=C"}, plain}
	default:
		return [][]string{plain}
	}
}

// lastLines keeps the end of a program's output, where the reason is.
func lastLines(output []byte) string {
	lines := strings.Split(strings.TrimSpace(string(output)), "\n")
	return strings.Join(lines[max(0, len(lines)-8):], "\n")
}
