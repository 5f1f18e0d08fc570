package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"sync"
	"time"

	openapi_types "github.com/oapi-codegen/runtime/types"

	"cagework/cmd/cagework/invented"
	"cagework/domain"
	"cagework/openapi/client"
)

// loaders is how many requests the demo has under way at once.
const loaders = 8

// task writes some records through the API. It may be repeated.
type task struct {
	records int
	write   func(ctx context.Context) error
}

// loadDemo writes a program's records through the public API: what a record names before the record, and what does not
// hang on each other side by side. told hears how many of all records are written. It may be repeated.
func loadDemo(ctx context.Context, api *client.ClientWithResponses, p *invented.Program, told func(done, all int)) error {
	steps := demoSteps(api, p)
	done, all := 0, 0
	for _, step := range steps {
		for _, t := range step {
			all += t.records
		}
	}
	for _, step := range steps {
		err := sideBySide(ctx, step, func(t task) {
			done += t.records
			told(done, all)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// demoSteps sorts the records into steps, each of which stands on those before. The last record of all stands alone, so
// that with it there all are.
func demoSteps(api *client.ClientWithResponses, p *invented.Program) [][]task {
	last := max(0, len(p.Logs)-1)
	return [][]task{
		concat(
			puts(p.Seasons, api.PutSeasonWithResponse),
			puts(p.Competitions, api.PutCompetitionWithResponse),
			puts(p.Goalies, api.PutGoalieWithResponse),
		),
		puts(p.Teams, api.PutTeamWithResponse),
		concat(puts(p.Spells, api.PutRosterSpellWithResponse), puts(p.Games, api.PutGameWithResponse)),
		puts(p.Stints, api.PutStintWithResponse),
		batches(p.Shots, api),
		concat(
			puts(p.Readings, api.PutReadingWithResponse),
			puts(p.Clears, api.PutClearWithResponse),
		),
		// What is known when a block is given is kept with it: all that was charted before comes first.
		concat(
			puts(p.Assignments, api.PutAssignmentWithResponse),
			puts(p.Logs[:last], api.PutPracticeLogWithResponse),
		),
		puts(p.Logs[last:], api.PutPracticeLogWithResponse),
	}
}

func concat(parts ...[]task) []task {
	var out []task
	for _, p := range parts {
		out = append(out, p...)
	}
	return out
}

// answered is an answer of the generated client.
type answered interface {
	Status() string
	StatusCode() int
	GetBody() []byte
}

// puts gives a task for each record.
func puts[F, K, Body any, R answered](
	records []domain.Record[F, K],
	put func(context.Context, openapi_types.UUID, Body, ...client.RequestEditorFn) (R, error),
) []task {
	out := make([]task, len(records))
	for i, r := range records {
		out[i] = task{1, func(ctx context.Context) error {
			var body Body
			if err := asClient(r.Fields, &body); err != nil {
				return err
			}
			return check(put(ctx, openapi_types.UUID(r.ID), body))
		}}
	}
	return out
}

// batches gives a task for each batch of shots.
func batches(shots []domain.Shot, api *client.ClientWithResponses) []task {
	const size = 250 // half of the most, so that a second one is under way while the first is written
	var out []task
	for from := 0; from < len(shots); from += size {
		part := shots[from:min(from+size, len(shots))]
		out = append(out, task{len(part), func(ctx context.Context) error { return putBatch(ctx, api, part) }})
	}
	return out
}

func putBatch(ctx context.Context, api *client.ClientWithResponses, shots []domain.Shot) error {
	items := make([]domain.ShotItem, len(shots))
	for i, s := range shots {
		items[i] = domain.ShotItem{ID: s.ID, ShotFields: s.Fields}
	}
	var body client.ShotBatch
	if err := asClient(items, &body); err != nil {
		return err
	}
	r, err := api.PutShotsWithResponse(ctx, body)
	if err != nil {
		return err
	}
	if r.JSON207 == nil {
		return refused(r)
	}
	for _, item := range r.JSON207.Items {
		if item.Problem != nil {
			return fmt.Errorf("shot %v of a batch: %s: %+v", item.ID, item.Status, *item.Problem)
		}
	}
	return nil
}

// asClient turns fields of the domain into those of the generated client. They are the same JSON.
func asClient(fields, into any) error {
	data, err := json.Marshal(fields)
	if err != nil {
		return err
	}
	return json.Unmarshal(data, into)
}

// sideBySide runs tasks, a few at a time, until one fails. after hears of each that was done, one at a time.
func sideBySide(ctx context.Context, tasks []task, after func(task)) error {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	next := make(chan task)
	var all sync.WaitGroup
	var telling sync.Mutex
	for range loaders {
		all.Go(func() {
			for t := range next {
				if err := t.patiently(ctx); err != nil {
					cancel(err)
					continue
				}
				telling.Lock()
				after(t)
				telling.Unlock()
			}
		})
	}
	for _, t := range tasks {
		if ctx.Err() != nil {
			break
		}
		next <- t
	}
	close(next)
	all.Wait()
	return context.Cause(ctx)
}

// check turns an answer that is neither "created" nor "unchanged" into an error that shows the problem.
func check[R answered](r R, err error) error {
	if err != nil {
		return err
	}
	if code := r.StatusCode(); code != http.StatusOK && code != http.StatusCreated {
		return refused(r)
	}
	return nil
}

// notNow is an answer that asks to come again: the service was too busy, and nothing was written, or all of it.
type notNow struct{ error }

// refused is the error of an answer that is a problem.
func refused(r answered) error {
	err := errors.New(r.Status() + ": " + string(r.GetBody()))
	switch r.StatusCode() {
	case http.StatusTooManyRequests, http.StatusServiceUnavailable, http.StatusGatewayTimeout:
		return notNow{err}
	}
	return err
}

// patiently writes the task's records, and again when the service says that it has no time for them now. The ids in them
// make that safe.
func (t task) patiently(ctx context.Context) error {
	const most = 6
	pause := 250 * time.Millisecond
	for try := 1; ; try++ {
		err := t.write(ctx)
		if _, later := errors.AsType[notNow](err); !later || try == most {
			return err
		}
		select {
		case <-time.After(pause):
			pause *= 2
		case <-ctx.Done():
			return err
		}
	}
}
