package api

import (
	"bytes"
	"errors"
	"io"
	"net/http"
	"os"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi"
)

// bodySlice is how much of a body must have come in each Slow of a BodyReading, and the piece in which one is read at first.
const bodySlice = 4 << 10

// takeBody reads a body whole before the request takes a slot, a lock or a deadline: how long it takes is up to the client's
// line, and nobody else waits for it. What arrives too slowly, or is too large, ends here. See [BodyReading].
func (s *Server) takeBody(c *gin.Context) {
	if c.Request.ContentLength == 0 {
		c.Next()
		return
	}
	op, known := s.operations[c.Request.Method+" "+c.FullPath()]
	if !known { // no such path; what is sent to it stays unread
		hangUp(c)
		c.Next()
		return
	}
	in := s.bodies.enter(clientOf(c), http.NewResponseController(c.Writer))
	defer s.bodies.leave(in)
	if err := s.readBody(c, in, op); err != nil {
		hangUp(c)
		fail(c, err)
		return
	}
	c.Next()
}

// hangUp ends the connection after the answer: what the client still sends is not the next request. A little of it is
// awaited, so that the client gets to read the answer.
func hangUp(c *gin.Context) {
	c.Header("Connection", "close")
	_ = http.NewResponseController(c.Writer).SetReadDeadline(time.Now().Add(time.Second / 2)) // of a writer that has none: not needed
}

// readBody puts the body in memory, decoded, in the place of the connection.
func (s *Server) readBody(c *gin.Context, in *incoming, op openapi.Operation) error {
	r, limit := c.Request, s.bodyLimit(op)
	packed, err := isGzip(r.Header)
	if err != nil && len(op.Media) > 0 {
		c.Header("Accept-Encoding", "gzip") // RFC 9110 section 12.5.3: so that the client can tell it from a wrong media type
		return err
	}
	if r.ContentLength > limit {
		return tooLarge(limit)
	}
	raw, err := s.bodies.readWire(in, r.Body, limit, r.ContentLength)
	if err != nil {
		return err
	}
	if time.Since(in.began) > time.Second { // the server reckons with a body that comes at once
		_ = in.line.SetWriteDeadline(time.Now().Add(s.cfg.RequestTimeout + 30*time.Second)) // as above
	}
	if len(op.Media) == 0 { // it takes none, and what was sent means nothing (RFC 9110 section 9.3.1)
		raw = nil
	} else if packed {
		if raw, err = s.bodies.unpack(in, raw, limit); err != nil {
			return err
		}
		r.Header.Del("Content-Encoding")
	}
	r.Body, r.ContentLength = io.NopCloser(bytes.NewReader(raw)), int64(len(raw))
	return nil
}

// bodyLimit gives how large an operation's body may be: what the contract says, and no more than the service is set to.
func (s *Server) bodyLimit(op openapi.Operation) int64 { return min(op.BodyLimit, s.cfg.BodyLimit) }

// isGzip reads the content codings of a body: none or gzip.
func isGzip(h http.Header) (bool, error) {
	switch strings.ToLower(strings.TrimSpace(strings.Join(h.Values("Content-Encoding"), ","))) {
	case "", "identity":
		return false, nil
	case "gzip", "x-gzip": // RFC 9110 section 8.4.1.3
		return true, nil
	}
	return false, domain.Errorf(domain.UnsupportedMedia, "Send the body as it is, or with Content-Encoding: gzip.")
}

// readWire reads what comes over the connection. Memory is taken as bytes arrive, not as they are announced.
func (b *bodies) readWire(in *incoming, r io.Reader, limit, announced int64) ([]byte, error) {
	most := limit + 1 // one more shows that it is too large
	if announced >= 0 {
		most = min(most, announced+1)
	}
	read := func(p []byte) (int, error) {
		if !b.await(in) {
			return 0, os.ErrDeadlineExceeded
		}
		n, err := r.Read(p)
		b.came(in, n)
		return n, err
	}
	raw, err := b.fill(in, read, most)
	switch {
	case err != nil && domain.CodeOf(err) != domain.Internal:
		return nil, err
	case err != nil:
		return nil, b.broken(in, err)
	case int64(len(raw)) > limit:
		return nil, tooLarge(limit)
	}
	return raw, b.done(in)
}

// fill reads to the end, or until it has so many bytes.
func (b *bodies) fill(in *incoming, read func([]byte) (int, error), most int64) ([]byte, error) {
	size := min(bodySlice, most)
	if err := b.hold(in, size); err != nil {
		return nil, err
	}
	buf := make([]byte, 0, size)
	for {
		n, err := read(buf[len(buf):cap(buf)])
		buf = buf[:len(buf)+n]
		switch {
		case errors.Is(err, io.EOF):
			return buf, nil
		case err != nil:
			return nil, err
		case int64(len(buf)) >= most:
			return buf, nil
		case len(buf) < cap(buf):
			continue
		}
		size := min(2*int64(cap(buf)), most)
		if err := b.hold(in, size-int64(cap(buf))); err != nil {
			return nil, err
		}
		buf = append(make([]byte, 0, size), buf...)
	}
}

// broken says why a body did not arrive. It is never the fault of what was sent: the same may be sent again.
func (b *bodies) broken(in *incoming, err error) error {
	if refused := b.done(in); refused != nil {
		return refused
	}
	e := domain.Errorf(domain.Incomplete, "The connection broke before the whole body had arrived. Send the same again.")
	if errors.Is(err, os.ErrDeadlineExceeded) {
		e.Message = "The body stopped coming, or came too slowly. Send the same again."
	}
	e.Cause = err
	return e
}
