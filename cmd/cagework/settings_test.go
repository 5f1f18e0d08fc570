package main

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/postgres/pgtest"
)

func TestBordersOfTheSettings(t *testing.T) {
	t.Parallel()
	// A good setting gets past the checks, as far as the port that is taken.
	taken := listen(t)
	base := []string{"serve", "--database-url=postgres://somebody@127.0.0.1:1/nowhere", "--address=" + taken}
	for _, c := range []struct {
		setting string
		good    bool
	}{
		{"--max-connections=1", false}, {"--max-connections=2", true},
		{"--max-connections=1000", true}, {"--max-connections=1001", false},
		{"--body-limit=1023", false}, {"--body-limit=1024", true}, {"--body-limit=many", false},
		{"--request-timeout=999ms", false}, {"--request-timeout=1s", true},
		{"--request-timeout=5m", true}, {"--request-timeout=5m1s", false}, {"--request-timeout=10", false},
		{"--in-flight=0", false}, {"--in-flight=1", true},
		{"--drain-delay=-1s", false}, {"--drain-delay=0s", true},
		{"--drain-delay=5m", true}, {"--drain-delay=5m1s", false},
		{"--trusted-proxies=somewhere", false}, {"--trusted-proxies=10.0.0.0/33", false},
		{"--trusted-proxies=127.0.0.1", true}, {"--trusted-proxies=10.0.0.0/8,::1", true},
		{"--secure-cookies=sometimes", false}, {"--secure-cookies=never", true}, {"--secure-cookies=always", true},
		{"--public-url=goalies.example.org", false}, {"--public-url=ftp://goalies.example.org", false},
		{"--public-url=https://goalies.example.org/x", false}, {"--public-url=https://a@goalies.example.org", false},
		{"--public-url=https://goalies.example.org", true}, {"--public-url=http://10.0.0.7:8080/", true},
		{"--log-level=loud", false}, {"--log-level=error", true},
	} {
		name, _, _ := strings.Cut(c.setting, "=")
		_, log, err := cagework(t, append(base[:len(base):len(base)], c.setting)...)
		if c.good {
			require.ErrorContains(t, err, "listen: ", c.setting)
		} else {
			require.ErrorContains(t, err, name, c.setting)
			require.Empty(t, log, "%s: nothing may start", c.setting)
		}
	}
}

func TestSettingsFromTheEnvironment(t *testing.T) {
	t.Setenv("DATABASE_URL", "postgres://somebody@127.0.0.1:1/nowhere")
	t.Setenv("CAGEWORK_IN_FLIGHT", "0")
	_, _, err := cagework(t, "serve")
	require.ErrorContains(t, err, "--in-flight")
	t.Setenv("CAGEWORK_IN_FLIGHT", "7")
	t.Setenv("CAGEWORK_ADDRESS", listen(t))
	_, log, err := cagework(t, "serve")
	require.ErrorContains(t, err, "listen: ")
	require.Contains(t, log, `"in_flight":7`)
	t.Setenv("DATABASE_URL", "nonsense")
	_, _, err = cagework(t, "serve")
	require.ErrorContains(t, err, "DATABASE_URL")
}

func TestPasswordsAreNeverPrinted(t *testing.T) {
	t.Parallel()
	const secret = "hushhush"
	taken := listen(t)
	for _, database := range []string{
		"postgres://somebody:" + secret + "@127.0.0.1:1/nowhere",
		"postgres://somebody:" + secret + "@127.0.0.1:1/nowhere?password=" + secret,
		"postgres://127.0.0.1:1/nowhere?user=somebody&password=" + secret,
		"postgres:///nowhere?host=127.0.0.1&port=1&user=somebody&password=" + secret,
		"postgres://somebody:" + secret + " and more@127.0.0.1:1/nowhere",
		"postgres://somebody:" + secret + "@127.0.0.1:port/nowhere",
		"postgres//somebody:" + secret + "@127.0.0.1:1/nowhere",
		"host=127.0.0.1 port=1 user=somebody password=" + secret + " dbname=nowhere",
		"host=127.0.0.1 port=1 user=somebody password = '" + secret + "' dbname=nowhere",
		"host=127.0.0.1 port=one user=somebody password = " + secret,
		secret,
	} {
		for _, command := range [][]string{
			{"serve", "--address=" + taken},
			{"backup", filepath.Join(t.TempDir(), "b")}, {"backup", "verify", "b"}, {"restore", "b", "--no-erasures"}, {"doctor"},
			{"migrate"}, {"migrate", "version"}, {"migrate", "down", "0"},
			{"program", "create", "--name=a", "--time-zone=UTC", "--director=b"},
			{"token", "create", "--program=" + demoProgramID.String(), "--member=" + domain.NameID(demoProgramID, "m").String()},
		} {
			out, log, err := cagework(t, append(command, "--database-url="+database)...)
			require.Error(t, err)
			require.NotContains(t, out+log+err.Error(), secret, "%v", command)
		}
	}
}

func TestTheSettingsAreLoggedWithoutThePassword(t *testing.T) {
	t.Parallel()
	d := pgtest.New(t)
	log := serve(t, d.URL).log.String()
	require.Contains(t, log, `"msg":"settings"`)
	require.Contains(t, log, d.Name)
	require.Contains(t, log, "cagework_login:xxxxx@")
	require.Equal(t, "(not shown)", redacted("host=127.0.0.1 user=somebody password=hushhush"))
	require.Equal(t, "postgres://somebody@127.0.0.1/x", redacted("postgres://somebody@127.0.0.1/x?password=hushhush"))
}
