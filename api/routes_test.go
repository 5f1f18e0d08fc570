package api

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/openapi"
)

// TestRoutesAreTheContracts: every operation has its route and every route its operation.
func TestRoutesAreTheContracts(t *testing.T) {
	t.Parallel()
	engine, err := (&Server{}).engine()
	require.NoError(t, err)
	served := map[string]bool{}
	for _, r := range engine.Routes() {
		if r.Path != docsAssets+"*asset" { // the script and style of the reference page
			served[r.Method+" "+r.Path] = true
		}
	}
	ops, err := openapi.Operations()
	require.NoError(t, err)
	for _, op := range ops {
		require.True(t, served[op.Method+" "+op.GinPath], "%s has no route", op.ID)
		delete(served, op.Method+" "+op.GinPath)
	}
	require.Empty(t, served, "routes that the contract does not have")
}

// TestProblemsAreToldAlike: the table of problems is the same here, in the contract and in the contributors' page.
func TestProblemsAreToldAlike(t *testing.T) {
	t.Parallel()
	page, err := os.ReadFile("../DEVELOPERS.md")
	require.NoError(t, err)
	for code, k := range kinds {
		row := fmt.Sprintf("| `%s` | %d |", code, k.status)
		for name, text := range map[string]string{"DEVELOPERS.md": string(page), "openapi.yaml": string(openapi.YAML)} {
			require.Positive(t, strings.Count(text, row), "%s lacks %s", name, row)
		}
	}
	require.Equal(t, len(kinds), strings.Count(string(page), "` | 4")+strings.Count(string(page), "` | 5"))
}
