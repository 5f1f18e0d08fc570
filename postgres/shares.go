package postgres

import (
	"context"
	"sync"
	"time"

	"golang.org/x/sync/semaphore"

	"cagework/domain"
)

// Shares divides the connections, so that who waits, above all for a lock, keeps nobody else from working. Whoever has to
// wait for a share waits without a connection, briefly, and is then told to come again.
type Shares struct {
	Work          int           // transactions at once; the connections that are left are for authentication and readiness
	Writes        int           // of these, how many may write, and so wait for each other
	ProgramReads  int           // reading transactions of one program
	ProgramWrites int           // writing transactions of one program: more would only wait for its next number
	Queue         time.Duration // how long a transaction waits for others of its own program
	Wait          time.Duration // and then for others'
	Connect       time.Duration // and then for a connection, a new one perhaps
}

// sharesOf divides so many connections. Of the usual 16, one program's reads and writes at their most leave 5, all
// programs' writes 7.
func sharesOf(conns int) Shares {
	work := max(1, conns-2)
	writes := max(1, work*2/3)
	return Shares{
		Work: work, Writes: writes, ProgramReads: max(1, work/2), ProgramWrites: max(1, min(4, writes/2)),
		Queue: 2 * time.Second, Wait: 500 * time.Millisecond, Connect: time.Second,
	}
}

// class tells what a transaction may do.
type class int

const (
	reading class = iota
	writing
)

// shares hands out the turns of [Shares].
type shares struct {
	Shares
	work, writes *semaphore.Weighted

	mu       sync.Mutex
	programs map[domain.ID]*programShare
}

// programShare is there as long as some transaction of the program is, so that programs at rest cost nothing.
type programShare struct {
	turns [2]*semaphore.Weighted // by class
	users int
}

func newShares(s Shares) *shares {
	return &shares{
		Shares: s, programs: map[domain.ID]*programShare{},
		work: semaphore.NewWeighted(int64(s.Work)), writes: semaphore.NewWeighted(int64(s.Writes)),
	}
}

// turn waits until the program may run one more transaction of the class. The caller calls done once at its end.
func (s *shares) turn(ctx context.Context, program domain.ID, as class) (done func(), err error) {
	own, leave := s.join(program)
	if err := take(ctx, own.turns[as], s.Queue, domain.ShedQueue); err != nil {
		leave()
		return nil, err
	}
	if as == writing {
		if err := take(ctx, s.writes, s.Wait, domain.ShedWrites); err != nil {
			own.turns[as].Release(1)
			leave()
			return nil, err
		}
	}
	giveBack := func() {
		if as == writing {
			s.writes.Release(1)
		}
		own.turns[as].Release(1)
		leave()
	}
	if err := take(ctx, s.work, s.Wait, domain.ShedWork); err != nil {
		giveBack()
		return nil, err
	}
	return func() {
		s.work.Release(1)
		giveBack()
	}, nil
}

// take waits for one of a kind, and no longer than the patience.
func take(ctx context.Context, of *semaphore.Weighted, patience time.Duration, why domain.Shed) error {
	if of.TryAcquire(1) {
		return nil
	}
	waiting, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	err := of.Acquire(waiting, 1)
	if err == nil || ctx.Err() != nil {
		return err
	}
	return shed(why)
}

// join gives the program's share, and what to call at the end.
func (s *shares) join(program domain.ID) (*programShare, func()) {
	s.mu.Lock()
	defer s.mu.Unlock()
	own := s.programs[program]
	if own == nil {
		own = &programShare{}
		own.turns[reading] = semaphore.NewWeighted(int64(s.ProgramReads))
		own.turns[writing] = semaphore.NewWeighted(int64(s.ProgramWrites))
		s.programs[program] = own
	}
	own.users++
	return own, func() {
		s.mu.Lock()
		defer s.mu.Unlock()
		if own.users--; own.users == 0 {
			delete(s.programs, program)
		}
	}
}

// shed turns a transaction away before anything was begun.
func shed(why domain.Shed) error {
	return &domain.Error{Code: domain.Unavailable, Retry: time.Second, Cause: why,
		Message: "The service is busy; send the same again shortly."}
}
