package api

import (
	"bytes"
	"compress/gzip"
	"net/http"
	"net/netip"
	"sync"
	"time"

	"github.com/gin-gonic/gin"

	"cagework/domain"
)

// BodyReading bounds how bodies are read before anybody knows whose they are. Zero values take the defaults.
//
// Nobody is turned away because others send bodies that never end: when there are too many, or they hold too much, one of
// those who hold the most is cut, the slowest of them, and is told to send the same again. One client address is given half
// of everything at most.
type BodyReading struct {
	Pause  time.Duration // how long nothing may come
	Slow   time.Duration // how long 4 KiB may take, which is the slowest line that gets through
	AtOnce int           // bodies that are being read
	Held   int64         // bytes of bodies in memory, of those that are being read and those that are being answered
}

// defaults for a line of 256 bytes a second.
func (r *BodyReading) defaults(bodyLimit int64) {
	if r.Pause == 0 {
		r.Pause = 5 * time.Second
	}
	if r.Slow == 0 {
		r.Slow = 16 * time.Second
	}
	if r.AtOnce == 0 {
		r.AtOnce = 1024
	}
	if r.Held == 0 {
		r.Held = max(64<<20, 16*bodyLimit)
	}
}

// bodies is what is known of all bodies at once.
type bodies struct {
	bounds BodyReading

	mu      sync.Mutex
	reading map[*incoming]struct{}
	held    int64
	clients map[netip.Prefix]*holding
}

// holding is what one client address has.
type holding struct {
	reading int
	held    int64
}

// incoming is one body. All but line and began is guarded by the mutex of its bodies.
type incoming struct {
	from  netip.Prefix
	line  *http.ResponseController
	began time.Time

	got   int64     // bytes that came
	mark  time.Time // when the last whole slice had come
	slice int64     // bytes since
	held  int64
	cut   bool // to make room for another
}

func newBodies(bounds BodyReading) *bodies {
	return &bodies{bounds: bounds, reading: map[*incoming]struct{}{}, clients: map[netip.Prefix]*holding{}}
}

// clientOf gives the address that a body comes from; of IPv6 the network that one customer has.
func clientOf(c *gin.Context) netip.Prefix {
	ip, err := netip.ParseAddr(c.ClientIP())
	if err != nil {
		return netip.Prefix{}
	}
	bits := 32
	if ip = ip.Unmap(); ip.Is6() {
		bits = 64
	}
	from, err := ip.WithZone("").Prefix(bits)
	if err != nil {
		return netip.Prefix{}
	}
	return from
}

// enter begins a body. Where there are too many, another one is cut.
func (b *bodies) enter(from netip.Prefix, line *http.ResponseController) *incoming {
	now := time.Now()
	in := &incoming{from: from, line: line, began: now, mark: now}
	b.mu.Lock()
	defer b.mu.Unlock()
	client := b.clients[from]
	if client == nil {
		client = &holding{}
		b.clients[from] = client
	}
	client.reading++
	b.reading[in] = struct{}{}
	if client.reading > max(1, b.bounds.AtOnce/2) {
		b.cutSlowest(in, &from, now)
	}
	if len(b.reading) > b.bounds.AtOnce {
		b.cutSlowest(in, b.crowdest(in, func(h *holding) int64 { return int64(h.reading) }), now)
	}
	return in
}

// crowdest gives the client who has the most of something, among those who have another body than this one to cut.
func (b *bodies) crowdest(but *incoming, of func(*holding) int64) *netip.Prefix {
	var found *netip.Prefix
	var most int64 = -1
	for in := range b.reading {
		if n := of(b.clients[in.from]); in != but && n > most {
			found, most = &in.from, n
		}
	}
	return found
}

// cutSlowest cuts one body of a client, if there is one but this: that which came slowest, counted as if every body began with
// a slice and a second, so that one that has only begun is spared.
func (b *bodies) cutSlowest(but *incoming, from *netip.Prefix, now time.Time) bool {
	var slowest *incoming
	var pace float64
	for in := range b.reading {
		if in == but || from == nil || in.from != *from {
			continue
		}
		if p := float64(in.got+bodySlice) / (now.Sub(in.began) + time.Second).Seconds(); slowest == nil || p < pace {
			slowest, pace = in, p
		}
	}
	if slowest == nil {
		return false
	}
	slowest.cut = true
	b.stopReading(slowest)
	b.give(slowest)
	_ = slowest.line.SetReadDeadline(now) // it sees the deadline or, where there is none, that it was cut when something comes
	return true
}

func (b *bodies) stopReading(in *incoming) {
	if _, there := b.reading[in]; there {
		delete(b.reading, in)
		b.clients[in.from].reading--
		b.tidy(in.from)
	}
}

// give takes back what a body holds.
func (b *bodies) give(in *incoming) {
	if client := b.clients[in.from]; client != nil {
		client.held -= in.held
		b.tidy(in.from)
	}
	b.held -= in.held
	in.held = 0
}

func (b *bodies) tidy(from netip.Prefix) {
	if client := b.clients[from]; client != nil && *client == (holding{}) {
		delete(b.clients, from)
	}
}

// hold takes memory for a body. Where there is none left, others that are still coming are cut; when that does not help, this
// one is turned away.
func (b *bodies) hold(in *incoming, n int64) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if in.cut {
		return crowdedOut()
	}
	client, now := b.clients[in.from], time.Now()
	for client.held+n > b.bounds.Held/2 {
		if !b.cutSlowest(in, &in.from, now) {
			return crowdedOut()
		}
	}
	for b.held+n > b.bounds.Held {
		if !b.cutSlowest(in, b.crowdest(in, func(h *holding) int64 { return h.held }), now) {
			return crowdedOut()
		}
	}
	in.held, client.held, b.held = in.held+n, client.held+n, b.held+n
	return nil
}

func crowdedOut() error {
	return crowded(domain.ShedBodies, "Too many bodies are being sent at once; send the same again shortly.")
}

// await lets a body come for as long as it may, and tells whether it still may.
func (b *bodies) await(in *incoming) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	if in.cut {
		return false
	}
	deadline := time.Now().Add(b.bounds.Pause)
	if slow := in.mark.Add(b.bounds.Slow); slow.Before(deadline) {
		deadline = slow
	}
	_ = in.line.SetReadDeadline(deadline) // a writer that knows no deadlines has its body at hand
	return true
}

// came counts what came.
func (b *bodies) came(in *incoming, n int) {
	b.mu.Lock()
	defer b.mu.Unlock()
	in.got += int64(n)
	if in.slice += int64(n); in.slice >= bodySlice {
		in.slice, in.mark = 0, time.Now()
	}
}

// done ends the reading of a body, which stays in memory until it leaves. It errs when the body was cut meanwhile.
func (b *bodies) done(in *incoming) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if in.cut {
		return crowdedOut()
	}
	b.stopReading(in)
	return nil
}

// leave forgets a body.
func (b *bodies) leave(in *incoming) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.stopReading(in)
	b.give(in)
}

var unpackers = sync.Pool{New: func() any { return new(gzip.Reader) }}

// unpack decodes a body. What it becomes is bounded as if it had been sent so, and no more than that is ever decoded.
func (b *bodies) unpack(in *incoming, raw []byte, limit int64) ([]byte, error) {
	z := unpackers.Get().(*gzip.Reader)
	defer unpackers.Put(z)
	err := z.Reset(bytes.NewReader(raw))
	var out []byte
	if err == nil {
		out, err = b.fill(in, z.Read, limit+1)
	}
	switch {
	case err != nil && domain.CodeOf(err) != domain.Internal:
		return nil, err
	case err != nil:
		return nil, &domain.Error{Code: domain.Malformed, Message: "The body is not well-formed gzip.", Cause: err}
	case int64(len(out)) > limit:
		return nil, tooLarge(limit)
	}
	return out, nil
}
