package local

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// usualPlaces are the patterns of directories in which an operating system's packages put the server's programs, which
// most of them keep out of PATH.
func usualPlaces(system string) []string {
	switch system {
	case "windows":
		return []string{
			filepath.Join(os.Getenv("ProgramFiles"), "PostgreSQL", "*", "bin"),
		}
	case "darwin":
		return []string{
			"/opt/homebrew/opt/postgresql@*/bin",
			"/usr/local/opt/postgresql@*/bin",
			"/opt/local/lib/postgresql*/bin",
			"/Library/PostgreSQL/*/bin",
			"/usr/local/pgsql/bin",
		}
	default:
		return []string{
			"/usr/lib/postgresql/*/bin",
			"/usr/pgsql-*/bin",
			"/usr/lib/postgresql*/bin",
			"/usr/libexec/postgresql*",
			"/usr/local/pgsql/bin",
			"/home/linuxbrew/.linuxbrew/opt/postgresql@*/bin",
		}
	}
}

// candidates lists the directories worth a try, best first: those in PATH, then the usual places, newest version first.
func candidates(path string, places []string) []string {
	dirs := inPath(path)
	var usual []string
	for _, pattern := range places {
		// Glob fails on a malformed pattern only, and these are ours.
		matches, _ := filepath.Glob(pattern)
		usual = append(usual, matches...)
	}
	slices.SortStableFunc(usual, func(a, b string) int { return cmp.Compare(versionIn(b), versionIn(a)) })
	return append(dirs, usual...)
}

// inPath finds the directories of PATH that hold some program of a server, and those that its links point to: often
// only a link to one program is there, while the rest lies beside the link's target.
func inPath(path string) []string {
	var dirs []string
	for _, dir := range filepath.SplitList(path) {
		for _, program := range []string{"postgres", "initdb", "pg_ctl"} {
			file := filepath.Join(dir, executable(program))
			if info, err := os.Stat(file); err != nil || info.IsDir() || !filepath.IsAbs(dir) {
				continue
			}
			dirs = append(dirs, dir)
			if target, err := filepath.EvalSymlinks(file); err == nil {
				dirs = append(dirs, filepath.Dir(target))
			}
		}
	}
	return dirs
}

var numbers = regexp.MustCompile(`\d+`)

// versionIn reads the version out of a directory's name, for the order only.
func versionIn(dir string) int {
	all := numbers.FindAllString(dir, -1)
	if len(all) == 0 {
		return 0
	}
	version, _ := strconv.Atoi(all[len(all)-1])
	return version
}

// WaysBegin is where, in the text of an error that wraps ErrNoBinaries, the reasons end and the ways to get going begin.
const WaysBegin = "\n  ways to get going:"

// notFound says where it was looked, if it was, and what can be done.
func notFound(places, rejects []string) error {
	var text strings.Builder
	if len(places) > 0 {
		text.WriteString("\n  looked in PATH, " + strings.Join(places, ", "))
	}
	for _, reject := range rejects {
		text.WriteString("\n  " + reject)
	}
	fmt.Fprintf(&text, WaysBegin+
		"\n    Debian, Ubuntu:  apt-get install postgresql"+
		"\n    Fedora, RHEL:    dnf install postgresql-server"+
		"\n    Alpine:          apk add postgresql"+
		"\n    macOS:           brew install postgresql@17"+
		"\n    or put the directory that holds postgres and initdb (version %d or newer) into PATH"+
		"\n    or with Docker:  docker compose up, see docker-compose.yml"+
		"\n    or use a server that runs elsewhere, by its URL: DATABASE_URL=postgres://... cagework serve", OldestMajor)
	return fmt.Errorf("%w:%s", ErrNoBinaries, text.String())
}
