package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"filippo.io/age"

	"cagework/postgres/backup"
)

type backupCmd struct {
	Make   backupMake   `cmd:"" default:"withargs" help:"Back the database up into a new file, while the service works (the default)."`
	Verify backupVerify `cmd:"" help:"Restore a backup into a scratch database, compare every table, and drop it again."`
	Key    backupKey    `cmd:"" help:"Make a secret key for backups. Keep it apart from them: without it they can't be read."`
}

// scratchFlags say where a backup is tried out.
type scratchFlags struct {
	ScratchURL string `name:"scratch-url" env:"CAGEWORK_BACKUP_SCRATCH_URL" help:"Another server to try the backup out on, by any database of it; the database's own by default."`
	Jobs       int    `name:"jobs" default:"1" help:"How many tables to restore at once; more than one needs room for the dump in TMPDIR, in the clear."`
}

type backupMake struct {
	Target         string   `arg:"" help:"The file to be made, or a directory, in which it gets a name by its time."`
	DatabaseURL    string   `name:"database-url" env:"DATABASE_URL" help:"The database (required), under a login that sees all rows (BYPASSRLS)."`
	Recipients     []string `name:"recipient" env:"CAGEWORK_BACKUP_RECIPIENT" help:"Encrypt for this public key (age1...)."`
	KeyFiles       []string `name:"key-file" env:"CAGEWORK_BACKUP_KEY_FILE" help:"Encrypt for the keys in this file, public or secret, as age-keygen writes them."`
	PassphraseFile string   `name:"passphrase-file" env:"CAGEWORK_BACKUP_PASSPHRASE_FILE" help:"Encrypt with the passphrase in this file's first line."`
	Verify         *bool    `name:"verify" negatable:"" help:"Try the backup out at once; by default where the login may create databases."`
	Keep           int      `name:"keep" help:"In a directory: keep this many verified backups at least, and remove older ones."`
	KeepDays       int      `name:"keep-days" help:"In a directory: keep each backup for so many days at least, and remove older ones."`
	DryRun         bool     `name:"dry-run" help:"Say what would be removed, and do nothing."`
	scratchFlags   `embed:""`
}

// Validate refuses what cannot work, before anything starts.
func (b backupMake) Validate() error {
	retention := b.Keep != 0 || b.KeepDays != 0
	switch {
	case b.Keep < 0 || b.KeepDays < 0:
		return errors.New("--keep and --keep-days must not be negative")
	case retention && !b.inDirectory():
		return errors.New("--keep and --keep-days work on a directory: name one that is there")
	case retention && b.Verify != nil && !*b.Verify:
		return errors.New("--keep and --keep-days remove backups only when the new one is verified: leave --no-verify out")
	case b.DryRun && !retention:
		return errors.New("--dry-run says what --keep or --keep-days would remove: give one of them")
	}
	return checkDatabaseURL(b.DatabaseURL)
}

func (b backupMake) inDirectory() bool {
	info, err := os.Stat(b.Target)
	return err == nil && info.IsDir()
}

// Run makes a backup, tries it out, and then lets old ones go.
func (b backupMake) Run(ctx context.Context, c *console) error {
	now := time.Now()
	if b.DryRun {
		return b.retain(c, now, true)
	}
	keys, err := backup.NewKeys(b.Recipients, b.KeyFiles, b.PassphraseFile)
	if err != nil {
		return err
	}
	path := b.Target
	if b.inDirectory() {
		if err := backup.SweepPartials(b.Target, now); err != nil {
			return err
		}
		path = backup.NameIn(b.Target, now)
	}
	made, err := backup.Make(ctx, backup.Options{DatabaseURL: b.DatabaseURL, Path: path, Keys: keys, Program: versionText()})
	if err != nil {
		return err
	}
	c.printf("%s\n", path)
	c.notef("%s in all, schema %d, %d rows in %d tables, taken of one moment\n", size(made.Bytes), made.Manifest.Schema,
		made.Manifest.Rows(), len(made.Manifest.Tables))
	if !keys.Any() {
		c.notef("NOT ENCRYPTED: whoever has this file can read the records of minors in it. Make a key (cagework backup key FILE) and give --recipient.\n")
	}
	if verified, err := b.verify(ctx, c, made); err != nil || !verified {
		return err
	}
	return b.retain(c, now, false)
}

// verify tries the backup out where that is wanted and possible. It says so loudly when it doesn't.
func (b backupMake) verify(ctx context.Context, c *console, made *backup.Made) (bool, error) {
	const untried = "NOT VERIFIED: nobody knows whether this file restores"
	if b.Verify != nil && !*b.Verify {
		c.notef("%s. Try it out: cagework backup verify %s\n", untried, made.Path)
		return false, nil
	}
	server := b.ScratchURL
	if server == "" {
		server = b.DatabaseURL
	}
	may, err := backup.MayVerify(ctx, server)
	if err != nil {
		return false, err
	}
	if !may {
		why := untried + ", for this login may not create databases. ALTER ROLE ... CREATEDB lets it, or --scratch-url names another server"
		if b.Verify != nil || b.Keep > 0 || b.KeepDays > 0 {
			return false, errors.New(why)
		}
		c.notef("%s\n", why)
		return false, nil
	}
	begun := time.Now()
	if err := made.Verify(ctx, server, b.Jobs); err != nil {
		return false, fmt.Errorf("%s was written, but restoring it failed: %w", made.Path, err)
	}
	if err := backup.NoteVerified(made.Path, &made.Manifest, time.Now()); err != nil {
		return false, err
	}
	sayVerified(c, &made.Manifest, begun)
	return true, nil
}

func sayVerified(c *console, m *backup.Manifest, begun time.Time) {
	c.notef("verified: restored into a scratch database in %.1f s, and all %d tables hold what they held\n",
		time.Since(begun).Seconds(), len(m.Tables))
}

// retain removes what may go from the directory, or only says it.
func (b backupMake) retain(c *console, now time.Time, dry bool) error {
	rule := backup.Retention{Keep: b.Keep, Days: b.KeepDays}
	if !rule.Any() {
		return nil
	}
	all, err := backup.List(b.Target)
	if err != nil {
		return err
	}
	if dry { // the one that would be made now counts
		all = append([]backup.Kept{{MadeAt: now, Verified: &backup.Verified{}}}, all...)
	}
	gone := rule.Obsolete(all, now)
	did := "removed"
	if dry {
		did = "would remove, after a new one is verified,"
	} else if err := backup.Remove(gone); err != nil {
		return err
	}
	for _, k := range gone {
		c.notef("%s %s\n", did, filepath.Base(k.Path))
	}
	if dry && len(gone) == 0 {
		c.notef("would remove nothing\n")
	}
	return nil
}

// size is a number of bytes for people.
func size(bytes int64) string {
	switch {
	case bytes >= 10_000_000:
		return fmt.Sprintf("%d MB", bytes/1_000_000)
	case bytes >= 10_000:
		return fmt.Sprintf("%d kB", bytes/1000)
	}
	return fmt.Sprintf("%d bytes", bytes)
}

// openFlags say what opens an encrypted backup.
type openFlags struct {
	Identities     []string `name:"identity" env:"CAGEWORK_BACKUP_IDENTITY" help:"The file of the secret key that opens the backup."`
	PassphraseFile string   `name:"passphrase-file" env:"CAGEWORK_BACKUP_PASSPHRASE_FILE" help:"The file of the passphrase that opens the backup."`
}

func (o openFlags) keys() ([]age.Identity, error) {
	return backup.NewIdentities(o.Identities, o.PassphraseFile)
}

type backupVerify struct {
	File         string `arg:"" help:"The backup."`
	DatabaseURL  string `name:"database-url" env:"DATABASE_URL" help:"Any database of the server to try it out on, under a login that may create databases; or give --scratch-url."`
	openFlags    `embed:""`
	scratchFlags `embed:""`
}

func (v backupVerify) server() string {
	if v.ScratchURL != "" {
		return v.ScratchURL
	}
	return v.DatabaseURL
}

// Validate refuses what cannot work, before anything starts.
func (v backupVerify) Validate() error { return checkDatabaseURL(v.server()) }

// Run tries a backup out and notes that beside it.
func (v backupVerify) Run(ctx context.Context, c *console) error {
	keys, err := v.keys()
	if err != nil {
		return err
	}
	begun := time.Now()
	m, err := backup.Verify(ctx, backup.VerifyOptions{Path: v.File, Identities: keys, ServerURL: v.server(), Jobs: v.Jobs})
	if err != nil {
		return err
	}
	sayVerified(c, m, begun)
	return backup.NoteVerified(v.File, m, time.Now())
}

type backupKey struct {
	File string `arg:"" help:"The file to be made."`
}

// Run makes a key.
func (k backupKey) Run(c *console) error {
	recipient, err := backup.NewKeyFile(k.File)
	if err != nil {
		return err
	}
	c.printf("%s\n", recipient)
	c.notef("The secret key is in %s: keep it on another machine or on paper, never with the backups.\n"+
		"Back up with --recipient %s, restore with --identity %s.\n", k.File, recipient, strings.TrimSpace(k.File))
	return nil
}
