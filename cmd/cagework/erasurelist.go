package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"

	"cagework/domain"
	"cagework/postgres"
)

// erasuresFlag is shared by the commands that erase.
type erasuresFlag struct {
	ErasuresFile string `name:"erasures-file" env:"CAGEWORK_ERASURES_FILE" help:"Where the ids of erased persons are kept apart from the database, best on another disk, for a restored backup to be brought up to it."`
}

// keep has a database's erasures written to the file, which is made if it isn't there. Without a file nothing is kept apart.
func (f erasuresFlag) keep(s *postgres.Stores) error {
	if f.ErasuresFile == "" {
		return nil
	}
	list := &erasureList{path: f.ErasuresFile}
	if err := list.ready(); err != nil {
		return fmt.Errorf("--erasures-file: %w", err)
	}
	s.Erasures.KeepApart(list)
	return nil
}

// erasureList is a file with a line of JSON for each step of an erasure. It holds ids and instants only.
type erasureList struct {
	path string
	mu   sync.Mutex
}

// Append writes a line to the disk. Several processes may append to one file.
func (l *erasureList) Append(e domain.ErasureEntry) error {
	text, err := json.Marshal(e)
	if err != nil {
		return err
	}
	return l.write(append(text, '\n'))
}

// ready tells whether lines can be appended.
func (l *erasureList) ready() error { return l.write(nil) }

func (l *erasureList) write(line []byte) (err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	_, missing := os.Stat(l.path)
	file, err := os.OpenFile(l.path, os.O_CREATE|os.O_RDWR|os.O_APPEND, 0o600)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	if torn, err := endsTorn(file); err != nil {
		return err
	} else if torn && len(line) > 0 {
		line = append([]byte{'\n'}, line...)
	}
	if _, err := file.Write(line); err != nil {
		return err
	}
	if err := file.Sync(); err != nil {
		return err
	}
	if errors.Is(missing, fs.ErrNotExist) {
		return syncFolder(filepath.Dir(l.path)) // else a crash may lose the file's name
	}
	return nil
}

// endsTorn tells whether the last line was cut off by a crash.
func endsTorn(file *os.File) (bool, error) {
	info, err := file.Stat()
	if err != nil || info.Size() == 0 {
		return false, err
	}
	last := make([]byte, 1)
	_, err = file.ReadAt(last, info.Size()-1)
	return last[0] != '\n', err
}

func syncFolder(path string) error {
	folder, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(folder.Sync(), folder.Close())
}

// readErasures reads a list. A line that was cut off by a crash says nothing: what it was about had not been done yet. Any
// other line that cannot be read is an error, for it may be somebody's who must not come back.
func readErasures(path string) ([]domain.ErasureEntry, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { _ = file.Close() }()
	var list []domain.ErasureEntry
	lines := bufio.NewReader(file)
	for n := 1; ; n++ {
		text, err := lines.ReadBytes('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return nil, err
		}
		end := err != nil
		text = bytes.TrimSpace(text)
		var e domain.ErasureEntry
		switch err := json.Unmarshal(text, &e); {
		case len(text) > 0 && err == nil && !e.ProgramID.IsZero() && !e.ID.IsZero():
			list = append(list, e)
		case len(text) > 0 && !cutOff(err):
			return nil, fmt.Errorf("line %d of %s cannot be read", n, path)
		}
		if end {
			return list, nil
		}
	}
}

// cutOff tells whether a text is the beginning of JSON, or nothing.
func cutOff(err error) bool {
	syntax, ok := errors.AsType[*json.SyntaxError](err)
	return ok && syntax.Error() == "unexpected end of JSON input"
}
