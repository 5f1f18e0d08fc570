package backup

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"cagework/postgres/local"
)

// The standard tools that do the work.
const (
	dumpTool    = "pg_dump"
	restoreTool = "pg_restore"
)

// findTools chooses pg_dump and pg_restore for a server, or for a file that such tools wrote: the oldest that are new
// enough. pg_dump reads older servers but refuses newer ones, pg_restore likewise with files; and the nearer they are to the
// server's version, the less they say that it does not understand.
func findTools(ctx context.Context, atLeast int, what string) (local.Binaries, error) {
	found, rejects := local.Tools(ctx, dumpTool, restoreTool)
	return chooseTools(found, rejects, atLeast, what)
}

func chooseTools(found []local.Binaries, rejects []string, atLeast int, what string) (local.Binaries, error) {
	if len(found) == 0 {
		return local.Binaries{}, errors.New(strings.Join(append([]string{
			"pg_dump and pg_restore are missing: neither PATH nor the usual places hold them"}, rejects...), "\n  ") +
			"\n  " + getTools(atLeast))
	}
	slices.SortStableFunc(found, func(a, b local.Binaries) int { return a.Major - b.Major })
	for _, b := range found {
		if b.Major >= atLeast {
			return b, nil
		}
	}
	newest := found[len(found)-1]
	return local.Binaries{}, fmt.Errorf("%s is of PostgreSQL %d, but the newest pg_dump and pg_restore here are of %s (%s), and older "+
		"tools can't read newer data\n  %s", what, atLeast, newest.Version, newest.Dir, getTools(atLeast))
}

func getTools(major int) string {
	return fmt.Sprintf("install PostgreSQL's client programs of version %d or newer (Debian, Ubuntu: apt-get install postgresql-client-%d), "+
		"or put the directory that holds them into PATH", major, major)
}
