package main

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/jackc/pgx/v5"
	openapi_types "github.com/oapi-codegen/runtime/types"
	"github.com/stretchr/testify/require"

	"cagework/openapi/client"
	"cagework/postgres/pgtest"
)

const (
	writers       = 4
	shotsAWriter  = 60
	shotsToAnswer = 70 // the server is killed when so many are answered
)

// stream is what some writers send: each shot under an id that its writer made and keeps.
type stream struct {
	t        *testing.T
	answered atomic.Int64
	created  sync.Map // the ids whose creation was answered
}

// send has every writer put its shots in order. A writer stops at the first one that has no good answer.
func (s *stream) send(api *client.ClientWithResponses, each func()) error {
	var all sync.WaitGroup
	errs := make([]error, writers)
	for w := range writers {
		all.Go(func() {
			for n := 0; n < shotsAWriter && errs[w] == nil; n++ {
				errs[w] = s.put(api, fmt.Sprintf("writer %d, shot %d", w, n))
				each()
			}
		})
	}
	all.Wait()
	return errors.Join(errs...)
}

func (s *stream) put(api *client.ClientWithResponses, name string) error {
	var fields client.ShotFields
	if err := asClient(aTeam().Shots[0].Fields, &fields); err != nil {
		return err
	}
	res, err := api.PutShotWithResponse(context.WithoutCancel(s.t.Context()), openapi_types.UUID(demoID(name)), fields)
	if err := check(res, err); err != nil {
		return err
	}
	if _, before := s.created.Swap(name, true); before && res.StatusCode() != http.StatusOK {
		return fmt.Errorf("%s was answered before, yet a repeat says %s", name, res.Status())
	}
	s.answered.Add(1)
	return nil
}

func TestKilledInAStreamOfShots(t *testing.T) {
	t.Parallel()
	d := pgtest.New(t)
	program, _, token := newProgram(t, d.URL)
	s := &stream{t: t}

	first := startServing(t, d)
	api := apiAt(t, first.address, token)
	require.NoError(t, putTeam(t.Context(), api, true))
	var once sync.Once
	err := s.send(api, func() {
		if s.answered.Load() >= shotsToAnswer {
			once.Do(func() { _ = first.cmd.Process.Kill() })
		}
	})
	require.Error(t, err, "the server was killed while they wrote")
	<-first.gone

	second := startServing(t, d)
	require.NoError(t, s.send(apiAt(t, second.address, token), func() {}), "every shot is sent again")
	require.Len(t, shotsAt(t, "http://"+second.address, token), writers*shotsAWriter)
	requireDense(t, d, program, writers*shotsAWriter)
}

type servingProcess struct {
	*process
	address string
}

func startServing(t *testing.T, d *pgtest.Database) servingProcess {
	t.Helper()
	p := start(t, serveArgs(d.URL)...)
	r := running{log: &p.log}
	r.awaitListening(t)
	return servingProcess{p, r.address}
}

// requireDense checks that the program's changes are numbered without a gap, and that every shot has one creation.
func requireDense(t *testing.T, d *pgtest.Database, program string, shots int) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), d.AdminURL)
	require.NoError(t, err)
	defer func() { require.NoError(t, conn.Close(t.Context())) }()
	var changes, lowest, highest, last, creations, matched int
	require.NoError(t, conn.QueryRow(t.Context(), `
		SELECT
			count(*),
			min(c.rev),
			max(c.rev),
			(SELECT last_rev FROM programs WHERE id = $1),
			count(*) FILTER (WHERE c.noun = 'shot' AND c.op = 'create'),
			count(s.id)
		FROM changes c
		LEFT JOIN shots s ON s.program_id = c.program_id AND s.id = c.record_id AND s.rev = c.rev
		WHERE c.program_id = $1`, program).Scan(&changes, &lowest, &highest, &last, &creations, &matched))
	require.Equal(t, 1, lowest)
	require.Equal(t, last, highest)
	require.Equal(t, highest, changes, "there is a gap between the revs")
	require.Equal(t, shots, creations)
	require.Equal(t, shots, matched)
}
