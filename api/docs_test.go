package api_test

import (
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestTheReferencePageRunsItsOwnScriptOnly(t *testing.T) {
	t.Parallel()
	s := newService(t)
	a := s.do(call{method: http.MethodGet, path: "/docs", token: "-"}).want(http.StatusOK)
	policy := a.header.Get("Content-Security-Policy")
	require.Contains(t, policy, "default-src 'none'; script-src 'self' 'sha256-")
	require.NotContains(t, regexp.MustCompile(`script-src[^;]*`).FindString(policy), "unsafe")
	require.Contains(t, policy, "frame-ancestors 'none'")
	inline := strings.Count(string(a.body), "<script>")
	require.Positive(t, inline)
	require.Equal(t, inline, strings.Count(policy, "'sha256-"), "each script in the page is told by its sum")
	require.Empty(t, regexp.MustCompile(`\son\w+="`).FindAllString(string(a.body), -1), "no script hides in an attribute")
}
