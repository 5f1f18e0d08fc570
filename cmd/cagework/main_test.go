package main

import (
	"bytes"
	"io"
	"os"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// asProgram makes the test program behave as cagework itself. So tests can start, signal and kill the program
// without a second build, and under the race detector when the tests are.
const asProgram = "CAGEWORK_TEST_AS_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		go func() {
			_, _ = io.Copy(io.Discard, os.Stdin) // it ends with the test that started it, however that ends
			os.Exit(3)
		}()
		main()
		os.Exit(0)
	}
	for _, setting := range os.Environ() {
		name, _, _ := strings.Cut(setting, "=")
		if name == "DATABASE_URL" || strings.HasPrefix(name, "CAGEWORK_") {
			_ = os.Unsetenv(name) // what is set outside must not steer a test
		}
	}
	os.Exit(m.Run())
}

// cagework runs a command in this process.
func cagework(t *testing.T, args ...string) (out, errOut string, err error) {
	t.Helper()
	var o, e text
	err = run(t.Context(), args, &o, &e)
	return o.String(), e.String(), err
}

// ok runs a command that must succeed, and gives what it printed.
func ok(t *testing.T, args ...string) string {
	t.Helper()
	out, errOut, err := cagework(t, args...)
	require.NoError(t, err, "%s%s", out, errOut)
	return out
}

// text collects what several goroutines write.
type text struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (x *text) Write(p []byte) (int, error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	return x.b.Write(p)
}

func (x *text) String() string {
	x.mu.Lock()
	defer x.mu.Unlock()
	return x.b.String()
}

// await waits for a pattern and gives its groups.
func (x *text) await(t *testing.T, pattern string) []string {
	t.Helper()
	compiled := regexp.MustCompile(pattern)
	var found []string
	require.Eventually(t, func() bool {
		found = compiled.FindStringSubmatch(x.String())
		return found != nil
	}, patience, 5*time.Millisecond, "%s never came; there is only:\n%s", pattern, lazily(x.String))
	return found[1:]
}

// lazily is asked for its text only when a test has failed.
type lazily func() string

func (l lazily) String() string { return l() }

// patience is long enough for the demo's load under the race detector on a busy machine; what takes longer hangs.
const patience = 2 * time.Minute
