package postgres_test

import (
	"encoding/binary"
	"io"
	"net"
	"net/url"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// message is one message of a client to the server: its type, 0 for the first of a connection, and its content.
type message struct {
	kind byte
	body []byte
}

// fate is what a proxy does with a client's message.
type fate int

const (
	pass     fate = iota
	cut           // end the connection instead of passing the message on
	cutReply      // pass the message on, and end the connection instead of its reply
	swallow       // from here on nothing passes, either way, and nobody is told
)

// proxy stands between a pool and Postgres on the loopback and knows where messages begin and end.
type proxy struct {
	URL      string
	listener net.Listener
	target   string

	mu    sync.Mutex
	judge func(message) fate // nil passes everything on
	conns map[net.Conn]bool
	group sync.WaitGroup
}

func newProxy(t *testing.T, address string) *proxy {
	t.Helper()
	u, err := url.Parse(address)
	require.NoError(t, err)
	p := &proxy{target: u.Host, conns: map[net.Conn]bool{}}
	p.listener, err = new(net.ListenConfig).Listen(t.Context(), "tcp", "127.0.0.1:0")
	require.NoError(t, err)
	u.Host = p.listener.Addr().String()
	query := u.Query()
	query.Set("sslmode", "disable") // what is encrypted cannot be told apart
	u.RawQuery = query.Encode()
	p.URL = u.String()
	p.group.Go(p.accept)
	t.Cleanup(func() {
		_ = p.listener.Close()
		p.hangUp()
		p.group.Wait()
	})
	return p
}

// hangUp ends all connections: a pool that closes waits long for those that are swallowed.
func (p *proxy) hangUp() {
	p.mu.Lock()
	defer p.mu.Unlock()
	for c := range p.conns {
		_ = c.Close()
		delete(p.conns, c)
	}
}

// arm says what happens to messages from now on.
func (p *proxy) arm(judge func(message) fate) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.judge = judge
}

func (p *proxy) verdict(m message) fate {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.judge == nil {
		return pass
	}
	return p.judge(m)
}

func (p *proxy) keep(c net.Conn) net.Conn {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.conns[c] = true
	return c
}

func (p *proxy) accept() {
	for {
		client, err := p.listener.Accept()
		if err != nil {
			return
		}
		server, err := new(net.Dialer).Dial("tcp", p.target)
		if err != nil {
			_ = client.Close()
			continue
		}
		l := &link{proxy: p, client: p.keep(client), server: p.keep(server)}
		p.group.Go(l.forth)
		p.group.Go(l.back)
	}
}

// link is one connection through a proxy.
type link struct {
	*proxy
	client, server net.Conn

	mu    sync.Mutex
	fated fate
}

func (l *link) end() {
	_ = l.client.Close()
	_ = l.server.Close()
}

func (l *link) set(f fate) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.fated = f
}

func (l *link) is(f fate) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.fated == f
}

// forth carries the client's messages.
func (l *link) forth() {
	defer l.end()
	for first := true; ; first = false {
		m, raw, err := read(l.client, first)
		if err != nil {
			return
		}
		f := pass
		if !l.is(swallow) {
			f = l.verdict(m)
		}
		switch {
		case f == cut:
			return
		case f == swallow || l.is(swallow):
			l.set(swallow)
			continue
		case f == cutReply:
			l.set(cutReply)
			// The server holds replies back until a Sync: end the connection all the same.
			time.AfterFunc(20*time.Millisecond, l.end)
		}
		if _, err := l.server.Write(raw); err != nil {
			return
		}
	}
}

// read gives the next message and its bytes. The first of a connection has no type.
func read(from io.Reader, first bool) (message, []byte, error) {
	head := make([]byte, 5)
	if first {
		head = head[:4]
	}
	if _, err := io.ReadFull(from, head); err != nil {
		return message{}, nil, err
	}
	m := message{}
	if !first {
		m.kind = head[0]
	}
	m.body = make([]byte, binary.BigEndian.Uint32(head[len(head)-4:])-4)
	_, err := io.ReadFull(from, m.body)
	return m, slices.Concat(head, m.body), err
}

// back carries the server's bytes.
func (l *link) back() {
	defer l.end()
	buffer := make([]byte, 32<<10)
	for {
		n, err := l.server.Read(buffer)
		if err != nil || l.is(cutReply) {
			return
		}
		if l.is(swallow) {
			continue
		}
		if _, err := l.client.Write(buffer[:n]); err != nil {
			return
		}
	}
}
