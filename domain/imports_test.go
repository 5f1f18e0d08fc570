package domain_test

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// mayImport says which packages of ours each package may import outside its tests. A name that ends in /... stands
// for everything below it too. This is the shape of the code; a package that is not here has no place in it yet.
var mayImport = map[string][]string{
	"domain":                      {"domain/field"},
	"domain/stats":                {},
	"domain/field":                {},
	"domain/judgement":            {"domain", "domain/stats", "domain/field"},
	"domain/judgement/simulation": {"domain", "domain/stats", "domain/judgement"},
	"domain/planning":             {"domain", "domain/stats", "domain/judgement"},
	"domain/summary":              {"domain", "domain/stats", "domain/judgement", "domain/planning"},
	"api":                         {"domain/...", "openapi", "openapi/server", "api/pages"},
	"api/pages":                   {"domain", "domain/summary"},
	"postgres":                    {"domain"},
	"postgres/backup":             {"postgres/local"},
	"postgres/journal":            {"domain"},
	"postgres/local":              {"migrations"},
	"postgres/pgtest":             {"migrations", "postgres/local"},
	"migrations":                  {},
	"openapi":                     {},
	"openapi/server":              {},
	"openapi/client":              {},
	"cmd/cagework":                {"..."},
	"cmd/simulate":                {"..."},
	// Pure like domain, so that tests without a database can plant a weakness and look for it.
	"cmd/cagework/invented": {"domain"},
}

const module = "cagework/"

// numeric are the libraries that packages under domain may use beside the standard library.
var numeric = []string{"gonum.org/v1/gonum/"}

type goPackage struct {
	ImportPath string
	Imports    []string // without those of tests
}

func packages(t *testing.T) []goPackage {
	t.Helper()
	list := exec.CommandContext(t.Context(), "go", "list", "-json=ImportPath,Imports", "./...")
	list.Dir = ".."
	out, err := list.Output()
	require.NoError(t, err)
	var all []goPackage
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p goPackage
		err := d.Decode(&p)
		if errors.Is(err, io.EOF) {
			return all
		}
		require.NoError(t, err)
		all = append(all, p)
	}
}

func TestImports(t *testing.T) {
	all := packages(t)
	require.NotEmpty(t, all)
	for _, p := range all {
		name := strings.TrimPrefix(p.ImportPath, module)
		allowed, known := allowedFor(name)
		if !assert.True(t, known, "%s is not in the table of imports: say what it may import", name) {
			continue
		}
		for _, i := range p.Imports {
			if ours, is := strings.CutPrefix(i, module); is {
				assert.True(t, slices.ContainsFunc(allowed, func(a string) bool { return matches(a, ours) }),
					"%s must not import %s", name, ours)
			} else if name == "domain" || strings.HasPrefix(name, "domain/") {
				assert.True(t, standard(i) || slices.ContainsFunc(numeric, func(n string) bool { return strings.HasPrefix(i, n) }),
					"%s must not import %s: only the standard library and numeric libraries", name, i)
			}
		}
	}
}

func allowedFor(name string) ([]string, bool) {
	for pattern, allowed := range mayImport {
		if matches(pattern, name) {
			return allowed, true
		}
	}
	return nil, false
}

// matches tells whether a name is the pattern, or lies below a pattern that ends in "...".
func matches(pattern, name string) bool {
	if root, all := strings.CutSuffix(pattern, "..."); all {
		return strings.HasPrefix(name+"/", root)
	}
	return pattern == name
}

// standard tells whether a path is of the standard library: its first part has no dot.
func standard(path string) bool {
	first, _, _ := strings.Cut(path, "/")
	return !strings.Contains(first, ".")
}
