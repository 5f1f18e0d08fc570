package api

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestWhereABrowserMayBeSent: pages of this service alone, whatever the disguise.
func TestWhereABrowserMayBeSent(t *testing.T) {
	t.Parallel()
	for _, good := range []string{
		"/v1/me", "/v1/program/weeks/2026-W15", "/v1/goalies/019ca6b1-dc00-7000-8000-000000000014/weeks/2026-W15",
		"/v1/goalies?limit=5&cursor=abc_-", "/v1/shots?week=2026-W15&x=%20", "/v1/me/",
	} {
		assert.Equal(t, good, localPath(good))
	}
	for _, bad := range []string{
		"", "/", "//elsewhere.example", "///elsewhere.example", `/\elsewhere.example`, `\\elsewhere.example`, `\/elsewhere.example`,
		"https://elsewhere.example", "https:elsewhere.example", "javascript:alert(1)", "data:text/html,x", "elsewhere.example",
		"v1/me", " /v1/me", "/v1/me ", "\t/v1/me", "/\t/elsewhere.example", "/\n/elsewhere.example", "/v1/me\r\nSet-Cookie: a=b",
		"/\x00/elsewhere.example", "/%2f/elsewhere.example", "/%2F%2Felsewhere.example", "/%5celsewhere.example", "/%09/elsewhere.example",
		"/%0d%0a", "/v1/../sign-in", "/./v1", "/..//elsewhere.example", "/.elsewhere", "/v1//me", "/v1/me?a=//b", "/v1/me?a=\\b",
		"/v1/me#fragment", "/v1/me?a#b", "/v1/mé", "/v1/me?é", "/\u2215elsewhere.example", "/\uff0felsewhere.example",
		"http:/v1/me", "?next=/v1/me", "/sign-in", "/sign-in?next=/v1/me", "/sign-out", "/v1/<script>", `/v1/"onmouseover`, "/v1/'",
		"/" + strings.Repeat("a", 1000),
	} {
		assert.Empty(t, localPath(bad), "%q", bad)
	}
}
