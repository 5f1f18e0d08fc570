package domain_test

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What a person can take in: a file at a sitting, a function on a page.
const (
	medianFileLines = 120
	mostFileLines   = 600
	mostFuncLines   = 100
)

// TestFilesAndFunctionsStaySmall measures every hand-written Go file of the module, tests included.
func TestFilesAndFunctionsStaySmall(t *testing.T) {
	t.Parallel()
	var sizes []int
	for _, path := range goFiles(t) {
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		files := token.NewFileSet()
		file, err := parser.ParseFile(files, path, text, parser.ParseComments|parser.SkipObjectResolution)
		require.NoError(t, err)
		if ast.IsGenerated(file) {
			continue
		}
		lines := bytes.Count(text, []byte("\n"))
		sizes = append(sizes, lines)
		assert.LessOrEqual(t, lines, mostFileLines, "%s is too long: split it by what it is about", path)
		ast.Inspect(file, func(n ast.Node) bool {
			switch n.(type) {
			case *ast.FuncDecl, *ast.FuncLit:
				first, last := files.Position(n.Pos()), files.Position(n.End())
				assert.LessOrEqual(t, last.Line-first.Line+1, mostFuncLines, "the function at %s is too long", first)
			}
			return true
		})
	}
	require.Greater(t, len(sizes), 100, "most of the files were not found")
	slices.Sort(sizes)
	assert.LessOrEqual(t, sizes[len(sizes)/2], medianFileLines, "half of the files are longer than this")
	t.Logf("%d files, median %d lines, longest %d", len(sizes), sizes[len(sizes)/2], sizes[len(sizes)-1])
}

// goFiles lists the Go files of the module, but for those in hidden folders.
func goFiles(t *testing.T) []string {
	t.Helper()
	var paths []string
	require.NoError(t, filepath.WalkDir("..", func(path string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if entry.IsDir() {
			if path != ".." && strings.HasPrefix(entry.Name(), ".") {
				return filepath.SkipDir
			}
			return nil
		}
		if filepath.Ext(path) == ".go" {
			paths = append(paths, path)
		}
		return nil
	}))
	return paths
}
