package api_test

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"time"

	"cagework/openapi"
)

// attempt is one request as it goes over the wire: no client library has a say in it.
type attempt struct {
	op             openapi.Operation // what it was made from; its path or method may be another's
	method, target string
	header         [][2]string
	body           []byte
	frame          frame
	plain          bool // nothing about it is odd on purpose
}

// frame is how the end of a body is told.
type frame int

const (
	byLength frame = iota
	byChunks
	byNothing // no word of a body, though one follows
	tooLong   // a length that the body never reaches
	twice     // a length and chunks
)

// String shows the request, the token left out.
func (a attempt) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s %s %s (frame %d)", a.op.ID, a.method, a.target, a.frame)
	for _, h := range a.header {
		if h[0] != "Authorization" {
			fmt.Fprintf(&b, " | %s: %.200q", h[0], h[1])
		}
	}
	fmt.Fprintf(&b, " | %d bytes: %q", len(a.body), a.body[:min(len(a.body), 600)])
	return b.String()
}

func (a attempt) bytes(host string) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s %s HTTP/1.1\r\nHost: %s\r\n", a.method, a.target, host)
	for _, h := range a.header {
		fmt.Fprintf(&b, "%s: %s\r\n", h[0], h[1])
	}
	switch a.frame {
	case byLength:
		if len(a.body) > 0 || a.method != http.MethodGet {
			fmt.Fprintf(&b, "Content-Length: %d\r\n", len(a.body))
		}
	case tooLong:
		fmt.Fprintf(&b, "Content-Length: %d\r\n", len(a.body)+7)
	case twice:
		fmt.Fprintf(&b, "Content-Length: %d\r\nTransfer-Encoding: chunked\r\n", len(a.body))
	case byChunks:
		b.WriteString("Transfer-Encoding: chunked\r\n")
	case byNothing:
	}
	b.WriteString("\r\n")
	if a.frame == byChunks || a.frame == twice {
		for part := range partsOf(a.body, 4096) {
			fmt.Fprintf(&b, "%x\r\n%s\r\n", len(part), part)
		}
		b.WriteString("0\r\n\r\n")
	} else {
		b.Write(a.body)
	}
	return b.Bytes()
}

func partsOf(body []byte, size int) func(func([]byte) bool) {
	return func(yield func([]byte) bool) {
		for len(body) > 0 {
			n := min(size, len(body))
			if !yield(body[:n]) {
				return
			}
			body = body[n:]
		}
	}
}

// reply is an answer that was read to its end.
type reply struct {
	status int
	header http.Header
	body   []byte
	took   time.Duration
}

// wire is a connection that is used again while it may be.
type wire struct {
	address string
	conn    net.Conn
	reader  *bufio.Reader
}

func (w *wire) close() {
	if w.conn != nil {
		_ = w.conn.Close()
		w.conn = nil
	}
}

// send sends a request and reads its answer. The server may answer and hang up before it has read all of a request, so
// both go on at once.
func (w *wire) send(a attempt) (reply, error) {
	if w.conn == nil {
		conn, err := net.Dial("tcp", w.address) //nolint:noctx // the test's own server
		if err != nil {
			return reply{}, err
		}
		w.conn, w.reader = conn, bufio.NewReader(conn)
	}
	start := time.Now()
	if err := w.conn.SetDeadline(start.Add(time.Minute)); err != nil {
		return reply{}, err
	}
	conn, sent := w.conn, make(chan error, 1)
	go func() {
		_, err := conn.Write(a.bytes(w.address))
		if half, ok := conn.(*net.TCPConn); ok && err == nil && a.frame == tooLong {
			err = half.CloseWrite() // the rest never comes
		}
		sent <- err
	}()
	got, again, err := w.receive(a.method)
	got.took = time.Since(start)
	if err != nil || !again || a.frame >= byNothing {
		w.close()
	}
	if wrote := <-sent; wrote != nil {
		w.close()
	}
	return got, err
}

// receive reads the first answer that is final, and tells whether the connection may be used again.
func (w *wire) receive(method string) (reply, bool, error) {
	for {
		res, err := http.ReadResponse(w.reader, &http.Request{Method: method})
		if err != nil {
			return reply{}, false, err
		}
		if res.StatusCode < 200 {
			continue
		}
		body, err := io.ReadAll(res.Body)
		if err = errors.Join(err, res.Body.Close()); err != nil {
			return reply{}, false, err
		}
		return reply{status: res.StatusCode, header: res.Header, body: body}, !res.Close, nil
	}
}
