package local

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"
)

// OldestMajor is the oldest major version of Postgres that is used when found.
const OldestMajor = 14

// ErrNoBinaries says that no usable Postgres server is installed; the error around it lists where it was looked for and
// how to get one.
var ErrNoBinaries = errors.New("no PostgreSQL server found on this machine")

// Binaries is an installation of Postgres: the programs of one directory, which belong together.
type Binaries struct {
	// Dir holds postgres and initdb.
	Dir string
	// Version is what the server says of itself, such as "15.18".
	Version string
	// Major is the part of it that data directories depend on.
	Major int
}

// path is one of the installation's programs.
func (b Binaries) path(program string) string {
	return filepath.Join(b.Dir, executable(program))
}

func executable(program string) string {
	if runtime.GOOS == "windows" {
		return program + ".exe"
	}
	return program
}

// Find gives the installation to use: the first one in PATH, otherwise the newest where distributions and package
// managers put them. Each is tried out, as the user that would run it.
func Find() (Binaries, error) {
	found, err := findAll(os.Getenv("PATH"), usualPlaces(runtime.GOOS))
	if err != nil {
		return Binaries{}, err
	}
	return found[0], nil
}

// findAll gives every usable installation, best first, or an error that wraps ErrNoBinaries.
func findAll(path string, places []string) ([]Binaries, error) {
	var (
		found   []Binaries
		tried   []string
		rejects []string
	)
	for _, dir := range candidates(path, places) {
		real, err := filepath.EvalSymlinks(dir)
		if err != nil || slices.Contains(tried, real) {
			continue
		}
		tried = append(tried, real)
		if b, err := inspect(real); err != nil {
			rejects = append(rejects, fmt.Sprintf("%s: %v", real, err))
		} else {
			found = append(found, b)
		}
	}
	if len(found) == 0 {
		return nil, notFound(places, rejects)
	}
	return found, nil
}

var versionPattern = regexp.MustCompile(`\(PostgreSQL\) ((\d+)\S*)`)

// inspect runs both programs that are needed. A directory may hold only one of them, or one that lacks its libraries.
func inspect(dir string) (Binaries, error) {
	b := Binaries{Dir: dir}
	for _, program := range []string{"postgres", "initdb"} {
		version, major, err := b.versionOf(program)
		if err != nil {
			return Binaries{}, err
		}
		if b.Major != 0 && b.Major != major {
			return Binaries{}, fmt.Errorf("postgres is of version %s, initdb of %s", b.Version, version)
		}
		if b.Major == 0 {
			b.Version, b.Major = version, major
		}
	}
	if b.Major < OldestMajor {
		return Binaries{}, fmt.Errorf("version %s is too old, %d or newer is needed", b.Version, OldestMajor)
	}
	return b, nil
}

func (b Binaries) versionOf(program string) (version string, major int, err error) {
	if _, err := os.Stat(b.path(program)); err != nil {
		return "", 0, fmt.Errorf("has no %s", program)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()

	as, err := serverAccount()
	if err != nil {
		return "", 0, err
	}
	cmd := exec.CommandContext(ctx, b.path(program), "--version")
	cmd.Dir, cmd.Env, cmd.SysProcAttr = b.Dir, environment(), as.attributes()
	output, err := cmd.Output()
	if err != nil {
		return "", 0, fmt.Errorf("%s --version as %s: %w", program, as, err)
	}
	match := versionPattern.FindStringSubmatch(string(output))
	if match == nil {
		return "", 0, fmt.Errorf("%s --version says %q", program, strings.TrimSpace(string(output)))
	}
	major, err = strconv.Atoi(match[2])
	return match[1], major, err
}
