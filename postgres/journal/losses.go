package journal

import (
	"maps"
	"slices"
	"sync"

	"cagework/domain"
)

// losses counts the entries that found no room, of each program by itself, until an entry that says so has found some.
type losses struct {
	mu sync.Mutex
	of map[domain.ID]domain.Access
}

func (l *losses) add(a domain.Access) {
	n := domain.LostAccesses{Count: 1, From: a.At, To: a.At}
	if a.Lost != nil { // what says that entries are missing is missing itself
		n = *a.Lost
	}
	l.merge(domain.Access{
		ID: domain.NewID(a.At), At: n.To, ProgramID: a.ProgramID, Action: domain.AccessLost, Noun: domain.NounAccess, Lost: &n,
	})
}

// merge adds an entry to the one that is there, whose id stays: it may be in a file already.
func (l *losses) merge(a domain.Access) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.of == nil {
		l.of = map[domain.ID]domain.Access{}
	}
	if was, there := l.of[a.ProgramID]; there {
		n := domain.LostAccesses{Count: was.Lost.Count + a.Lost.Count, From: was.Lost.From, To: a.Lost.To}
		if a.Lost.From.Before(n.From) {
			n.From = a.Lost.From
		}
		if was.Lost.To.After(n.To) {
			n.To = was.Lost.To
		}
		was.At, was.Lost = n.To, &n
		a = was
	}
	l.of[a.ProgramID] = a
}

// take gives what is there and forgets it.
func (l *losses) take() []domain.Access {
	l.mu.Lock()
	defer l.mu.Unlock()
	taken := slices.Collect(maps.Values(l.of))
	clear(l.of)
	return taken
}

// giveBack takes back what was taken; what came meanwhile is added to it.
func (l *losses) giveBack(taken []domain.Access) {
	since := l.take()
	for _, a := range slices.Concat(taken, since) {
		l.merge(a)
	}
}

func (l *losses) entries() []domain.Access {
	l.mu.Lock()
	defer l.mu.Unlock()
	return slices.Collect(maps.Values(l.of))
}
