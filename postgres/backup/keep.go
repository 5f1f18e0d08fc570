package backup

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// verifiedSuffix ends the name of the note beside a backup that says that it was verified, and when.
const verifiedSuffix = ".verified"

// nameLayout makes the names of backups in a directory: in their order they are in the order of time.
const (
	namePrefix = "cagework-"
	nameLayout = "20060102T150405.000Z"
)

// NameIn gives the path of a new backup in a directory.
func NameIn(dir string, now time.Time) string {
	return filepath.Join(dir, namePrefix+now.UTC().Format(nameLayout)+Suffix)
}

// Verified is what the note beside a backup says.
type Verified struct {
	VerifiedAt time.Time `json:"verified_at"`
	MadeAt     time.Time `json:"made_at"`
	Bytes      int64     `json:"bytes"`
	SHA256     string    `json:"sha256"`
	Schema     uint      `json:"schema"`
	Tables     int       `json:"tables"`
	Rows       int64     `json:"rows"`
}

// NoteVerified writes down beside a backup that it was verified. The note holds for the very bytes that are there now.
func NoteVerified(path string, m *Manifest, now time.Time) error {
	sum, size, err := digest(path)
	if err != nil {
		return err
	}
	text, err := json.Marshal(Verified{
		VerifiedAt: now.UTC().Truncate(time.Second), MadeAt: m.MadeAt, Bytes: size, SHA256: sum,
		Schema: m.Schema, Tables: len(m.Tables), Rows: m.Rows(),
	})
	if err != nil {
		return err
	}
	if err := os.Remove(path + verifiedSuffix); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	note, err := newDraft(path + verifiedSuffix)
	if err != nil {
		return err
	}
	defer note.drop()
	if _, err := note.Write(append(text, '\n')); err != nil {
		return err
	}
	return note.keep()
}

func digest(path string) (sum string, size int64, err error) {
	file, err := os.Open(path)
	if err != nil {
		return "", 0, err
	}
	defer file.Close()
	h := sha256.New()
	size, err = io.Copy(h, file)
	return hex.EncodeToString(h.Sum(nil)), size, err
}

// Kept is a backup in a directory.
type Kept struct {
	Path   string
	MadeAt time.Time
	// Verified is what the note beside it says; nil where there is none, or where it is that of other bytes.
	Verified *Verified
}

// List gives the backups of a directory whose names this program chose, newest first. Whatever else is there is none of
// its business.
func List(dir string) ([]Kept, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	var all []Kept
	for _, entry := range entries {
		stamp, ours := strings.CutPrefix(strings.TrimSuffix(entry.Name(), Suffix), namePrefix)
		at, err := time.Parse(nameLayout, stamp)
		if !ours || err != nil || !strings.HasSuffix(entry.Name(), Suffix) || !entry.Type().IsRegular() {
			continue
		}
		k := Kept{Path: filepath.Join(dir, entry.Name()), MadeAt: at}
		if k.Verified, err = noteOf(k.Path); err != nil {
			return nil, err
		}
		all = append(all, k)
	}
	slices.SortStableFunc(all, func(a, b Kept) int { return b.MadeAt.Compare(a.MadeAt) })
	return all, nil
}

// noteOf reads the note beside a backup. Its size tells a file that was cut or replaced since; to read every file through
// would take too long for what is asked often.
func noteOf(path string) (*Verified, error) {
	text, err := os.ReadFile(path + verifiedSuffix)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var v Verified
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if json.Unmarshal(text, &v) != nil || v.Bytes != info.Size() || v.VerifiedAt.IsZero() {
		return nil, nil //nolint:nilerr,nilnil // a note that cannot be read says nothing
	}
	return &v, nil
}

// Retention says which backups of a directory stay.
type Retention struct {
	// Keep is how many verified ones stay at least; 0 means 1 where Days is given.
	Keep int
	// Days is how long each stays at least.
	Days int
}

// Any says whether anything is ever removed.
func (r Retention) Any() bool { return r.Keep > 0 || r.Days > 0 }

// Obsolete gives the backups that may go: older than Days, with Keep newer verified ones that stay. The last verified one
// never goes, and neither does what was made after it.
func (r Retention) Obsolete(all []Kept, now time.Time) []Kept {
	if !r.Any() {
		return nil
	}
	var gone []Kept
	newer := 0
	for _, k := range all {
		if newer >= max(r.Keep, 1) && now.Sub(k.MadeAt) > time.Duration(r.Days)*24*time.Hour {
			gone = append(gone, k)
		}
		if k.Verified != nil {
			newer++
		}
	}
	return gone
}

// Remove removes backups with their notes. The note goes last, so that none is left that says unverified of what it isn't.
func Remove(gone []Kept) error {
	for _, k := range gone {
		if err := os.Remove(k.Path); err != nil {
			return fmt.Errorf("remove an old backup: %w", err)
		}
		if err := os.Remove(k.Path + verifiedSuffix); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("remove an old backup's note: %w", err)
		}
	}
	return nil
}

// SweepPartials removes what runs left behind in a directory that were killed a day ago or longer: each is a part of a
// backup.
func SweepPartials(dir string, now time.Time) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, entry := range entries {
		info, err := entry.Info()
		if err != nil || !isPartial(entry.Name()) || !info.Mode().IsRegular() || now.Sub(info.ModTime()) < 24*time.Hour {
			continue
		}
		if err := os.Remove(filepath.Join(dir, entry.Name())); err != nil {
			return err
		}
	}
	return nil
}
