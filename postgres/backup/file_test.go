package backup_test

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/postgres/backup"
)

// TestADamagedFileIsRefused flips bytes and cuts the file short, in the clear and encrypted.
func TestADamagedFileIsRefused(t *testing.T) {
	t.Parallel()
	from := filled(t)
	secret := filepath.Join(t.TempDir(), "key")
	recipient, err := backup.NewKeyFile(secret)
	require.NoError(t, err)
	keys, err := backup.NewKeys([]string{recipient}, nil, "")
	require.NoError(t, err)
	identities, err := backup.NewIdentities([]string{secret}, "")
	require.NoError(t, err)
	random := rand.New(rand.NewPCG(1, 2))
	to := empty(t)
	for _, b := range []*backup.Made{from.made(backup.Keys{}), from.made(keys)} {
		_, err := backup.Check(b.Path, identities)
		require.NoError(t, err)
		whole, err := os.ReadFile(b.Path)
		require.NoError(t, err)
		other := filepath.Join(t.TempDir(), "b")
		refused := func(content []byte, what string, at int) {
			t.Helper()
			require.NoError(t, os.WriteFile(other, content, 0o600))
			_, err := backup.Check(other, identities)
			require.Error(t, err, "%s at %d of %d", what, at, len(whole))
		}
		places := []int{0, 5, 30, 80, 200, len(whole) - 1, len(whole) - 2, len(whole) - 40, len(whole) - 66, len(whole) - 70}
		for range 60 {
			places = append(places, random.IntN(len(whole)))
		}
		for _, at := range places {
			flipped := append([]byte{}, whole...)
			flipped[at] ^= 1 << random.IntN(8)
			refused(flipped, "flipped", at)
			refused(whole[:at], "cut", at)
		}
		refused(append(append([]byte{}, whole...), '\n'), "one byte more", len(whole))

		flipped := append([]byte{}, whole...)
		flipped[len(flipped)/2] ^= 1
		require.NoError(t, os.WriteFile(other, flipped, 0o600))
		_, err = backup.Restore(t.Context(), backup.RestoreOptions{DatabaseURL: to.as("owner"), Path: other, Identities: identities})
		require.ErrorIs(t, err, backup.ErrDamaged)
		require.Zero(t, to.number(`SELECT count(*) FROM pg_class WHERE relnamespace = 'public'::regnamespace`), "nothing was touched")
		require.Zero(t, to.number(`SELECT count(*) FROM pg_namespace WHERE nspname = $1`, backup.Marker))
	}
	_, err = backup.Check(write(t, "PGDMP"), nil)
	require.ErrorIs(t, err, backup.ErrNotABackup)
}

func TestKeys(t *testing.T) {
	t.Parallel()
	from := filled(t)
	mine, others := filepath.Join(t.TempDir(), "mine"), filepath.Join(t.TempDir(), "others")
	recipient, err := backup.NewKeyFile(mine)
	require.NoError(t, err)
	_, err = backup.NewKeyFile(others)
	require.NoError(t, err)
	_, err = backup.NewKeyFile(mine)
	require.ErrorIs(t, err, os.ErrExist, "a key is never written over")
	phrase := write(t, "correct horse and its battery\n")
	for name, c := range map[string]struct {
		recipients, files []string
		phrase            string
		identities        []string
	}{
		"recipient":  {recipients: []string{recipient}, identities: []string{mine}},
		"public key": {files: []string{write(t, "# mine\n"+recipient+"\n")}, identities: []string{others, mine}},
		"secret key": {files: []string{mine}, identities: []string{mine}},
		"passphrase": {phrase: phrase},
	} {
		keys, err := backup.NewKeys(c.recipients, c.files, c.phrase)
		require.NoError(t, err, name)
		b := from.made(keys)
		content, err := os.ReadFile(b.Path)
		require.NoError(t, err)
		require.NotContains(t, string(content), "public.things", name)
		require.NoError(t, b.Verify(t.Context(), from.as("sees"), 1), "%s: this run can read it back", name)

		_, err = backup.Check(b.Path, nil)
		require.ErrorIs(t, err, backup.ErrNeedsKey, name)
		wrong, err := backup.NewIdentities([]string{others}, "")
		require.NoError(t, err)
		_, err = backup.Check(b.Path, wrong)
		require.ErrorIs(t, err, backup.ErrWrongKey, name)
		right, err := backup.NewIdentities(c.identities, c.phrase)
		require.NoError(t, err)
		m, err := backup.Check(b.Path, right)
		require.NoError(t, err, name)
		require.Equal(t, b.Manifest, *m)
	}
	wrong, err := backup.NewIdentities(nil, write(t, "another horse and battery"))
	require.NoError(t, err)
	keys, err := backup.NewKeys(nil, nil, phrase)
	require.NoError(t, err)
	_, err = backup.Check(from.made(keys).Path, wrong)
	require.ErrorIs(t, err, backup.ErrWrongKey)
}

func TestKeysThatAreNone(t *testing.T) {
	t.Parallel()
	secret := filepath.Join(t.TempDir(), "key")
	recipient, err := backup.NewKeyFile(secret)
	require.NoError(t, err)
	content, err := os.ReadFile(secret)
	require.NoError(t, err)
	for _, c := range []struct {
		recipients, files []string
		phrase            string
	}{
		{recipients: []string{"age1nonsense"}},
		{recipients: []string{string(content)}},
		{files: []string{write(t, "nonsense")}},
		{files: []string{write(t, "AGE-SECRET-KEY-1NONSENSE")}},
		{phrase: write(t, "short\nbut long enough below")},
		{recipients: []string{recipient}, phrase: write(t, "correct horse and its battery")},
		{files: []string{filepath.Join(t.TempDir(), "missing")}},
	} {
		_, err := backup.NewKeys(c.recipients, c.files, c.phrase)
		require.Error(t, err)
		require.NotContains(t, err.Error(), "AGE-SECRET-KEY")
	}
	_, err = backup.NewIdentities([]string{write(t, recipient)}, "")
	require.Error(t, err)
}
