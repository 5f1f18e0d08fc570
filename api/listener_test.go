package api_test

import (
	"bufio"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/api"
)

// raw sends bytes as they are and gives the first answer, its body, and whether the connection was closed after it.
func raw(t *testing.T, address, text string) (*http.Response, []byte, bool) {
	t.Helper()
	conn, err := net.Dial("tcp", address) //nolint:noctx // the test's own server
	require.NoError(t, err)
	defer func() { _ = conn.Close() }()
	require.NoError(t, conn.SetDeadline(time.Now().Add(30*time.Second)))
	_, err = io.WriteString(conn, text)
	require.NoError(t, err)
	reader := bufio.NewReader(conn)
	res, err := http.ReadResponse(reader, nil)
	require.NoError(t, err)
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	require.NoError(t, res.Body.Close())
	if !res.Close {
		return res, body, false
	}
	_, err = reader.ReadByte()
	return res, body, err != nil
}

// listening serves the handler as the command does.
func listening(t *testing.T, h http.Handler) string {
	t.Helper()
	server := httptest.NewUnstartedServer(h)
	server.Listener = api.Listener(server.Listener)
	server.Config.MaxHeaderBytes = 16 << 10
	server.Start()
	t.Cleanup(server.Close)
	return server.Listener.Addr().String()
}

func TestWhatTheServerRefusesByItselfIsAProblemToo(t *testing.T) {
	t.Parallel()
	at := listening(t, newService(t).handler)
	for name, c := range map[string]struct {
		text   string
		status int
		says   string
	}{
		"no HTTP":          {"HELLO\r\n\r\n", 400, "not well-formed"},
		"no host":          {"GET /healthz HTTP/1.1\r\n\r\n", 400, "not well-formed"},
		"a bad header":     {"GET /healthz HTTP/1.1\r\nHost: x\r\nBad Header: 1\r\n\r\n", 400, "not well-formed"},
		"a bad length":     {"PUT /v1/program HTTP/1.1\r\nHost: x\r\nContent-Length: -1\r\n\r\n", 400, "not well-formed"},
		"two lengths":      {"PUT /v1/program HTTP/1.1\r\nHost: x\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\n", 400, "not well-formed"},
		"long headers":     {"GET /healthz HTTP/1.1\r\nHost: x\r\nX: " + strings.Repeat("a", 64<<10) + "\r\n\r\n", 431, "too long"},
		"an expectation":   {"POST /v1/shots/batch HTTP/1.1\r\nHost: x\r\nExpect: 200-maybe\r\nContent-Length: 2\r\n\r\n{}", 417, "100-continue"},
		"another coding":   {"POST /v1/shots/batch HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: rot13\r\n\r\n", 501, "chunked"},
		"another protocol": {"GET /healthz HTTP/3.0\r\nHost: x\r\n\r\n", 505, "HTTP/1.1"},
	} {
		res, body, closed := raw(t, at, c.text) //nolint:bodyclose // it was read to its end and closed
		require.Equal(t, c.status, res.StatusCode, name)
		require.Equal(t, "application/problem+json", res.Header.Get("Content-Type"), name)
		var p api.Problem
		require.NoError(t, json.Unmarshal(body, &p), "%s: %s", name, body)
		require.Equal(t, c.status, p.Status, name)
		require.Contains(t, p.Detail, c.says, name)
		require.Equal(t, p.RequestID, res.Header.Get("Request-Id"), name)
		require.True(t, closed, name)
	}
}

func TestWhatAHandlerAnswersPassesAsItIs(t *testing.T) {
	t.Parallel()
	at := listening(t, newService(t).handler)
	res, body, closed := raw(t, at, "GET /v1/nothing HTTP/1.1\r\nHost: x\r\nRequest-Id: mine\r\n\r\n") //nolint:bodyclose // it was read to its end and closed
	require.Equal(t, http.StatusNotFound, res.StatusCode)
	require.Equal(t, "mine", res.Header.Get("Request-Id"))
	require.Contains(t, string(body), `"instance":"/v1/nothing"`)
	require.False(t, closed)
}

// TestTwoLengthsEndTheConnection: whoever stands in front may read another end of such a request than the server does, and
// take what comes after for the next one (RFC 9112 section 6.1).
func TestTwoLengthsEndTheConnection(t *testing.T) {
	t.Parallel()
	at := listening(t, newService(t).handler)
	res, _, closed := raw(t, at, "POST /sign-out HTTP/1.1\r\nHost: x\r\nContent-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n"+ //nolint:bodyclose // it was read to its end and closed
		"GET /v1/me HTTP/1.1\r\nHost: x\r\n\r\n")
	require.NotEqual(t, 0, res.StatusCode)
	require.True(t, closed, "the connection ends with the answer")
}

func TestAnEscapedSlashIsNoPartOfAPath(t *testing.T) {
	t.Parallel()
	at := listening(t, newService(t).handler)
	for _, path := range []string{"/v1%2Fme", "/v1/goalies%2f0195c000-0000-7000-8000-000000000001", "/v1/goalies/a%5Cb", "/docs/assets/..%2f..%2fx"} {
		res, body, _ := raw(t, at, "GET "+path+" HTTP/1.1\r\nHost: x\r\n\r\n") //nolint:bodyclose // it was read to its end and closed
		require.Equal(t, http.StatusNotFound, res.StatusCode, path)
		require.Contains(t, string(body), "/problems/not-found", path)
	}
	res, _, _ := raw(t, at, "GET /%68ealthz HTTP/1.1\r\nHost: x\r\n\r\n") //nolint:bodyclose // it was read to its end and closed
	require.Equal(t, http.StatusOK, res.StatusCode, "other escapes mean the character that they stand for")
}
