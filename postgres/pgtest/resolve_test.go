package pgtest_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"

	"cagework/postgres/local"
	"cagework/postgres/pgtest"

	"github.com/stretchr/testify/require"
)

func TestNoServerSaysWhatToDo(t *testing.T) {
	t.Parallel()
	absent := func(context.Context) (string, error) { return "", pgtest.ErrAbsent }
	err := pgtest.Resolve(t.Context(), map[string]func(context.Context) (string, error){
		"first": absent,
		"machine": func(context.Context) (string, error) {
			return "", fmt.Errorf("%w: %w", pgtest.ErrAbsent, local.ErrNoBinaries)
		},
	}, "first", "machine")
	for _, want := range []string{
		"never skipped",
		"set " + pgtest.Variable,
		"install PostgreSQL's server",
		"first: not available",
		local.ErrNoBinaries.Error(),
	} {
		require.ErrorContains(t, err, want)
	}
}

func TestABrokenSourceIsNotReplaced(t *testing.T) {
	t.Parallel()
	boom := errors.New("boom")
	sources := map[string]func(context.Context) (string, error){
		"broken":  func(context.Context) (string, error) { return "", boom },
		"closed":  func(context.Context) (string, error) { return "postgres://u:p@127.0.0.1:1/postgres", nil },
		"no url":  func(context.Context) (string, error) { return "host=127.0.0.1", nil },
		"weak":    func(context.Context) (string, error) { return pgtest.Empty(t).URL, nil },
		"unasked": func(context.Context) (string, error) { t.Error("asked"); return "", nil },
	}
	require.ErrorIs(t, pgtest.Resolve(t.Context(), sources, "broken", "unasked"), boom)
	require.ErrorContains(t, pgtest.Resolve(t.Context(), sources, "closed", "unasked"), "closed: ")
	require.ErrorContains(t, pgtest.Resolve(t.Context(), sources, "no url", "unasked"), "must be a URL")
	require.ErrorContains(t, pgtest.Resolve(t.Context(), sources, "weak", "unasked"), "must be a superuser")
}

// TestSharedServer runs most of this package's tests in several processes at once, as go test does with packages, on one
// server that the environment names.
func TestSharedServer(t *testing.T) {
	t.Parallel()
	server, err := local.Start(t.Context(), local.Options{Throwaway: true})
	require.NoError(t, err)
	defer func() { require.NoError(t, server.Stop(context.Background())) }()

	var group sync.WaitGroup
	outputs := make([]bytes.Buffer, 4)
	errs := make([]error, len(outputs))
	for i := range outputs {
		cmd := exec.Command(os.Args[0], "-test.run=^Test(New|Empty|TheLogin|Databases|AFailed|Many|ATemplate)", "-test.v")
		cmd.Env = append(os.Environ(), pgtest.Variable+"="+server.URL("postgres"), pgtest.FromVariable+"=")
		cmd.Stdout, cmd.Stderr = &outputs[i], &outputs[i]
		group.Go(func() { errs[i] = cmd.Run() })
	}
	group.Wait()
	for i := range outputs {
		require.NoError(t, errs[i], "%s", outputs[i].String())
		require.Contains(t, outputs[i].String(), "pgtest: "+pgtest.Variable+", PostgreSQL "+server.Version)
		require.Contains(t, outputs[i].String(), "--- PASS: TestManyAtOnce")
		require.NotContains(t, outputs[i].String(), "--- SKIP")
	}
	require.Empty(t, namesLike(t, server, "t\\_%"), "all databases are dropped")
	require.Empty(t, namesLike(t, server, "tmp\\_%"))
	require.Len(t, namesLike(t, server, "tpl\\_%"), 1)
}

func namesLike(t *testing.T, server *local.Server, pattern string) []string {
	t.Helper()
	return ask[[]string](t, server.URL("postgres"), "SELECT coalesce(array_agg(datname::text), '{}') FROM pg_database WHERE datname LIKE $1", pattern)
}

// TestMachineServerIsAnnounced runs one test in a process without the environment's server.
func TestMachineServerIsAnnounced(t *testing.T) {
	t.Parallel()
	output, _, err := run(t, pgtest.FromVariable+"=machine")
	require.NoError(t, err, output)
	found, err := local.Find()
	require.NoError(t, err)
	require.Equal(t, 1, strings.Count(output, "pgtest: machine binaries, PostgreSQL "+found.Version+"\n"), output)
}
