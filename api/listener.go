package api

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"strconv"
	"time"

	"cagework/domain"
)

// Listener makes what the HTTP server refuses by itself, before any handler sees it, a problem document too: a request that
// cannot be read, headers that are too long, an expectation or a transfer coding that it does not know. The server writes
// these answers straight to the connection, as plain text or with no body at all, and has no setting for them.
func Listener(l net.Listener) net.Listener { return listener{l} }

type listener struct{ net.Listener }

// Accept gives the next connection.
func (l listener) Accept() (net.Conn, error) {
	conn, err := l.Listener.Accept()
	if err != nil {
		return nil, err
	}
	return &plainConn{conn}, nil
}

// plainConn is a connection on which the server's own refusals are put into words of ours.
type plainConn struct{ net.Conn }

// Write sends an answer, or part of one. The server sends a refusal of its own in a single call.
func (c *plainConn) Write(p []byte) (int, error) {
	status, ours := refusedByServer(p)
	if !ours {
		return c.Conn.Write(p)
	}
	if _, err := c.Conn.Write(rawProblem(status)); err != nil {
		return 0, err
	}
	return len(p), nil
}

// CloseWrite tells the other side that nothing more comes; the server does so before it hangs up on a request that is still
// being sent.
func (c *plainConn) CloseWrite() error {
	if half, ok := c.Conn.(interface{ CloseWrite() error }); ok {
		return half.CloseWrite()
	}
	return nil
}

// refusedByServer tells an answer that net/http wrote by itself from a handler's, which always has a Request-Id.
func refusedByServer(p []byte) (status int, ours bool) {
	line, rest, found := bytes.Cut(p, []byte("\r\n"))
	if !found || !bytes.HasPrefix(line, []byte("HTTP/1.1 ")) || len(line) < len("HTTP/1.1 400") {
		return 0, false
	}
	status, err := strconv.Atoi(string(line[len("HTTP/1.1 "):len("HTTP/1.1 400")]))
	if err != nil || status < http.StatusBadRequest {
		return 0, false
	}
	head, _, found := bytes.Cut(rest, []byte("\r\n\r\n"))
	return status, found && !bytes.Contains(head, []byte("\r\nRequest-Id:")) && !bytes.HasPrefix(head, []byte("Request-Id:"))
}

// rawProblem is the whole answer. What cannot be read has no path, so the instance is the service itself.
func rawProblem(status int) []byte {
	code, detail := domain.Malformed, "The request is not well-formed HTTP."
	switch status {
	case http.StatusRequestHeaderFieldsTooLarge:
		detail = "The headers are too long."
	case http.StatusExpectationFailed:
		detail = "The only expectation that is met here is 100-continue."
	case http.StatusNotImplemented:
		detail = "The only transfer coding that is taken here is chunked."
	case http.StatusHTTPVersionNotSupported:
		detail = "Speak HTTP/1.1."
	}
	problem := Problem{
		Type: ProblemType(code), Title: kinds[code].title, Status: status, Detail: detail,
		Instance: "/", RequestID: domain.NewID(time.Now()).String(),
	}
	body, err := json.Marshal(problem)
	if err != nil { // a struct of strings always marshals
		body = []byte("{}")
	}
	return fmt.Appendf(nil, "HTTP/1.1 %d %s\r\nContent-Type: application/problem+json\r\nCache-Control: no-store\r\n"+
		"Request-Id: %s\r\nX-Content-Type-Options: nosniff\r\nContent-Length: %d\r\nConnection: close\r\n\r\n%s",
		status, http.StatusText(status), problem.RequestID, len(body), body)
}
