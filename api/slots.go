package api

import (
	"net/http"
	"sync"
	"time"

	"github.com/gin-gonic/gin"

	"cagework/domain"
)

// use tells what a request does with its slot: a program's reads and writes are counted apart, so that whoever sends too
// much of one still gets the other.
type use int

const (
	reads use = iota
	writes
)

// slots counts the requests in flight: of all, and of each program. Nobody waits for a slot: what has none is turned away
// at once, for a queue without an end makes everybody late.
type slots struct {
	all  chan struct{}
	most [2]int // of one program, by use

	mu       sync.Mutex
	programs map[domain.ID]*[2]int
}

// newSlots divides so many slots: a program may hold a quarter of them with its reads and an eighth with its writes, each
// of which may wait for the others.
func newSlots(inFlight int) *slots {
	return &slots{
		all:      make(chan struct{}, inFlight),
		most:     [2]int{max(1, inFlight/4), max(1, inFlight/8)},
		programs: map[domain.ID]*[2]int{},
	}
}

// enter takes one of a program's slots, where one is left.
func (s *slots) enter(program domain.ID, as use) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	held := s.programs[program]
	if held == nil {
		held = &[2]int{}
		s.programs[program] = held
	}
	if held[as] >= s.most[as] {
		return false
	}
	held[as]++
	return true
}

// leave gives it back.
func (s *slots) leave(program domain.ID, as use) {
	s.mu.Lock()
	defer s.mu.Unlock()
	held := s.programs[program]
	if held[as]--; *held == [2]int{} {
		delete(s.programs, program)
	}
}

// inSlot runs the rest of a request in one of its program's slots. Who asks without a token has no program, and only the
// slots of all.
func (s *Server) inSlot(c *gin.Context) {
	a, known := c.Get(actorKey)
	if !known {
		c.Next()
		return
	}
	program, as := a.(domain.Actor).ProgramID, useOf(c)
	if !s.slots.enter(program, as) {
		fail(c, crowded([]domain.Shed{domain.ShedProgramReads, domain.ShedProgramWrites}[as],
			"Too many requests of this program are being answered; send the same again shortly."))
		return
	}
	defer s.slots.leave(program, as)
	c.Next()
}

// useOf goes by the method: the few questions that are asked with POST are as dear as writes.
func useOf(c *gin.Context) use {
	if c.Request.Method == http.MethodGet {
		return reads
	}
	return writes
}

// crowded turns a request away because of too many others.
func crowded(why domain.Shed, message string) error {
	return &domain.Error{Code: domain.Unavailable, Retry: time.Second, Cause: why, Message: message}
}
