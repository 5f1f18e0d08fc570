package journal_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/postgres/journal"
)

var (
	program = domain.NameID(domain.ID{}, "program")
	reader  = domain.Actor{ProgramID: program, MemberID: domain.NameID(program, "reader"), TokenID: domain.NameID(program, "token")}
	noon    = time.Date(2026, 4, 11, 12, 0, 0, 0, time.UTC)
)

func goalie(n int) domain.ID { return domain.NameID(program, fmt.Sprint("goalie ", n)) }

func read(n int) domain.Access {
	return domain.NewAccess(reader, noon.Add(time.Duration(n)*time.Second), domain.AccessRead, domain.NounWeek).On(domain.NounGoalie, goalie(n))
}

func board(n int) domain.Access {
	return domain.NewAccess(reader, noon.Add(time.Duration(n)*time.Second), domain.AccessRead, domain.NounWeek).On(domain.NounProgram, program).OnceAnHour()
}

// store is a database that may take no writes, and may hang.
type store struct {
	mu      sync.Mutex
	down    error
	hang    chan struct{} // nil to answer
	entries []domain.Access
	known   map[domain.ID]bool
	pruned  []time.Time
	refused int
	wrote   chan struct{}
}

func newStore() *store { return &store{known: map[domain.ID]bool{}, wrote: make(chan struct{}, 1000)} }

func (s *store) Write(ctx context.Context, program domain.ID, entries []domain.Access) error {
	s.mu.Lock()
	hang, down := s.hang, s.down
	s.mu.Unlock()
	if hang != nil {
		select {
		case <-hang:
		case <-ctx.Done():
			return domain.Errorf(domain.Timeout, "It took too long.")
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if down != nil {
		s.refused++
		return down
	}
	for _, e := range entries {
		if !s.known[e.ID] { // ON CONFLICT DO NOTHING
			s.known[e.ID] = true
			e.ProgramID = program
			s.entries = append(s.entries, e)
		}
	}
	s.wrote <- struct{}{}
	return nil
}

func (s *store) Prune(_ context.Context, _ domain.ID, before time.Time, _ bool) (int64, bool, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.pruned = append(s.pruned, before)
	return 0, false, nil
}

func (s *store) set(down error, hang chan struct{}) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.down, s.hang = down, hang
}

// has waits until the store holds so many entries, and gives them.
func (s *store) has(t *testing.T, n int) []domain.Access {
	t.Helper()
	limit := time.After(20 * time.Second)
	for {
		s.mu.Lock()
		got := append([]domain.Access{}, s.entries...)
		s.mu.Unlock()
		if len(got) >= n {
			require.Len(t, got, n)
			return got
		}
		select {
		case <-s.wrote:
		case <-limit:
			require.FailNow(t, "entries are missing", "%d of %d are there", len(got), n)
		}
	}
}

var down = domain.Errorf(domain.Unavailable, "The database does not answer at the moment.")

func start(t *testing.T, s *store, c journal.Config) *journal.Journal {
	t.Helper()
	c.Linger, c.Every = time.Millisecond, 5*time.Millisecond
	j, err := journal.Open(s, c)
	require.NoError(t, err)
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), time.Second)
		defer cancel()
		j.Close(ctx)
	})
	return j
}

// stopped makes a journal that sends nothing by itself.
func stopped(t *testing.T, s *store, c journal.Config) *journal.Journal {
	t.Helper()
	c.Linger, c.Every = time.Millisecond, time.Hour
	j, err := journal.Open(s, c)
	require.NoError(t, err)
	return j
}

// onDisk waits until the files of a directory hold so many lines.
func onDisk(t *testing.T, dir string, n int) {
	t.Helper()
	lines := 0
	require.Eventually(t, func() bool {
		lines = 0
		names, err := filepath.Glob(filepath.Join(dir, "*.jsonl"))
		require.NoError(t, err)
		for _, name := range names {
			text, err := os.ReadFile(name)
			if err == nil {
				lines += strings.Count(string(text), "\n")
			}
		}
		return lines >= n
	}, 20*time.Second, time.Millisecond)
	require.Equal(t, n, lines)
}

func TestEntriesAreWrittenOnceAndInOrder(t *testing.T) {
	t.Parallel()
	for _, dir := range []string{"", t.TempDir()} {
		s := newStore()
		j := start(t, s, journal.Config{Dir: dir, KeepDays: 400})
		for n := range 2500 {
			j.Note(read(n))
		}
		for n := range 50 {
			j.Note(board(n))
		}
		j.Note(board(3600))
		got := s.has(t, 2502)
		for n := range 2500 {
			require.Equal(t, goalie(n), *got[n].RecordID)
			require.Equal(t, program, got[n].ProgramID)
		}
		require.True(t, got[2500].Hourly())
		require.NotEqual(t, got[2500].ID, got[2501].ID, "another hour")
		require.EqualValues(t, 2551, j.Stat().Queued)
		require.Zero(t, j.Stat().Lost)
		require.Eventually(t, func() bool { return j.Stat().Waiting == 0 }, 20*time.Second, time.Millisecond)
		require.Eventually(t, func() bool { s.mu.Lock(); defer s.mu.Unlock(); return len(s.pruned) == 1 }, 20*time.Second, time.Millisecond,
			"old entries are removed once a day")
		j.Close(t.Context())
		if dir != "" {
			left, err := os.ReadDir(dir)
			require.NoError(t, err)
			require.Empty(t, left, "a journal with nothing in it leaves no trace")
		}
	}
}

// TestNothingIsLostWhileTheDatabaseTakesNoWrites: entries wait, and appear once, in order.
func TestNothingIsLostWhileTheDatabaseTakesNoWrites(t *testing.T) {
	t.Parallel()
	for _, dir := range []string{"", t.TempDir()} {
		s := newStore()
		s.set(down, nil)
		j := start(t, s, journal.Config{Dir: dir})
		for n := range 300 {
			j.Note(read(n))
		}
		require.Eventually(t, func() bool { return j.Stat().Waiting > 0 }, 20*time.Second, time.Millisecond)
		s.set(nil, nil)
		for n, e := range s.has(t, 300) {
			require.Equal(t, goalie(n), *e.RecordID)
		}
	}
}

// TestNoteNeverWaits: with the database hanging and the queue full, Note returns at once, and one entry says what is missing.
func TestNoteNeverWaits(t *testing.T) {
	t.Parallel()
	s := newStore()
	hang := make(chan struct{})
	s.set(nil, hang)
	j := start(t, s, journal.Config{MaxBytes: 100 * 512, Queue: 10})
	began := time.Now()
	const all = 20_000
	for n := range all {
		j.Note(read(n))
	}
	require.Less(t, time.Since(began), 5*time.Second)
	lost := j.Stat().Lost
	require.Positive(t, lost)
	s.set(nil, nil)
	close(hang)
	j.Close(t.Context())
	var missing, there int64
	for _, e := range s.entries {
		if e.Action == domain.AccessLost {
			missing += e.Lost.Count
			require.False(t, e.Lost.From.Before(noon))
			require.False(t, e.Lost.To.After(noon.Add(all*time.Second)))
			continue
		}
		there++
	}
	require.EqualValues(t, all, missing+there, "each entry is there or counted as missing")
}

// TestAKillLeavesWhatIsOnTheDisk: the next process writes it, once, half a line left out.
func TestAKillLeavesWhatIsOnTheDisk(t *testing.T) {
	t.Parallel()
	dir, s := t.TempDir(), newStore()
	s.set(down, nil)
	killed := stopped(t, s, journal.Config{Dir: dir})
	for n := range 40 {
		killed.Note(read(n))
	}
	onDisk(t, dir, 40)

	neighbour := start(t, s, journal.Config{Dir: dir})
	s.set(nil, nil)
	neighbour.Close(t.Context())
	onDisk(t, dir, 40) // it lives: nobody takes its files

	s.set(nil, nil)
	require.True(t, killed.Flush(t.Context()), "the database has the entries, and the process dies before it hears of it")
	s.has(t, 40)
	killed.Kill()
	s = newStore()
	names, err := filepath.Glob(filepath.Join(dir, "*.jsonl"))
	require.NoError(t, err)
	require.Empty(t, names)

	again := stopped(t, s, journal.Config{Dir: dir})
	for n := range 40 {
		again.Note(read(n))
	}
	onDisk(t, dir, 40)
	names, err = filepath.Glob(filepath.Join(dir, "*.jsonl"))
	require.NoError(t, err)
	file, err := os.OpenFile(names[0], os.O_APPEND|os.O_WRONLY, 0)
	require.NoError(t, err)
	_, err = file.WriteString(`{"program_id":"0195`)
	require.NoError(t, err)
	require.NoError(t, file.Close())
	again.Kill()

	after := start(t, s, journal.Config{Dir: dir})
	after.Note(read(40))
	for n, e := range s.has(t, 41) {
		require.Equal(t, goalie(n), *e.RecordID, "what was left comes first")
	}
	after.Close(t.Context())
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Empty(t, left)
}

// TestAFullJournalSaysWhatIsMissing, also when the process is killed before there is room to say it.
func TestAFullJournalSaysWhatIsMissing(t *testing.T) {
	t.Parallel()
	for _, kill := range []bool{false, true} {
		dir, s := t.TempDir(), newStore()
		s.set(down, nil)
		j := stopped(t, s, journal.Config{Dir: dir, MaxBytes: 4000})
		for n := range 100 {
			j.Note(read(n))
		}
		require.Eventually(t, func() bool {
			names, _ := filepath.Glob(filepath.Join(dir, "*-lost.jsonl"))
			text := []byte{}
			if len(names) == 1 {
				text, _ = os.ReadFile(names[0])
			}
			return j.Stat().Lost > 0 && strings.Contains(string(text), fmt.Sprintf(`"count":%d,`, j.Stat().Lost)) &&
				j.Stat().Lost+int64(kept(t, dir)) == 100
		}, 20*time.Second, time.Millisecond)
		lost := j.Stat().Lost
		require.LessOrEqual(t, j.Stat().Waiting, int64(4000))
		s.set(nil, nil)
		if kill {
			j.Kill()
			j = start(t, s, journal.Config{Dir: dir})
		} else {
			require.True(t, j.Flush(t.Context()))
		}
		j.Close(t.Context())
		got := s.has(t, 100-int(lost)+1)
		last := got[len(got)-1]
		require.Equal(t, domain.AccessLost, last.Action)
		require.Equal(t, domain.LostAccesses{Count: lost, From: noon.Add(time.Duration(100-lost) * time.Second), To: noon.Add(99 * time.Second)}, *last.Lost)
		left, err := os.ReadDir(dir)
		require.NoError(t, err)
		require.Empty(t, left)
	}
}

func kept(t *testing.T, dir string) int {
	t.Helper()
	n := 0
	names, err := filepath.Glob(filepath.Join(dir, "*[0-9].jsonl"))
	require.NoError(t, err)
	for _, name := range names {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		n += strings.Count(string(text), "\n")
	}
	return n
}

// TestADiskThatFails: entries wait in memory then.
func TestADiskThatFails(t *testing.T) {
	t.Parallel()
	dir, s := filepath.Join(t.TempDir(), "journal"), newStore()
	j := start(t, s, journal.Config{Dir: dir})
	require.NoError(t, os.RemoveAll(dir))
	j.Note(read(0))
	s.has(t, 1)
	require.Zero(t, j.Stat().Lost)
	_, err := journal.Open(s, journal.Config{Dir: "/dev/null/journal"})
	require.ErrorContains(t, err, "journal of accesses")
}

// TestEntriesOfARemovedProgramAreDropped: nobody is there who could ask, and the others' go on.
func TestEntriesOfARemovedProgramAreDropped(t *testing.T) {
	t.Parallel()
	s := newStore()
	s.set(domain.Errorf(domain.NotFound, "There is no such program any more."), nil)
	j := start(t, s, journal.Config{Dir: t.TempDir()})
	j.Note(read(0))
	require.Eventually(t, func() bool { s.mu.Lock(); defer s.mu.Unlock(); return s.refused > 0 && j.Stat().Waiting == 0 }, 20*time.Second, time.Millisecond)
	s.set(nil, nil)
	j.Note(read(1))
	require.Equal(t, goalie(1), *s.has(t, 1)[0].RecordID)
}
