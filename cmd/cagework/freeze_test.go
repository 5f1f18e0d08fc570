//go:build linux

package main

import (
	"fmt"
	"net/http"
	"os"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// freeze stops the process where it is, and returns when it stands still.
func (p *process) freeze() {
	p.t.Helper()
	p.signal(syscall.SIGSTOP)
	require.Eventually(p.t, func() bool {
		state, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", p.cmd.Process.Pid))
		_, after, found := strings.Cut(string(state), ") ")
		return err == nil && found && strings.HasPrefix(after, "T")
	}, patience, time.Millisecond)
}

// TestAFrozenInstanceFreesItsLocks stops an instance of the service while it holds the locks of a write: the row that it
// changes and the program's number, without which nobody writes. Another instance gets through within seconds.
func TestAFrozenInstanceFreesItsLocks(t *testing.T) {
	t.Parallel()
	h := holdARequest(t) // waits for the goalie
	other := serve(t, h.databaseURL)
	h.process.freeze()
	require.NoError(t, h.lock.Rollback(t.Context())) // the server grants the frozen one its lock
	began := time.Now()
	require.Eventually(t, func() bool {
		status, err := patchGoalie(t.Context(), other.address, h.token, "Rowan Tully the younger")
		return err == nil && status == http.StatusOK
	}, patience, 20*time.Millisecond)
	require.Less(t, time.Since(began), 12*time.Second, "it waited for the frozen instance")

	h.signal(syscall.SIGCONT)
	last := "the younger"
	if answer := <-h.answer; answer == http.StatusOK {
		last = "the elder" // it found its transaction gone, and did it again
	} else {
		require.Contains(t, []int{http.StatusServiceUnavailable, http.StatusGatewayTimeout}, answer)
	}
	goalie := get(t, "http://"+other.address+"/v1/goalies/"+theGoalie(), h.token, "application/json").want(http.StatusOK)
	require.Contains(t, goalie, last, "what was answered is there, and what was not is not")
	status, err := patchGoalie(t.Context(), h.address, h.token, "Rowan Tully the elder")
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, status, "it works again")
}
