package journal

import (
	"bytes"
	"encoding/json"
	"log/slog"
	"sync"

	"cagework/domain"
)

// mostInMemory bounds what waits without a directory, or when the disk fails.
const mostInMemory = 16 << 20

// shelf is where entries wait for the database, in their order: in files where there is a directory, else in memory.
type shelf struct {
	mu     sync.Mutex
	files  *files // nil without a directory
	memory []domain.Access
	room   int64 // bytes that memory may still take
	failed bool  // the disk did, and somebody was told
	log    *slog.Logger
}

// memoryOf is about what an entry takes in memory.
const memoryOf = 512

func openShelf(c Config) (*shelf, error) {
	s := &shelf{room: min(c.MaxBytes, mostInMemory), log: c.Log}
	if c.Dir == "" {
		return s, nil
	}
	var err error
	s.files, err = openFiles(c.Dir, c.MaxBytes)
	return s, err
}

// put lets entries wait and gives how many found room, the first ones.
func (s *shelf) put(entries []domain.Access) int {
	if len(entries) == 0 {
		return 0
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	kept := 0
	if s.files != nil {
		n, full, err := s.files.put(entries)
		kept = n
		if err == nil {
			s.failed = false
			if full {
				return kept
			}
		} else if !s.failed {
			s.failed = true
			s.log.Error("accesses wait in memory: their journal cannot be written", "reason", err.Error())
		}
	}
	for _, a := range entries[kept:] {
		if s.room < memoryOf {
			break
		}
		s.room -= memoryOf
		s.memory = append(s.memory, a)
		kept++
	}
	return kept
}

// next gives the entries that have waited longest; done forgets them, and is nil when none wait. Nothing else takes entries
// away meanwhile.
func (s *shelf) next() (entries []domain.Access, done func()) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.files != nil {
		text, err := s.files.oldest()
		switch {
		case err != nil:
			s.log.Error("a file of the journal of accesses cannot be read and is left where it is", "reason", err.Error())
			return nil, func() {}
		case text != nil:
			entries, damaged := decode(text)
			if damaged > 0 {
				s.log.Error("the journal of accesses has lines that cannot be read", "lines", damaged)
			}
			return entries, s.doneWithFile
		}
	}
	if len(s.memory) == 0 {
		return nil, nil
	}
	n := min(len(s.memory), batch)
	return s.memory[:n:n], func() { s.forget(n) }
}

func (s *shelf) doneWithFile() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.files.done(); err != nil {
		s.log.Error("the journal of accesses cannot be emptied", "reason", err.Error())
	}
}

func (s *shelf) forget(n int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.memory = s.memory[n:]
	s.room += int64(n) * memoryOf
	if len(s.memory) == 0 {
		s.memory = nil
	}
}

// adopt takes over what processes that are gone left in the directory.
func (s *shelf) adopt() {
	if s.files == nil {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.files.adopt(); err != nil {
		s.log.Error("what is left in the journal of accesses cannot be taken over", "reason", err.Error())
	}
}

// saveLosses keeps what is missing where a kill does not reach it.
func (s *shelf) saveLosses(missing []domain.Access) {
	if s.files == nil {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.files.saveLosses(missing); err != nil {
		s.log.Error("the journal of accesses cannot be written", "reason", err.Error())
	}
}

func (s *shelf) size() int64 {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := int64(len(s.memory)) * memoryOf
	if s.files != nil {
		n += s.files.total
	}
	return n
}

// close gives how many entries were left in memory.
func (s *shelf) close() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.files != nil {
		if err := s.files.close(); err != nil {
			s.log.Error("the journal of accesses cannot be closed", "reason", err.Error())
		}
	}
	return len(s.memory)
}

// line is an entry in a file.
type line struct {
	ProgramID domain.ID `json:"program_id"`
	domain.Access
}

func encode(a domain.Access) ([]byte, error) {
	text, err := json.Marshal(line{a.ProgramID, a})
	return append(text, '\n'), err
}

// decode gives the entries of a file. A line that a kill cut off is the last one and has no end; it was never kept.
func decode(text []byte) (entries []domain.Access, damaged int) {
	for one := range bytes.Lines(text) {
		if !bytes.HasSuffix(one, []byte("\n")) {
			break
		}
		var l line
		if err := json.Unmarshal(one, &l); err != nil || l.ID.IsZero() || l.ProgramID.IsZero() {
			damaged++
			continue
		}
		l.Access.ProgramID = l.ProgramID
		entries = append(entries, l.Access)
	}
	return entries, damaged
}
