package api_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/migrations"
)

// TestTheLowestSchemaServesEveryOperation takes the database back to the oldest schema that the program says it serves, and asks
// each operation for all that it can do. A program that needs what came later must raise migrations.Lowest.
func TestTheLowestSchemaServesEveryOperation(t *testing.T) {
	t.Parallel()
	s := newService(t)
	latest, err := migrations.Latest()
	require.NoError(t, err)
	if steps := int(latest) - int(migrations.Lowest); steps > 0 { // 0 would be all
		require.NoError(t, migrations.Down(t.Context(), s.adminURL, steps))
	}
	w := &world{name: "lowest", seed: s.program}
	w.build(s, everything(s.director))
	asked := 0
	for _, op := range operations(t) {
		if op.Method == http.MethodDelete {
			continue
		}
		for _, c := range successes(s, w, op) {
			a := s.do(c)
			require.Less(t, a.status, http.StatusInternalServerError, "%s: %s", op.ID, a.body)
			asked++
		}
	}
	require.Greater(t, asked, 50)
}
