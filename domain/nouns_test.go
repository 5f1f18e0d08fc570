package domain_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// layers are the folders in which a noun has a file of its own name.
var layers = []string{"domain", "postgres", "api"}

// elsewhere says why a noun has no file of its own in a layer. What is not here must be there.
var elsewhere = map[string]map[string]string{
	"lesson": {"postgres": "it is worked out from its question alone: there is nothing to read"},
	"line":   {"domain": "it is worked out, not kept: domain/summary/line.go; its store's interface is beside the week's"},
}

func TestANounHasOneFileNameInEveryLayer(t *testing.T) {
	nouns := declaredNouns(t)
	require.Contains(t, nouns, "roster_spell")
	for _, noun := range nouns {
		file := strings.ReplaceAll(noun, "_", "") + ".go"
		for _, layer := range layers {
			_, err := os.Stat(filepath.Join("..", layer, file))
			if reason, excused := elsewhere[noun][layer]; excused {
				assert.Error(t, err, "%s has %s although %s", layer, file, reason)
			} else {
				assert.NoError(t, err, "the noun %s has no %s in %s", noun, file, layer)
			}
		}
	}
}

// declaredNouns reads the constants of type Noun.
func declaredNouns(t *testing.T) []string {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), "may.go", nil, 0)
	require.NoError(t, err)
	var nouns []string
	ast.Inspect(file, func(n ast.Node) bool {
		spec, is := n.(*ast.ValueSpec)
		if !is {
			return true
		}
		if kind, is := spec.Type.(*ast.Ident); is && kind.Name == "Noun" {
			for _, v := range spec.Values {
				noun, err := strconv.Unquote(v.(*ast.BasicLit).Value)
				require.NoError(t, err)
				nouns = append(nouns, noun)
			}
		}
		return true
	})
	return nouns
}
