package backup_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"cagework/postgres/backup"
)

// TestVerify tries a good file and one whose manifest promises more than the dump holds.
func TestVerify(t *testing.T) {
	t.Parallel()
	from := filled(t)
	b := from.made(backup.Keys{})
	m, err := backup.Verify(t.Context(), backup.VerifyOptions{Path: b.Path, ServerURL: from.as("sees")})
	require.NoError(t, err)
	require.Equal(t, b.Manifest, *m)

	for says, change := range map[string]func(*backup.Table){
		"public.things has 600 rows, not 601": func(c *backup.Table) { c.Rows++ },
		"but what is in them differs":         func(c *backup.Table) { c.Sum = "1" },
	} {
		other := filepath.Join(t.TempDir(), "b")
		require.NoError(t, backup.Rewrite(b.Path, other, func(m *backup.Manifest) {
			for i := range m.Tables {
				if m.Tables[i].Name == "public.things" {
					change(&m.Tables[i])
				}
			}
		}))
		_, err = backup.Verify(t.Context(), backup.VerifyOptions{Path: other, ServerURL: from.as("sees")})
		require.ErrorIs(t, err, backup.ErrDiffers)
		require.ErrorContains(t, err, says)
	}
	may, err := backup.MayVerify(t.Context(), from.as("plain"))
	require.NoError(t, err)
	require.False(t, may)
	_, err = backup.Verify(t.Context(), backup.VerifyOptions{Path: b.Path, ServerURL: from.as("plain")})
	require.ErrorContains(t, err, "permission denied to create database")
}

// TestScratchDatabasesAreDropped looks for those that a killed run left behind: they hold what the backup holds.
func TestScratchDatabasesAreDropped(t *testing.T) {
	t.Parallel()
	from := filled(t)
	b := from.made(backup.Keys{})
	old, young := backup.ScratchName(time.Now().Add(-25*time.Hour)), backup.ScratchName(time.Now().Add(-time.Hour))
	for _, name := range []string{old, young} {
		from.on("postgres", `CREATE DATABASE `+name+` OWNER sees`)
	}
	require.NoError(t, b.Verify(t.Context(), from.as("sees"), 1))
	require.Zero(t, from.number(`SELECT count(*) FROM pg_database WHERE datname = $1`, old))
	require.Equal(t, 1, from.number(`SELECT count(*) FROM pg_database WHERE datname = $1`, young))
	from.on("postgres", `DROP DATABASE `+pgx.Identifier{young}.Sanitize())
}

func TestNotesAndLists(t *testing.T) {
	t.Parallel()
	from := filled(t)
	b := from.made(backup.Keys{})
	now := time.Date(2026, 12, 1, 3, 4, 5, 6_000_000, time.UTC)
	dir := t.TempDir()
	path := backup.NameIn(dir, now)
	require.NoError(t, os.Rename(b.Path, path))
	for _, name := range []string{"cagework-soon.backup", "other.backup", "cagework-20261201T030405.007Z.backup.verified", "notes.txt"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), nil, 0o600))
	}
	require.NoError(t, os.Mkdir(backup.NameIn(dir, now.Add(time.Hour)), 0o700))
	all, err := backup.List(dir)
	require.NoError(t, err)
	require.Equal(t, []backup.Kept{{Path: path, MadeAt: now}}, all)

	require.NoError(t, backup.NoteVerified(path, &b.Manifest, now))
	require.NoError(t, backup.NoteVerified(path, &b.Manifest, now.Add(time.Minute)), "verified once more")
	all, err = backup.List(dir)
	require.NoError(t, err)
	require.Equal(t, now.Add(time.Minute).Truncate(time.Second), all[0].Verified.VerifiedAt)
	require.Equal(t, b.Manifest.Rows(), all[0].Verified.Rows)

	require.NoError(t, os.Truncate(path, b.Bytes-1))
	all, err = backup.List(dir)
	require.NoError(t, err)
	require.Nil(t, all[0].Verified, "the note is that of other bytes")
}

func TestPartsAreSwept(t *testing.T) {
	t.Parallel()
	dir, now := t.TempDir(), time.Now()
	for name, age := range map[string]time.Duration{
		".cagework-20261201T030405.007Z.backup.123.partial": 25 * time.Hour,
		".cagework-20261201T030405.008Z.backup.123.partial": 23 * time.Hour,
		"mine.backup.partial":                               25 * time.Hour,
		".mine.partial":                                     25 * time.Hour,
	} {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, nil, 0o600))
		require.NoError(t, os.Chtimes(path, now.Add(-age), now.Add(-age)))
	}
	require.NoError(t, backup.SweepPartials(dir, now))
	require.Equal(t, []string{".cagework-20261201T030405.008Z.backup.123.partial", ".mine.partial", "mine.backup.partial"}, names(t, dir))
}
