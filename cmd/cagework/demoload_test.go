package main

import (
	"context"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// answerOf is an answer with a status.
type answerOf int

func (a answerOf) Status() string  { return http.StatusText(int(a)) }
func (a answerOf) StatusCode() int { return int(a) }
func (answerOf) GetBody() []byte   { return []byte("{}") }

// A service that is too busy is asked again; one that refuses is not.
func TestTheDemoAsksABusyServiceAgain(t *testing.T) {
	t.Parallel()
	for first, times := range map[int]int{
		http.StatusCreated: 1, http.StatusGatewayTimeout: 3, http.StatusServiceUnavailable: 3, http.StatusConflict: 1,
	} {
		asked := 0
		err := task{1, func(context.Context) error {
			if asked++; asked < 3 {
				return check(answerOf(first), nil)
			}
			return check(answerOf(http.StatusOK), nil)
		}}.patiently(t.Context())
		require.Equal(t, times, asked, "%d", first)
		require.Equal(t, first == http.StatusConflict, err != nil, "%d: %v", first, err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Millisecond)
	defer cancel()
	err := task{1, func(context.Context) error { return check(answerOf(http.StatusServiceUnavailable), nil) }}.patiently(ctx)
	require.ErrorContains(t, err, "Service Unavailable", "the reason, not that the time was over")
}
