package journal

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/gofrs/flock"

	"cagework/domain"
)

// fileSize is when a file is closed and the next one begun.
const fileSize = 1 << 20

// files are the entries of one process in a directory, an entry a line. The process holds a lock as long as it lives; the
// files of one whose lock is free are taken over. So processes may share a directory.
type files struct {
	dir, name string // name is this process's own
	most      int64
	lock      *flock.Flock

	open    *os.File // is written to
	written int64    // bytes of open
	waiting []waiting
	number  int   // of the last file
	total   int64 // bytes that wait
	adopted time.Time
}

// waiting is a file that is written to no more.
type waiting struct {
	path  string
	bytes int64
}

func openFiles(dir string, most int64) (*files, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("journal of accesses: %w", err)
	}
	f := &files{dir: dir, name: domain.NewID(time.Now()).String(), most: most}
	f.lock = flock.New(f.path(".lock"))
	got, err := f.lock.TryLock()
	if err == nil && !got {
		err = errors.New("its lock is held")
	}
	if err != nil {
		return nil, fmt.Errorf("journal of accesses: %w", err)
	}
	return f, f.adopt()
}

func (f *files) path(rest string) string { return filepath.Join(f.dir, f.name+rest) }

func (f *files) numbered() string {
	f.number++
	return f.path(fmt.Sprintf("-%08d.jsonl", f.number))
}

// put writes entries as far as there is room and syncs them; full tells that there was not enough.
func (f *files) put(entries []domain.Access) (kept int, full bool, err error) {
	var text []byte
	for _, a := range entries {
		one, err := encode(a)
		if err != nil {
			return 0, false, err
		}
		if full = f.total+int64(len(text)+len(one)) > f.most; full {
			break
		}
		text = append(text, one...)
		kept++
	}
	if kept == 0 {
		return 0, full, nil
	}
	if err := f.write(text); err != nil {
		return 0, false, err
	}
	return kept, full, nil
}

func (f *files) write(text []byte) error {
	if f.open == nil {
		file, err := os.OpenFile(f.numbered(), os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
		if err != nil {
			return err
		}
		f.open, f.written = file, 0
		f.syncDir()
	}
	_, err := f.open.Write(text)
	if err == nil {
		err = f.open.Sync()
	}
	if err != nil { // take a half line back; the entries are kept elsewhere, and their ids keep them from counting twice
		return errors.Join(err, f.open.Truncate(f.written), f.seal())
	}
	f.written += int64(len(text))
	f.total += int64(len(text))
	if f.written >= fileSize {
		return f.seal()
	}
	return nil
}

// syncDir makes a new name survive a power cut, on systems where a directory can be synced.
func (f *files) syncDir() {
	if d, err := os.Open(f.dir); err == nil {
		_ = d.Sync()
		_ = d.Close()
	}
}

// seal ends the file that is written to.
func (f *files) seal() error {
	if f.open == nil {
		return nil
	}
	f.waiting = append(f.waiting, waiting{f.open.Name(), f.written})
	err := f.open.Close()
	f.open = nil
	return err
}

// oldest reads the file that has waited longest; nil when none does.
func (f *files) oldest() ([]byte, error) {
	if len(f.waiting) == 0 {
		if err := f.seal(); err != nil {
			return nil, err
		}
	}
	if len(f.waiting) == 0 {
		return nil, nil
	}
	text, err := os.ReadFile(f.waiting[0].path)
	if err != nil {
		f.leave()
	}
	return text, err
}

// leave forgets the file that has waited longest.
func (f *files) leave() {
	gone := f.waiting[0]
	f.waiting, f.total = f.waiting[1:], f.total-gone.bytes
}

// done removes the file that oldest gave.
func (f *files) done() error {
	path := f.waiting[0].path
	f.leave()
	return f.remove(path)
}

// remove removes a file; one that is gone already is fine.
func (f *files) remove(path string) error {
	if err := os.Remove(path); !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return nil
}

// adopt gives the files of processes that are gone to this one, at most once a minute.
func (f *files) adopt() error {
	if time.Since(f.adopted) < time.Minute {
		return nil
	}
	f.adopted = time.Now()
	names, err := os.ReadDir(f.dir)
	if err != nil {
		return err
	}
	left := map[string][]string{}
	var owners []string // in the order of their names, which is that of their starts
	for _, entry := range names {
		owner := entry.Name()[:min(len(f.name), len(entry.Name()))]
		if _, err := domain.ParseID(owner); err != nil || owner == f.name {
			continue
		}
		if left[owner] == nil {
			owners = append(owners, owner)
		}
		left[owner] = append(left[owner], entry.Name())
	}
	var errs []error
	for _, owner := range owners {
		errs = append(errs, f.takeOver(owner, left[owner]))
	}
	return errors.Join(errs...)
}

// takeOver renames the files of a process that holds its lock no more. Their entries come before those of this process.
func (f *files) takeOver(owner string, names []string) error {
	lock := flock.New(filepath.Join(f.dir, owner+".lock"))
	got, err := lock.TryLock()
	if err != nil || !got {
		return err // it lives
	}
	errs := make([]error, 0, len(names)+2)
	for _, name := range names {
		errs = append(errs, f.take(name))
	}
	errs = append(errs, lock.Close(), f.remove(lock.Path()))
	return errors.Join(errs...)
}

// take makes another process's file one of this one's.
func (f *files) take(name string) error {
	from := filepath.Join(f.dir, name)
	switch filepath.Ext(name) {
	case ".jsonl":
	case ".new": // it was never done
		return f.remove(from)
	default:
		return nil
	}
	about, err := os.Stat(from)
	if err != nil {
		return err
	}
	to := f.numbered()
	if err := os.Rename(from, to); err != nil {
		return err
	}
	f.waiting, f.total = append(f.waiting, waiting{to, about.Size()}), f.total+about.Size()
	return nil
}

// saveLosses writes down what is missing, in a file of its own that is replaced as a whole. It counts as a waiting file to
// whoever takes it over.
func (f *files) saveLosses(missing []domain.Access) error {
	path := f.path("-lost.jsonl")
	if len(missing) == 0 {
		return f.remove(path)
	}
	var text bytes.Buffer
	for _, a := range missing {
		one, err := encode(a)
		if err != nil {
			return err
		}
		text.Write(one)
	}
	if err := os.WriteFile(f.path(".new"), text.Bytes(), 0o600); err != nil {
		return err
	}
	return os.Rename(f.path(".new"), path)
}

// close gives the files up: with nothing left in them they leave no trace.
func (f *files) close() error {
	err := f.seal()
	_, lost := os.Stat(f.path("-lost.jsonl"))
	err = errors.Join(err, f.lock.Close())
	if len(f.waiting) == 0 && lost != nil {
		err = errors.Join(err, f.remove(f.lock.Path()))
	}
	return err
}
