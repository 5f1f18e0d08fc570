package api

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"testing"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

func reading(atOnce int, held int64) *bodies {
	return newBodies(BodyReading{Pause: time.Minute, Slow: time.Minute, AtOnce: atOnce, Held: held})
}

func (b *bodies) begin(client string) *incoming {
	return b.enter(netip.MustParsePrefix(client), http.NewResponseController(httptest.NewRecorder()))
}

// TestMemoryIsTakenAsBytesArrive, whatever is announced.
func TestMemoryIsTakenAsBytesArrive(t *testing.T) {
	t.Parallel()
	all := reading(1000, 1<<30)
	for range 500 {
		line, _ := io.Pipe() // it announces a megabyte and sends nothing
		t.Cleanup(func() { _ = line.Close() })
		go func() { _, _ = all.readWire(all.begin("192.0.2.1/32"), line, 1<<20, 1<<20) }()
	}
	require.Eventually(t, func() bool {
		all.mu.Lock()
		defer all.mu.Unlock()
		return len(all.reading) == 500 && all.held == 500*bodySlice
	}, 10*time.Second, time.Millisecond)
}

// TestABodyInPieces is the same however it is cut, and holds no more than twice itself.
func TestABodyInPieces(t *testing.T) {
	t.Parallel()
	sent := bytes.Repeat([]byte("piece "), 10_000)
	for _, announced := range []int64{-1, int64(len(sent))} {
		all := reading(10, 1<<20)
		in := all.begin("192.0.2.1/32")
		got, err := all.readWire(in, iotest.OneByteReader(bytes.NewReader(sent)), 1<<20, announced)
		require.NoError(t, err)
		require.True(t, bytes.Equal(sent, got))
		require.LessOrEqual(t, in.held, int64(2*len(sent)))
		all.leave(in)
		require.Zero(t, all.held)
		require.Empty(t, all.clients)
	}
}

// TestNoMoreIsHeldThanMayBe: who needs more than is left has others cut, of those who hold the most, and is turned away when
// nothing that is still coming is left to cut.
func TestNoMoreIsHeldThanMayBe(t *testing.T) {
	t.Parallel()
	all := reading(100, 100_000)
	var large []*incoming
	for range 4 {
		in := all.begin("192.0.2.1/32")
		require.NoError(t, all.hold(in, 12_000))
		large = append(large, in)
	}
	other := all.begin("2001:db8::/64")
	require.NoError(t, all.hold(other, 50_000))
	require.NoError(t, all.hold(all.begin("198.51.100.7/32"), 8_000), "room is made for the third client")
	cut := 0
	for _, in := range append(large, other) {
		if in.cut {
			cut++
			require.Equal(t, domain.Unavailable, domain.CodeOf(all.done(in)))
		}
	}
	require.Equal(t, 1, cut)
	require.True(t, other.cut, "it was of the client that held the most")
	require.LessOrEqual(t, all.held, int64(100_000))

	for _, in := range large {
		require.NoError(t, all.done(in)) // they have come, and are being answered
	}
	require.Equal(t, domain.Unavailable, domain.CodeOf(all.hold(large[0], 10_000)), "nothing of this client's is left to cut")
}

// TestAClientIsGivenHalf of all bodies that may be read at once; its own slowest goes first, and one that has only begun is spared.
func TestAClientIsGivenHalf(t *testing.T) {
	t.Parallel()
	all := reading(8, 1<<20)
	mine := make([]*incoming, 4)
	for i := range mine {
		mine[i] = all.begin("192.0.2.1/32")
		mine[i].began = time.Now().Add(-time.Minute)
		mine[i].got = int64(10_000 * (4 - i))
	}
	fresh := all.begin("192.0.2.1/32")
	require.False(t, fresh.cut)
	require.Equal(t, []bool{false, false, false, true}, []bool{mine[0].cut, mine[1].cut, mine[2].cut, mine[3].cut})
	for i := range 20 {
		require.False(t, all.begin(fmt.Sprintf("198.51.100.%d/32", i)).cut)
	}
	require.Len(t, all.reading, 8)
}

// FuzzPackedBody: however it was packed, no more than the limit comes of it, and no memory is held afterwards. What testdata/fuzz
// holds runs as a plain test.
func FuzzPackedBody(f *testing.F) {
	f.Fuzz(func(t *testing.T, raw []byte, pack bool) {
		const limit = 1000
		sent := raw
		if pack {
			sent = packed(t, raw)
		}
		all := reading(2, 1<<20)
		in := all.begin("192.0.2.1/32")
		out, err := all.unpack(in, sent, limit)
		switch {
		case err != nil:
			require.Contains(t, []domain.Code{domain.Malformed, domain.TooLarge}, domain.CodeOf(err))
			require.True(t, !pack || len(raw) > limit, "what was packed well is refused for its size only")
		case pack:
			require.True(t, bytes.Equal(raw, out))
		}
		require.LessOrEqual(t, len(out), limit)
		all.leave(in)
		require.Zero(t, all.held)
		require.Empty(t, all.clients)
	})
}

func packed(t *testing.T, text []byte) []byte {
	t.Helper()
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	_, err := z.Write(text)
	require.NoError(t, err)
	require.NoError(t, z.Close())
	return out.Bytes()
}
