package api

import (
	"math"
	"net/netip"
	"sync"
	"time"

	"github.com/hashicorp/golang-lru/v2/simplelru"
	"golang.org/x/time/rate"
)

// How many failed tries are let through from one address, and how much is remembered: some 2 MB at most, the oldest is
// forgotten first.
const (
	triesAtOnce  = 30              // a team's phones with old tokens behind one address
	tryAgainIn   = 2 * time.Second // one more after so long
	mostSources  = 8192
	mostSecrets  = 8192
	secretLength = 32
)

// throttle bounds how often secrets may be tried that turn out to be nobody's. What was good once passes whatever else comes
// from its address, so that one broken phone or a guesser in a club's network shuts nobody out who is in; and a secret that
// was refused once is counted by itself from then on, so that a page or phone that repeats it shuts nobody out who comes. It
// is a throttle of this process alone.
type throttle struct {
	mu      sync.Mutex
	sources *simplelru.LRU[source, *tries]
	good    *simplelru.LRU[[secretLength]byte, struct{}]
}

// source is where tries come from: an address, with what cannot be a secret counted apart, for it costs no look-up; or a
// secret that was refused before.
type source struct {
	address   netip.Prefix
	malformed bool
	secret    [secretLength]byte
}

type tries struct {
	limiter *rate.Limiter
	running int // let through and not yet known
	failed  int // since the source was last at rest
}

func newThrottle() *throttle {
	sources, errSources := simplelru.NewLRU[source, *tries](mostSources, nil)
	good, errGood := simplelru.NewLRU[[secretLength]byte, struct{}](mostSecrets, nil)
	if errSources != nil || errGood != nil {
		panic("the sizes are positive")
	}
	return &throttle{sources: sources, good: good}
}

// attempt is one try of a secret that was let through. It must be ended by passed, failed or gaveUp.
type attempt struct {
	*throttle
	secret [secretLength]byte
	from   source
	of     *tries // nil where the secret was good before
	at     time.Time
}

// refusal says that a try was not let through: how long to wait, and how many failed from where it came.
type refusal struct {
	wait   time.Duration
	failed int
}

// begin lets a try through, or refuses it. Where it comes from is asked only when it matters.
func (t *throttle) begin(now time.Time, secret [secretLength]byte, malformed bool, address func() netip.Prefix) (*attempt, *refusal) {
	t.mu.Lock()
	defer t.mu.Unlock()
	a := &attempt{throttle: t, secret: secret, at: now, from: source{secret: secret}}
	if _, ok := t.good.Get(secret); ok {
		return a, nil
	}
	if _, ok := t.sources.Get(a.from); !ok {
		a.from = source{address: address(), malformed: malformed}
	}
	a.of = t.triesOf(a.from)
	left := a.of.limiter.TokensAt(now)
	if left >= triesAtOnce {
		a.of.failed = 0
	}
	const nearly = 1e-6 // one, as floating point counts
	if left -= float64(a.of.running); left < 1-nearly {
		a.of.failed++
		return nil, &refusal{seconds((1 - left) * tryAgainIn.Seconds()), a.of.failed}
	}
	a.of.running++
	return a, nil
}

func (t *throttle) triesOf(from source) *tries {
	of, ok := t.sources.Get(from)
	if !ok {
		of = &tries{limiter: rate.NewLimiter(rate.Every(tryAgainIn), triesAtOnce)}
		t.sources.Add(from, of)
	}
	return of
}

// know remembers a secret that was just given out.
func (t *throttle) know(secret [secretLength]byte) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.good.Add(secret, struct{}{})
}

// passed remembers a good secret; its try does not count.
func (a *attempt) passed() {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.good.Add(a.secret, struct{}{})
	a.end()
}

// gaveUp does not count the try: nobody knows whether the secret is good.
func (a *attempt) gaveUp() {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.end()
}

func (a *attempt) end() {
	if a.of != nil {
		a.of.running--
	}
}

// failed counts the try, and gives how many failed from where it came.
func (a *attempt) failed() int {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.end()
	a.good.Remove(a.secret)
	if !a.from.malformed {
		alone := a.triesOf(source{secret: a.secret}) // it counts by itself from now on
		if a.of == nil {                             // it was good: it has ended
			a.of = alone
		}
	}
	a.of.limiter.ReserveN(a.at, 1) // taken even where it is a hair less than one
	a.of.failed++
	return a.of.failed
}

// seconds rounds a wait up to whole seconds, as Retry-After has them.
func seconds(wait float64) time.Duration { return time.Duration(math.Ceil(wait-1e-3)) * time.Second }

// worthALine thins out what is logged of one source: the 1st failure, the 2nd, the 4th, the 8th and so on.
func worthALine(n int) bool { return n&(n-1) == 0 }
