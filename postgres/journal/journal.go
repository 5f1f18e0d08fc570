// Package journal carries entries of who looked at what from whoever answers requests to the database, without a request
// ever waiting for it.
//
// An entry goes into a queue in memory. Within about 50 ms it stands in a file, synced to the disk, where a directory is
// set; from there it is written to the database, some seconds later at most while that takes writes, else when it does
// again. What is in the files survives the end of the process, whatever the end: the next process that opens the directory
// writes it. Each entry has its id from the start, so that it is written once however often it is sent. So a process that
// is killed loses at most what was noted in its last tenth of a second. Without a directory entries wait in memory only.
//
// All of it is bounded. What finds no room is counted, and one entry says how many are missing, and from when to when.
package journal

import (
	"context"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"cagework/domain"
)

// Store is what the journal needs of [domain.Accesses].
type Store interface {
	Write(ctx context.Context, program domain.ID, entries []domain.Access) error
	Prune(ctx context.Context, program domain.ID, before time.Time, dry bool) (removed int64, more bool, err error)
}

// Config says how much the journal keeps, and where. Zero values take the defaults.
type Config struct {
	Dir      string        // where entries wait; "" for memory only
	MaxBytes int64         // of what waits
	KeepDays int           // how long the database keeps entries; 0 for ever
	Queue    int           // entries on their way to the file
	Linger   time.Duration // how long an entry waits for others to share its write to the disk
	Every    time.Duration // how often the database is written to
	Log      *slog.Logger
	Now      func() time.Time
}

const (
	defaultMaxBytes = 64 << 20
	defaultQueue    = 8192
	defaultLinger   = 50 * time.Millisecond
	defaultEvery    = time.Second

	slowest   = 10 * time.Second // between tries while the database takes no writes, and for one try
	batch     = 1000             // entries of one statement, and of one write to the disk
	mostHours = 50_000           // entries of one hour that are known to have been noted; beyond, the database tells
)

// Journal is a [domain.AccessLog].
type Journal struct {
	cfg    Config
	store  Store
	shelf  *shelf
	losses losses

	queue   chan domain.Access
	room    chan struct{} // something was written, so that there may be room for what says that entries were lost
	closing chan struct{}
	closed  atomic.Bool
	ended   sync.WaitGroup
	last    context.Context // of the last try, once closing
	giveUp  context.CancelFunc

	hour   time.Time // of noted
	noted  map[domain.ID]bool
	pruned map[domain.ID]time.Time // when a program's old entries were last removed

	queued, written, lost atomic.Int64
}

var _ domain.AccessLog = (*Journal)(nil)

// Open starts a journal. Entries that an earlier process left in the directory are written first.
func Open(store Store, c Config) (*Journal, error) {
	c.MaxBytes, c.Queue = orElse(c.MaxBytes, defaultMaxBytes), orElse(c.Queue, defaultQueue)
	c.Linger, c.Every = orElse(c.Linger, defaultLinger), orElse(c.Every, defaultEvery)
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	if c.Now == nil {
		c.Now = time.Now
	}
	s, err := openShelf(c)
	if err != nil {
		return nil, err
	}
	j := &Journal{
		cfg: c, store: store, shelf: s, queue: make(chan domain.Access, c.Queue), room: make(chan struct{}, 1),
		closing: make(chan struct{}), noted: map[domain.ID]bool{}, pruned: map[domain.ID]time.Time{},
	}
	j.last, j.giveUp = context.WithCancel(context.Background())
	collected := make(chan struct{})
	j.ended.Go(func() {
		defer close(collected)
		j.collect()
	})
	j.ended.Go(func() { j.send(collected) })
	return j, nil
}

func orElse[T int | int64 | time.Duration](v, otherwise T) T {
	if v == 0 {
		return otherwise
	}
	return v
}

// Note takes an entry over. It never waits: an entry that finds the queue full is counted as lost.
func (j *Journal) Note(a domain.Access) {
	if j.closed.Load() {
		j.lose(a)
		return
	}
	select {
	case j.queue <- a:
		j.queued.Add(1)
	default:
		j.lose(a)
	}
}

func (j *Journal) lose(entries ...domain.Access) {
	for _, a := range entries {
		j.lost.Add(1)
		j.losses.add(a)
	}
}

// Stat is what became of the entries.
type Stat struct {
	Queued  int64 // taken over
	Written int64 // to the database, by this process
	Lost    int64
	Waiting int64 // bytes on the disk and in memory
}

// Stat gives the journal's figures.
func (j *Journal) Stat() Stat {
	return Stat{j.queued.Load(), j.written.Load(), j.lost.Load(), j.shelf.size()}
}

// Close takes no more entries, writes what is there until the context ends, and leaves the rest in the directory.
func (j *Journal) Close(ctx context.Context) {
	if j.closed.Swap(true) {
		return
	}
	stop := context.AfterFunc(ctx, j.giveUp)
	defer stop()
	close(j.closing)
	j.ended.Wait()
	j.giveUp()
	j.shelf.saveLosses(j.losses.entries())
	if left := j.shelf.close(); left > 0 {
		j.cfg.Log.Error("accesses lost: they waited in memory only, and the database took no writes", "entries", left)
	}
}

// collect carries entries from the queue to where they wait.
func (j *Journal) collect() {
	for {
		select {
		case a := <-j.queue:
			j.keep(j.gather(a))
		case <-j.room:
			j.keep(nil)
		case <-j.closing:
			for {
				select {
				case a := <-j.queue:
					j.keep([]domain.Access{a})
				default:
					return
				}
			}
		}
	}
}

// gather waits a little for entries that can share one write to the disk.
func (j *Journal) gather(first domain.Access) []domain.Access {
	entries := []domain.Access{first}
	timer := time.NewTimer(j.cfg.Linger)
	defer timer.Stop()
	for len(entries) < batch {
		select {
		case a := <-j.queue:
			entries = append(entries, a)
		case <-timer.C:
			return entries
		case <-j.closing:
			return entries
		}
	}
	return entries
}

// keep lets entries wait for the database; what finds no room is lost, and what says so follows as soon as there is some.
func (j *Journal) keep(entries []domain.Access) {
	entries = j.fresh(entries)
	kept := j.shelf.put(entries)
	j.lose(entries[kept:]...)
	for _, a := range entries[kept:] {
		delete(j.noted, a.ID)
	}
	missing := j.losses.take()
	if len(missing) == 0 {
		return
	}
	if kept == len(entries) {
		missing = missing[j.shelf.put(missing):]
	}
	j.losses.giveBack(missing)
	j.shelf.saveLosses(missing)
}

// fresh leaves out what was noted in this hour already.
func (j *Journal) fresh(entries []domain.Access) []domain.Access {
	out := entries[:0]
	for _, a := range entries {
		if a.Hourly() {
			if hour := a.At.Truncate(time.Hour); hour.After(j.hour) || len(j.noted) >= mostHours {
				j.hour = hour
				clear(j.noted)
			}
			if j.noted[a.ID] {
				continue
			}
			j.noted[a.ID] = true
		}
		out = append(out, a)
	}
	return out
}

// send writes what waits to the database, again and again.
func (j *Journal) send(collected <-chan struct{}) {
	wait := j.cfg.Every
	for {
		select {
		case <-time.After(wait):
			wait = min(2*wait, max(slowest, j.cfg.Every))
			if j.flush(j.last) {
				wait = j.cfg.Every
				j.prune(j.last)
			}
		case <-collected:
			if j.flush(j.last) { // now there is room to say what is missing, and nobody else who could
				j.keep(nil)
				j.flush(j.last)
			}
			return
		}
	}
}

// flush writes all that waits; it tells whether it could.
func (j *Journal) flush(ctx context.Context) bool {
	j.shelf.adopt()
	for {
		entries, done := j.shelf.next()
		if done == nil {
			return true
		}
		if !j.write(ctx, entries) {
			return false
		}
		done()
		select {
		case j.room <- struct{}{}:
		default:
		}
	}
}

// write writes entries, those of each program by themselves and in their order. What was written is written again with the
// rest when a part could not be; that changes nothing.
func (j *Journal) write(ctx context.Context, entries []domain.Access) bool {
	var programs []domain.ID
	of := map[domain.ID][]domain.Access{}
	for _, a := range entries {
		if of[a.ProgramID] == nil {
			programs = append(programs, a.ProgramID)
		}
		of[a.ProgramID] = append(of[a.ProgramID], a)
	}
	all := true
	for _, program := range programs {
		for mine := of[program]; len(mine) > 0; mine = mine[min(batch, len(mine)):] {
			err := j.try(ctx, program, mine[:min(batch, len(mine))])
			if domain.CodeOf(err) == domain.NotFound {
				break // the program was removed, and with it whoever could ask
			}
			if err != nil {
				all = false
				break
			}
		}
	}
	return all
}

func (j *Journal) try(ctx context.Context, program domain.ID, entries []domain.Access) error {
	ctx, cancel := context.WithTimeout(ctx, slowest)
	defer cancel()
	err := j.store.Write(ctx, program, entries)
	switch {
	case err == nil:
		j.written.Add(int64(len(entries)))
		if _, known := j.pruned[program]; !known {
			j.pruned[program] = time.Time{}
		}
	case domain.CodeOf(err) != domain.NotFound:
		j.cfg.Log.Warn("accesses wait", "program_id", program.String(), "entries", len(entries), "reason", err.Error(), "cause", causeOf(err))
	}
	return err
}

func causeOf(err error) string {
	if e, ok := err.(*domain.Error); ok && e.Cause != nil { //nolint:errorlint // the outermost says it
		return e.Cause.Error()
	}
	return ""
}

// prune removes the old entries of the programs that were written to, once a day each.
func (j *Journal) prune(ctx context.Context) {
	if j.cfg.KeepDays == 0 {
		return
	}
	now := j.cfg.Now()
	for program, last := range j.pruned {
		if now.Sub(last) < 24*time.Hour {
			continue
		}
		ctx, cancel := context.WithTimeout(ctx, slowest)
		removed, more, err := j.store.Prune(ctx, program, now.AddDate(0, 0, -j.cfg.KeepDays), false)
		cancel()
		switch {
		case err != nil:
			j.cfg.Log.Warn("old accesses stay for now", "program_id", program.String(), "reason", err.Error())
			return
		case removed > 0:
			j.cfg.Log.Info("old accesses removed", "program_id", program.String(), "entries", removed)
		}
		if !more {
			j.pruned[program] = now
		}
	}
}
