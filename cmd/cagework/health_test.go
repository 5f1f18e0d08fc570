package main

import (
	"net"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/postgres/pgtest"
)

func TestHealth(t *testing.T) {
	t.Parallel()
	good := serve(t, pgtest.New(t).URL)
	require.Equal(t, "ready\n", ok(t, "health", "--address="+good.address))
	_, port, err := net.SplitHostPort(good.address)
	require.NoError(t, err)
	require.Equal(t, "ready\n", ok(t, "health", "--address=0.0.0.0:"+port), "as a container's serve is told to listen")

	unmigrated := serve(t, pgtest.Empty(t).URL)
	_, _, err = cagework(t, "health", "--address="+unmigrated.address)
	require.ErrorContains(t, err, "not ready: 503")
	require.ErrorContains(t, err, "was never migrated")

	_, _, err = cagework(t, "health", "--address=127.0.0.1:1")
	require.ErrorContains(t, err, "connection refused")
	_, _, err = cagework(t, "health", "--address=nowhere")
	require.ErrorContains(t, err, "--address")
}
