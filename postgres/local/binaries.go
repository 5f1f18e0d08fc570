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
	places := usualPlaces(runtime.GOOS)
	found, rejects := findAll(os.Getenv("PATH"), places)
	if len(found) == 0 {
		return Binaries{}, notFound(places, rejects)
	}
	return found[0], nil
}

// findAll gives every usable installation, best first, and says what else was found and why it's not usable.
func findAll(path string, places []string) (found []Binaries, rejects []string) {
	var tried []string
	for _, dir := range candidates(path, places) {
		real, err := filepath.EvalSymlinks(dir)
		if err != nil || slices.Contains(tried, real) {
			continue
		}
		tried = append(tried, real)
		if b, err := inspect(real); err != nil {
			rejects = append(rejects, fmt.Sprintf("not usable: %s: %v", real, err))
		} else {
			found = append(found, b)
		}
	}
	return found, rejects
}

// chosen gives every installation that the options allow, best first. It fetches a copy only when there is no other.
func chosen(ctx context.Context, options Options) ([]Binaries, error) {
	var (
		places  = usualPlaces(runtime.GOOS)
		found   []Binaries
		rejects []string
		none    error
	)
	if options.Programs == Copied {
		places = nil
	} else {
		found, rejects = findAll(os.Getenv("PATH"), places)
	}
	if from := theRepository(); options.Programs != OfMachine {
		if b, err := from.copied(); err == nil {
			found = append(found, b)
		} else if len(found) == 0 {
			if b, none = from.get(ctx, options.Log); none == nil {
				return []Binaries{b}, nil
			}
			rejects = append(rejects, none.Error())
		}
	}
	if len(found) == 0 {
		return nil, fmt.Errorf("local: %w", wrapped{notFound(places, rejects), none})
	}
	return found, nil
}

// wrapped is an error that is also another one, or nil, which its text says already.
type wrapped struct {
	error
	also error
}

// Unwrap gives both.
func (w wrapped) Unwrap() []error { return []error{w.error, w.also} }

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
