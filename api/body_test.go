package api_test

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/api"
	"cagework/domain"
)

// line is a connection on which a request is sent piece by piece.
type line struct {
	t testing.TB
	net.Conn
	reader *bufio.Reader
}

func newLine(t testing.TB, address string) *line {
	t.Helper()
	conn, err := net.Dial("tcp", address) //nolint:noctx // the test's own server
	require.NoError(t, err)
	t.Cleanup(func() { _ = conn.Close() })
	require.NoError(t, conn.SetDeadline(time.Now().Add(time.Minute)))
	return &line{t, conn, bufio.NewReader(conn)}
}

func (l *line) send(text string) {
	l.t.Helper()
	_, err := io.WriteString(l.Conn, text)
	require.NoError(l.t, err)
}

// begin sends the head of a request and returns once the service has begun to read its body.
func (l *line) begin(s *service, method, path string, length int, more string) {
	l.t.Helper()
	media := "application/json"
	l.send(fmt.Sprintf("%s %s HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\nContent-Type: %s\r\nContent-Length: %d\r\n"+
		"Expect: 100-continue\r\n%s\r\n", method, path, s.director, media, length, more))
	status, err := l.reader.ReadString('\n')
	require.NoError(l.t, err)
	require.Equal(l.t, "HTTP/1.1 100 Continue\r\n", status)
	_, err = l.reader.ReadString('\n')
	require.NoError(l.t, err)
}

// answer reads the answer, and whether the connection ended with it.
func (l *line) answer() (res *http.Response, body []byte, closed bool) {
	l.t.Helper()
	res, err := http.ReadResponse(l.reader, nil)
	require.NoError(l.t, err)
	body, err = io.ReadAll(res.Body)
	require.NoError(l.t, err)
	require.NoError(l.t, res.Body.Close())
	if !res.Close {
		return res, body, false
	}
	_, err = l.reader.ReadByte()
	return res, body, err != nil
}

func (l *line) wantProblem(status int, code domain.Code) api.Problem {
	l.t.Helper()
	res, body, closed := l.answer() //nolint:bodyclose // it was read to its end and closed
	require.Equal(l.t, status, res.StatusCode, "%s", body)
	var p api.Problem
	require.NoError(l.t, json.Unmarshal(body, &p))
	require.Equal(l.t, api.ProblemType(code), p.Type)
	require.True(l.t, closed, "the connection ends: what would still come is not the next request")
	return p
}

// TestHangingBodiesShutNobodyOut: 300 connections announce a body and send 7 bytes of it, with no token. Others from the same
// address read and write meanwhile; those who hang are told that it took too long.
func TestHangingBodiesShutNobodyOut(t *testing.T) {
	t.Parallel()
	s := newService(t)
	at := listening(t, s.handler)
	hanging := make([]*line, 300)
	for i := range hanging {
		hanging[i] = newLine(t, at)
		stranger := *s
		stranger.director = "cw_nobody"
		hanging[i].begin(&stranger, http.MethodPost, "/v1/shots/batch", 100_000, "")
		hanging[i].send(`[{"id":`)
	}
	s.do(call{method: http.MethodGet, path: "/v1/me"}).want(http.StatusOK)
	s.do(call{method: http.MethodPut, path: goaliePath, body: goalieBody}).want(http.StatusCreated)
	for _, l := range hanging {
		l.wantProblem(http.StatusRequestTimeout, domain.Incomplete)
	}
}

// shots is a batch of so many shots on a game.
func shots(t testing.TB, game string, n int) string {
	t.Helper()
	items := make([]map[string]any, n)
	for i := range items {
		items[i] = map[string]any{"id": domain.NewID(time.Now()), "game_id": game, "outcome": "save", "film_ms": i}
	}
	text, err := json.Marshal(items)
	require.NoError(t, err)
	return string(text)
}

// TestASlowBodyGetsThrough, slower than a request may take, and than the server would wait for a whole request.
func TestASlowBodyGetsThrough(t *testing.T) {
	t.Parallel()
	s := newServiceWith(t, api.Config{RequestTimeout: time.Second})
	s.collegeSeason()
	game := s.game("game", "2014-02-08")
	server := httptest.NewUnstartedServer(s.handler)
	server.Config.ReadTimeout, server.Config.WriteTimeout = time.Second, 1500*time.Millisecond
	server.Start()
	t.Cleanup(server.Close)
	body := shots(t, game, 20)
	l := newLine(t, server.Listener.Addr().String())
	l.begin(s, http.MethodPost, "/v1/shots/batch", len(body), "")
	for piece := range slicesOf(body, len(body)/20) {
		time.Sleep(100 * time.Millisecond) // the line is slow
		l.send(piece)
	}
	res, answer, closed := l.answer() //nolint:bodyclose // it was read to its end and closed
	require.Equal(t, http.StatusMultiStatus, res.StatusCode, "%s", answer)
	require.Equal(t, 20, strings.Count(string(answer), `"created"`), "%s", answer)
	require.False(t, closed)
}

func slicesOf(text string, size int) func(func(string) bool) {
	return func(yield func(string) bool) {
		for len(text) > 0 {
			n := min(size, len(text))
			if !yield(text[:n]) {
				return
			}
			text = text[n:]
		}
	}
}

// TestABodyThatDoesNotArrive is never called malformed, so that whoever sent it keeps it.
func TestABodyThatDoesNotArrive(t *testing.T) {
	t.Parallel()
	s := newServiceWith(t, api.Config{Bodies: api.BodyReading{Pause: 300 * time.Millisecond, Slow: time.Second}})
	at := listening(t, s.handler)
	t.Run("it stops", func(t *testing.T) {
		t.Parallel()
		l := newLine(t, at)
		l.begin(s, http.MethodPut, goaliePath, 200, "")
		l.send(`{"name":`)
		require.Contains(t, l.wantProblem(http.StatusRequestTimeout, domain.Incomplete).Detail, "stopped coming")
	})
	t.Run("a byte at a time", func(t *testing.T) {
		t.Parallel()
		l := newLine(t, at)
		l.begin(s, http.MethodPut, goaliePath, 20_000, "")
		stop := make(chan struct{})
		go func() {
			for {
				select {
				case <-stop:
					return
				case <-time.After(20 * time.Millisecond):
					_, _ = l.Write([]byte(" "))
				}
			}
		}()
		l.wantProblem(http.StatusRequestTimeout, domain.Incomplete)
		close(stop)
	})
	t.Run("the line breaks", func(t *testing.T) {
		t.Parallel()
		l := newLine(t, at)
		l.begin(s, http.MethodPut, goaliePath, 200, "")
		l.send(`{"name":`)
		require.NoError(t, l.Conn.(*net.TCPConn).CloseWrite())
		require.Contains(t, l.wantProblem(http.StatusRequestTimeout, domain.Incomplete).Detail, "Send the same again")
	})
	t.Run("a chunk breaks off", func(t *testing.T) {
		t.Parallel()
		l := newLine(t, at)
		l.send("PUT " + goaliePath + " HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\n\r\n5\r\n{\"nam\r\n")
		require.NoError(t, l.Conn.(*net.TCPConn).CloseWrite())
		l.wantProblem(http.StatusRequestTimeout, domain.Incomplete)
	})
}

// TestEachOperationHasItsOwnSize: what is announced too large is refused before it is sent, and what turns out so as soon as it
// does.
func TestEachOperationHasItsOwnSize(t *testing.T) {
	t.Parallel()
	s := newService(t)
	at := listening(t, s.handler)
	for _, op := range operations(t) {
		if len(op.Media) == 0 {
			continue
		}
		t.Run(op.ID, func(t *testing.T) {
			t.Parallel()
			limit := int(min(op.BodyLimit, 1<<20))
			head := fmt.Sprintf("%s %s HTTP/1.1\r\nHost: x\r\n", op.Method, pathOf(op))
			l := newLine(t, at)
			l.send(head + "Expect: 100-continue\r\nContent-Length: " + strconv.Itoa(limit+1) + "\r\n\r\n")
			l.wantProblem(http.StatusRequestEntityTooLarge, domain.TooLarge)

			l = newLine(t, at)
			l.send(head + "Transfer-Encoding: chunked\r\n\r\n" + strconv.FormatInt(int64(limit)+2, 16) + "\r\n" + strings.Repeat(" ", limit+2))
			l.wantProblem(http.StatusRequestEntityTooLarge, domain.TooLarge)

			l = newLine(t, at)
			l.send(head + "Content-Length: " + strconv.Itoa(limit) + "\r\n\r\n" + strings.Repeat(" ", limit))
			res, _, closed := l.answer() //nolint:bodyclose // it was read to its end and closed
			require.Contains(t, []int{http.StatusUnauthorized, http.StatusUnsupportedMediaType}, res.StatusCode)
			require.False(t, closed)
		})
	}
}

// TestABodyThatIsNotAskedFor means nothing when it is small; when it is large or does not come, the answer does not wait for it
// longer than for others.
func TestABodyThatIsNotAskedFor(t *testing.T) {
	t.Parallel()
	s := newServiceWith(t, api.Config{Bodies: api.BodyReading{Pause: 300 * time.Millisecond}})
	at := listening(t, s.handler)
	l := newLine(t, at)
	for range 2 {
		l.send("GET /healthz HTTP/1.1\r\nHost: x\r\nContent-Length: 7\r\n\r\n{\"a\":1}")
		res, _, closed := l.answer() //nolint:bodyclose // it was read to its end and closed
		require.Equal(t, http.StatusOK, res.StatusCode)
		require.False(t, closed)
	}
	l.send("GET /healthz HTTP/1.1\r\nHost: x\r\nContent-Length: 4097\r\n\r\n")
	l.wantProblem(http.StatusRequestEntityTooLarge, domain.TooLarge)
	l = newLine(t, at)
	l.send("GET /readyz HTTP/1.1\r\nHost: x\r\nContent-Length: 7\r\n\r\n{")
	l.wantProblem(http.StatusRequestTimeout, domain.Incomplete)
	l = newLine(t, at)
	l.send("POST /v1/nothing HTTP/1.1\r\nHost: x\r\nContent-Length: 7\r\n\r\n{")
	l.wantProblem(http.StatusNotFound, domain.NotFound)
}

func zipped(t testing.TB, text []byte) []byte {
	t.Helper()
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	_, err := z.Write(text)
	require.NoError(t, err)
	require.NoError(t, z.Close())
	return out.Bytes()
}

// TestPackedBodies are taken, and no larger than others when they are unpacked.
func TestPackedBodies(t *testing.T) {
	t.Parallel()
	s := newService(t)
	put := func(body []byte, coding ...string) answer {
		return s.quietly(call{method: http.MethodPut, path: goaliePath, body: body, header: http.Header{"Content-Encoding": coding}})
	}
	good := zipped(t, bodyOf(t, goalieBody))
	put(good, "gzip").want(http.StatusCreated)
	put(good, "X-GZip").want(http.StatusOK)
	put(bodyOf(t, goalieBody), "identity").want(http.StatusOK)

	put(zipped(t, []byte(`{"name":"`+strings.Repeat("x", 64<<10)+`"}`)), "gzip").want(http.StatusRequestEntityTooLarge).
		wantProblem(domain.TooLarge, "")
	put(zipped(t, bytes.Repeat([]byte{' '}, 60<<20)), "gzip").want(http.StatusRequestEntityTooLarge) // 60 MB in 60 kB
	for name, broken := range map[string][]byte{
		"no gzip": bodyOf(t, goalieBody), "cut": good[:len(good)-9], "another sum": append(bytes.Clone(good[:len(good)-8]), make([]byte, 8)...),
		"more after it": append(bytes.Clone(good), 'x'),
	} {
		a := put(broken, "gzip").want(http.StatusBadRequest)
		a.wantProblem(domain.Malformed, "")
		require.Contains(t, string(a.body), "gzip", name)
	}
	for _, coding := range [][]string{{"br"}, {"deflate"}, {"gzip, gzip"}, {"gzip", "br"}, {"aes128gcm"}} {
		a := put(good, coding...).want(http.StatusUnsupportedMediaType)
		a.wantProblem(domain.UnsupportedMedia, "")
		require.Equal(t, "gzip", a.header.Get("Accept-Encoding"), coding)
	}
	other := s.quietly(call{method: http.MethodPut, path: goaliePath, body: good,
		header: http.Header{"Content-Encoding": {"gzip"}, "Content-Type": {"text/plain"}}})
	require.Empty(t, other.want(http.StatusUnsupportedMediaType).header.Get("Accept-Encoding"), "the coding was not what was wrong")
}

// quietly does a call without holding it to the contract, whose validator reads no packed bodies.
func (s *service) quietly(c call) answer {
	s.t.Helper()
	res, err := http.DefaultClient.Do(s.request(c))
	require.NoError(s.t, err)
	defer func() { _ = res.Body.Close() }()
	body, err := io.ReadAll(res.Body)
	require.NoError(s.t, err)
	return answer{s.t, res.StatusCode, res.Header, body}
}

// TestTooManyBodiesCutTheSlowest: who comes last is served, and one of those who hang is told to come back.
func TestTooManyBodiesCutTheSlowest(t *testing.T) {
	t.Parallel()
	s := newServiceWith(t, api.Config{Bodies: api.BodyReading{Pause: time.Minute, Slow: time.Minute, AtOnce: 8}})
	at := listening(t, s.handler)
	lines := make([]*line, 4) // half of all are one address's
	for i := range lines {
		lines[i] = newLine(t, at)
		lines[i].begin(s, http.MethodPut, goaliePath, 20_000, "")
	}
	for _, l := range lines[1:] {
		l.send(strings.Repeat(" ", 10_000))
	}
	require.Eventually(t, func() bool { // until those bytes have been read
		s.do(call{method: http.MethodPut, path: goaliePath, body: goalieBody})
		_ = lines[0].SetReadDeadline(time.Now().Add(50 * time.Millisecond))
		_, err := lines[0].reader.Peek(1)
		return err == nil
	}, 20*time.Second, time.Millisecond)
	require.NoError(t, lines[0].SetReadDeadline(time.Now().Add(time.Minute)))
	p := lines[0].wantProblem(http.StatusServiceUnavailable, domain.Unavailable)
	require.Equal(t, 1, p.RetryAfter)
}
