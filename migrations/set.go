package migrations

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"slices"

	"github.com/golang-migrate/migrate/v4/source"
)

// none is the version of a database in which no migration has been applied.
const none = -1

// Latest is the highest version among the embedded files: the version a database must have to serve this program.
func Latest() (uint, error) {
	versions, err := versionsIn(FS)
	if err != nil {
		return 0, err
	}
	return uint(versions[len(versions)-1]), nil
}

// Hash tells one set of migrations from another: it changes with any file's name or content.
func Hash() string {
	return hashOf(FS)
}

func hashOf(files fs.FS) string {
	sum := sha256.New()
	// Glob sorts, so that the order of the files in the file system doesn't matter. It fails on a bad pattern only.
	names, _ := fs.Glob(files, "*.sql")
	for _, name := range names {
		content, err := fs.ReadFile(files, name)
		if err != nil {
			panic("migrations: a listed file can't be read: " + err.Error())
		}
		// The length keeps a name's end and a content's beginning apart.
		fmt.Fprintf(sum, "%s\x00%d\x00", name, len(content))
		sum.Write(content)
	}
	return hex.EncodeToString(sum.Sum(nil))
}

// versionsIn lists the versions that have an up file, lowest first.
func versionsIn(files fs.FS) ([]int, error) {
	names, err := fs.Glob(files, "*.sql")
	if err != nil {
		return nil, fmt.Errorf("migrations: %w", err)
	}
	var versions []int
	for _, name := range names {
		parsed, err := source.DefaultParse(name)
		if err != nil {
			return nil, fmt.Errorf("migrations: %s isn't named like 000001_name.up.sql: %w", name, err)
		}
		if parsed.Direction == source.Up {
			versions = append(versions, int(parsed.Version))
		}
	}
	if len(versions) == 0 {
		return nil, fmt.Errorf("migrations: there are no files")
	}
	slices.Sort(versions)
	return versions, nil
}

// around gives the versions before and after one, each itself when there is none on that side.
func around(versions []int, version int) (before, after int) {
	before, after = none, version
	for _, v := range versions {
		if v < version {
			before = v
		}
		if v > version {
			after = v
			break
		}
	}
	return before, after
}
