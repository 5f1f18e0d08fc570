package backup

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"os"
	"path/filepath"
	"strings"

	"filippo.io/age"
)

const (
	magic       = "cagework backup 1\n"
	encrypted   = "age-encryption.org/v1\n"
	maxManifest = 4 << 20
	// trailer is how long the last line is: the SHA-256 of everything before it, in hexadecimal digits.
	trailer = 2*sha256.Size + 1
	// Suffix is how names of backups end that this program chooses.
	Suffix        = ".backup"
	partialSuffix = ".partial"
)

// The ways in which a file can be no good. The error around each says which file.
var (
	ErrNotABackup = errors.New("this is no backup of cagework")
	ErrDamaged    = errors.New("the backup is damaged or cut short: nothing of it was used")
	ErrNeedsKey   = errors.New("the backup is encrypted: give --identity with the file of the secret key, or --passphrase-file")
	ErrWrongKey   = errors.New("none of the keys given opens this backup")
)

// writer writes a backup: the magic line, the manifest as one line, the dump as pg_dump gives it, and the trailer. So a
// person without this program needs no more than `age -d`, `tail -n +3` and pg_restore to get at the data.
type writer struct {
	to  io.Writer
	sum hash.Hash
}

func newWriter(to io.Writer, m *Manifest) (*writer, error) {
	line, err := json.Marshal(m)
	if err != nil {
		return nil, err
	}
	w := &writer{to, sha256.New()}
	_, err = w.Write([]byte(magic + string(line) + "\n"))
	return w, err
}

func (w *writer) Write(p []byte) (int, error) {
	n, err := w.to.Write(p)
	w.sum.Write(p[:n])
	return n, err
}

// end writes the trailer, without which a file is not whole.
func (w *writer) end() error {
	_, err := io.WriteString(w.to, hex.EncodeToString(w.sum.Sum(nil))+"\n")
	return err
}

// Reader reads a backup. What it reads is the dump; the end of it is only told (io.EOF) when the trailer was right.
type Reader struct {
	Manifest  Manifest
	Encrypted bool

	file *os.File
	from *bufio.Reader
	sum  hash.Hash
}

// Open opens a backup and reads its manifest. The keys are needed when it is encrypted.
func Open(path string, keys []age.Identity) (*Reader, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	r := &Reader{file: file, sum: sha256.New()}
	if err := r.begin(keys); err != nil {
		_ = file.Close()
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return r, nil
}

func (r *Reader) begin(keys []age.Identity) error {
	raw := bufio.NewReaderSize(r.file, 64<<10)
	r.from = raw
	if first, _ := raw.Peek(len(encrypted)); string(first) == encrypted {
		if len(keys) == 0 {
			return ErrNeedsKey
		}
		clear, err := age.Decrypt(raw, keys...)
		var none *age.NoIdentityMatchError
		switch {
		case errors.As(err, &none), errors.Is(err, age.ErrIncorrectIdentity):
			return ErrWrongKey
		case err != nil:
			return fmt.Errorf("%w (%w)", ErrDamaged, err)
		}
		r.Encrypted, r.from = true, bufio.NewReaderSize(clear, 64<<10)
	}
	return r.readManifest()
}

func (r *Reader) readManifest() error {
	head := make([]byte, len(magic))
	_, err := io.ReadFull(r.from, head)
	switch {
	case err != nil && r.Encrypted:
		return fmt.Errorf("%w (%w)", ErrDamaged, err)
	case err != nil || string(head) != magic:
		return ErrNotABackup
	}
	var line []byte
	for !bytes.HasSuffix(line, []byte("\n")) {
		part, err := r.from.ReadSlice('\n')
		line = append(line, part...)
		if err != nil && !errors.Is(err, bufio.ErrBufferFull) || len(line) > maxManifest {
			return ErrDamaged
		}
	}
	r.sum.Write(head)
	r.sum.Write(line)
	if err := json.Unmarshal(line, &r.Manifest); err != nil {
		return ErrDamaged
	}
	if r.Manifest.Format != format {
		return fmt.Errorf("its format is %d, this program reads %d: use the program that made it (%s) or a newer one",
			r.Manifest.Format, format, r.Manifest.Program)
	}
	return nil
}

// Read gives the dump.
func (r *Reader) Read(p []byte) (int, error) {
	ahead, err := r.from.Peek(trailer + min(max(len(p), 1), 32<<10))
	if n := min(len(ahead)-trailer, len(p)); n > 0 {
		copy(p, ahead[:n])
		r.sum.Write(ahead[:n])
		_, err := r.from.Discard(n)
		return n, err
	}
	switch {
	case err == nil:
		return 0, nil // nothing was asked for
	case !errors.Is(err, io.EOF):
		return 0, fmt.Errorf("%w (%w)", ErrDamaged, err)
	case string(ahead) != hex.EncodeToString(r.sum.Sum(nil))+"\n":
		return 0, ErrDamaged
	}
	return 0, io.EOF
}

// Close closes the file.
func (r *Reader) Close() error { return r.file.Close() }

// Check reads a whole backup and gives its manifest: the file is what was written.
func Check(path string, keys []age.Identity) (*Manifest, error) {
	r, err := Open(path, keys)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	if _, err := io.Copy(io.Discard, r); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return &r.Manifest, nil
}

// draft is a file on its way: it has its name only when all of it is on the disk.
type draft struct {
	*os.File
	path string
}

// newDraft makes the file beside its later place, readable for us alone.
func newDraft(path string) (*draft, error) {
	if _, err := os.Lstat(path); err == nil {
		return nil, fmt.Errorf("%s is there already, and a backup is never written over another: choose another name", path)
	}
	dir, name := filepath.Split(path)
	if dir == "" {
		dir = "."
	}
	file, err := os.CreateTemp(dir, "."+name+".*"+partialSuffix) // mode 0600
	if err != nil {
		return nil, err
	}
	return &draft{file, path}, nil
}

// keep gives the file its name.
func (d *draft) keep() error {
	if err := errors.Join(d.Sync(), d.Close()); err != nil {
		return err
	}
	if err := os.Rename(d.Name(), d.path); err != nil {
		return err
	}
	return syncDir(filepath.Dir(d.path))
}

// drop removes the file unless it has its name.
func (d *draft) drop() {
	_ = d.Close()
	_ = os.Remove(d.Name())
}

// syncDir makes a rename last. Not every system can; those that can't say so, and the name is there all the same.
func syncDir(path string) error {
	dir, err := os.Open(path)
	if err != nil {
		return err
	}
	_ = dir.Sync()
	return dir.Close()
}

func isPartial(name string) bool {
	return strings.HasPrefix(name, ".") && strings.HasSuffix(name, partialSuffix) && strings.Contains(name, Suffix)
}
