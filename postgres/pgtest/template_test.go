package pgtest_test

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"cagework/postgres/pgtest"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

func TestManyAtOnce(t *testing.T) {
	t.Parallel()
	var (
		group sync.WaitGroup
		names sync.Map
	)
	for range 8 {
		group.Go(func() {
			db := pgtest.New(t)
			_, twice := names.LoadOrStore(db.Name, true)
			if twice {
				t.Error("one name twice")
			}
			if ask[int](t, db.URL, "SELECT 1") != 1 {
				t.Error("no answer")
			}
		})
	}
	group.Wait()
}

func TestATemplateIsMadeOnce(t *testing.T) {
	t.Parallel()
	hash := strings.ToLower(rand.Text())
	var runs atomic.Int32
	boom := errors.New("boom")
	migrate := func(ctx context.Context, address string) error {
		if runs.Add(1) == 1 {
			return boom
		}
		conn, err := pgx.Connect(ctx, address)
		if err != nil {
			return err
		}
		defer conn.Close(ctx)
		_, err = conn.Exec(ctx, "CREATE TABLE made ()")
		return err
	}
	_, err := pgtest.MakeTemplate(t.Context(), hash, migrate)
	require.ErrorIs(t, err, boom, "a failed migration makes no template")

	var group sync.WaitGroup
	for range 8 {
		group.Go(func() {
			name, err := pgtest.MakeTemplate(t.Context(), hash, migrate)
			if err != nil || name != "tpl_"+hash[:16] {
				t.Errorf("%q, %v", name, err)
			}
		})
	}
	group.Wait()
	require.EqualValues(t, 2, runs.Load())

	outside := pgtest.Empty(t)
	require.Zero(t, ask[int](t, outside.AdminURL, "SELECT count(*) FROM pg_database WHERE datname = $1", "tmp_"+hash[:16]))
	conn := connect(t, outside.AdminURL)
	for _, statement := range []string{"ALTER DATABASE %q IS_TEMPLATE false", "DROP DATABASE %q"} {
		_, err := conn.Exec(t.Context(), fmt.Sprintf(statement, "tpl_"+hash[:16]))
		require.NoError(t, err)
	}
}

func BenchmarkNew(b *testing.B) {
	pgtest.New(b)
	for b.Loop() {
		pgtest.New(b)
	}
}
