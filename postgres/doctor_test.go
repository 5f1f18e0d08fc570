package postgres_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/postgres"
)

// TestClocks: what asking took is not held against the clocks.
func TestClocks(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		apart, took time.Duration
		state       postgres.State
	}{
		{0, time.Millisecond, postgres.Fine},
		{2 * time.Second, time.Millisecond, postgres.Fine},
		{3 * time.Second, time.Millisecond, postgres.Warning},
		{-3 * time.Second, time.Millisecond, postgres.Warning},
		{3 * time.Second, 4 * time.Second, postgres.Fine},
		{61 * time.Second, time.Second, postgres.Problem},
		{-61 * time.Second, time.Second, postgres.Problem},
	} {
		f, err := postgres.ClockFinding(c.apart, c.took)
		require.NoError(t, err)
		require.Equal(t, c.state, f.State, "%+v", c)
	}
}
