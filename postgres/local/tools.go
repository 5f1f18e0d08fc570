package local

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Tools gives the installations that hold all these client programs, best first: those in PATH, then the newest. It also
// says what else was found and why it is not usable. Unlike a server's programs they run as the user we are.
func Tools(ctx context.Context, programs ...string) (found []Binaries, rejects []string) {
	return toolsIn(ctx, os.Getenv("PATH"), usualPlaces(runtime.GOOS), programs)
}

func toolsIn(ctx context.Context, path string, places, programs []string) (found []Binaries, rejects []string) {
	var tried []string
	for _, dir := range append(filepath.SplitList(path), candidates("", places)...) {
		if !filepath.IsAbs(dir) || slices.Contains(tried, dir) {
			continue
		}
		tried = append(tried, dir)
		if _, err := os.Stat(filepath.Join(dir, executable(programs[0]))); err != nil {
			continue
		}
		b, err := tools(ctx, dir, programs)
		if err != nil {
			rejects = append(rejects, fmt.Sprintf("not usable: %s: %v", dir, err))
			continue
		}
		found = append(found, b)
	}
	return found, rejects
}

// tools asks each program of a directory for its version, which must be the same.
func tools(ctx context.Context, dir string, programs []string) (Binaries, error) {
	b := Binaries{Dir: dir}
	for _, program := range programs {
		ctx, cancel := context.WithTimeout(ctx, 10*time.Second)
		defer cancel()
		cmd := exec.CommandContext(ctx, b.path(program), "--version")
		cmd.Env = environment()
		output, err := cmd.Output()
		if err != nil {
			return Binaries{}, fmt.Errorf("%s --version: %w", program, err)
		}
		match := versionPattern.FindStringSubmatch(string(output))
		if match == nil {
			return Binaries{}, fmt.Errorf("%s --version says %q", program, strings.TrimSpace(string(output)))
		}
		if b.Version != "" && b.Version != match[1] {
			return Binaries{}, fmt.Errorf("%s is of version %s, %s of %s", programs[0], b.Version, program, match[1])
		}
		b.Version = match[1]
		if b.Major, err = strconv.Atoi(match[2]); err != nil {
			return Binaries{}, err
		}
	}
	return b, nil
}

// Program is the path of one of the installation's programs.
func (b Binaries) Program(name string) string { return b.path(name) }
