package api_test

import (
	"cmp"
	"encoding/binary"
	"flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/api"
	"cagework/domain"
)

var (
	hostileRequests = flag.Int("hostile", 600, "how many requests of all kinds are sent")
	hostileSeed     = flag.Uint64("hostileseed", 1, "what they are made from; 0 takes the clock")
	hostileRound    = flag.Int("hostileround", -1, "send the requests of this round only, to see a fault again")
)

// TestHostileRequests sends every operation of the contract valid, boundary and hostile requests: odd paths, queries,
// headers, bodies, encodings and frames. Whatever comes, the answer is one that the contract lists for the operation, of its
// schema, before the deadline and never a fault of ours; and afterwards the service is alive and every program's history
// whole. For the long run:
//
//	go test ./api -run TestHostileRequests -hostile 100000 -hostileseed 0 -timeout 60m -v
//
// The seed and a fault's round say how to see it again.
func TestHostileRequests(t *testing.T) {
	if *hostileSeed == 0 {
		*hostileSeed = uint64(time.Now().UnixNano())
	}
	t.Logf("seed %d, %d requests", *hostileSeed, *hostileRequests)
	s := newServiceWith(t, api.Config{TrustedProxies: []string{"127.0.0.1"}})
	at := listening(t, s.handler)
	book := newHostileBook()
	rounds := make(chan int)
	var workers sync.WaitGroup
	for range 3 {
		workers.Go(func() {
			for n := range rounds {
				newRound(t, s, at, n).run(min(requestsARound, *hostileRequests-n*requestsARound), book)
			}
		})
	}
	for n := range (*hostileRequests + requestsARound - 1) / requestsARound {
		if *hostileRound < 0 || n == *hostileRound {
			rounds <- n
		}
	}
	close(rounds)
	workers.Wait()
	require.False(t, t.Failed(), "a round could not be played")
	book.report(t)
	s.requireAliveAndWhole()
}

// requestsARound is how many requests meet one program before it is left for a fresh one: what was removed or erased
// meanwhile is not there to be asked for any more.
const requestsARound = 300

// round is a program of its own with its records and members, and the requests that it gets. The same seed and number
// make the same requests in the same order.
type round struct {
	t      testing.TB
	n      int
	world  *world
	tokens []string          // of a member of each role, and of another program's director
	tags   map[string]string // the ETag that a path's record was last given with
	made   map[string]string // by noun: the id of the last record that was made
	make   *maker
	wire   *wire
}

func newRound(t testing.TB, s *service, address string, n int) *round {
	t.Helper()
	var seed domain.ID
	binary.BigEndian.PutUint64(seed[:], *hostileSeed)
	mine := *s // a copy, for the helpers put members into the service's own program
	mine.t = t
	program, director, err := s.stores.Programs.Create(t.Context(), domain.NameID(seed, fmt.Sprint("program ", n)),
		domain.ProgramFields{Name: "Harbor Hill Lacrosse", TimeZone: "America/New_York", Units: "yards"}, "Avery Quill")
	require.NoError(t, err)
	mine.program, mine.director = program.ID, s.newToken(program.ID, director.ID)
	w := &world{name: fmt.Sprint("round ", n), seed: program.ID}
	w.build(&mine, everything(mine.director))
	var team domain.ID
	require.NoError(t, team.UnmarshalText([]byte(idIn(w.put["team"]))))
	r := &round{t: t, n: n, world: w, tags: map[string]string{}, made: map[string]string{}, wire: &wire{address: address}}
	r.tokens = []string{mine.director, mine.newMember(domain.Coach, team), mine.newMember(domain.Recorder, team),
		mine.newMember(domain.Viewer), s.director}
	r.make = newMaker(t, r, rand.New(rand.NewPCG(*hostileSeed, uint64(n))))
	return r
}

// run sends requests and judges the answers.
func (r *round) run(requests int, book *hostileBook) {
	defer r.wire.close()
	ops := operations(r.t)
	for i := range requests {
		a := r.make.attempt(ops[(r.n*requestsARound+i)%len(ops)])
		got, err := r.wire.send(a)
		if err != nil {
			book.fault(r, a, "no answer", err.Error())
			continue
		}
		if tag := got.header.Get("ETag"); tag != "" {
			r.tags[a.target] = tag
		}
		if got.status == http.StatusCreated && a.method == http.MethodPut {
			r.made[a.op.Noun] = idIn(a.target)
		}
		book.enter(r, a, got)
	}
}

// hostileBook keeps what was seen.
type hostileBook struct {
	mu       sync.Mutex
	requests int
	statuses map[int]int
	well     map[string]int // by operation: how many were answered below 400
	faults   map[string][]string
	took     []time.Duration
	longest  time.Duration
	slowest  attempt
}

func newHostileBook() *hostileBook {
	return &hostileBook{statuses: map[int]int{}, well: map[string]int{}, faults: map[string][]string{}}
}

func (b *hostileBook) enter(r *round, a attempt, got reply) {
	what, said := judge(r.t, a, got)
	b.mu.Lock()
	b.requests++
	b.statuses[got.status]++
	if got.status < 400 && a.plain {
		b.well[a.op.ID]++
	}
	if got.took > b.longest {
		b.longest, b.slowest = got.took, a
	}
	b.took = append(b.took, got.took)
	b.mu.Unlock()
	if what != "" {
		b.fault(r, a, what, said)
	}
}

// fault notes a fault under what it is; the first few of each kind are shown whole.
func (b *hostileBook) fault(r *round, a attempt, what, said string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.faults[what] = append(b.faults[what], fmt.Sprintf("round %d: %s\n    %s", r.n, a, said))
}

func (b *hostileBook) report(t *testing.T) {
	t.Helper()
	slices.Sort(b.took)
	at := func(share float64) time.Duration { return b.took[int(share*float64(len(b.took)-1))] }
	t.Logf("%d requests, %d of them plain ones that went well; half within %s, 99 of 100 within %s, all within %s",
		b.requests, sum(b.well), at(.5), at(.99), at(1))
	t.Logf("the slowest: %s", b.slowest)
	for _, status := range slices.Sorted(maps.Keys(b.statuses)) {
		t.Logf("  %d: %d", status, b.statuses[status])
	}
	kinds := slices.SortedFunc(maps.Keys(b.faults), func(x, y string) int {
		return cmp.Compare(len(b.faults[y]), len(b.faults[x]))
	})
	for _, kind := range kinds {
		shown := b.faults[kind][:min(3, len(b.faults[kind]))]
		t.Errorf("%s (%d times)\n  %s", kind, len(b.faults[kind]), strings.Join(shown, "\n  "))
	}
	if b.requests < 20_000 {
		return
	}
	for _, op := range operations(t) { // else the run would have knocked on closed doors only
		require.Positive(t, b.well[op.ID], "no request of %s ever went well", op.ID)
	}
}

func sum(of map[string]int) int {
	total := 0
	for _, n := range of {
		total += n
	}
	return total
}
