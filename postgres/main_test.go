package postgres_test

import (
	"flag"
	"testing"
	"time"

	"go.uber.org/goleak"
)

// TestMain makes the machine's own zone one that is far from UTC, so that no test passes only because the two are
// the same; and it keeps the random tests short: -rapid.checks=1000 makes them long.
func TestMain(m *testing.M) {
	time.Local = time.FixedZone("far away", -(9*60+30)*60)
	for name, value := range map[string]string{"rapid.checks": "40", "rapid.nofailfile": "true"} {
		if err := flag.Set(name, value); err != nil {
			panic(err)
		}
	}
	goleak.VerifyTestMain(m)
}
