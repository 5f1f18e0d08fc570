package backup

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"strings"
	"time"

	"filippo.io/age"
	"github.com/jackc/pgx/v5"
)

// scratchPrefix begins the names of databases into which backups are restored to be verified.
const scratchPrefix = "cagework_scratch_"

// VerifyOptions say which backup to try out, and where.
type VerifyOptions struct {
	Path       string
	Identities []age.Identity
	// ServerURL is any database of the server on which the scratch database is made, under a login that may make one.
	ServerURL string
	Jobs      int
}

// Verify restores a backup into a scratch database, compares every table with the manifest and drops the database again.
func Verify(ctx context.Context, o VerifyOptions) (m *Manifest, err error) {
	if err := sweepScratch(ctx, o.ServerURL); err != nil {
		return nil, err
	}
	name := scratchPrefix + time.Now().UTC().Format(stampLayout) + "_" + strings.ToLower(rand.Text()[:8])
	drop, err := createOn(ctx, o.ServerURL, name)
	if err != nil {
		return nil, err
	}
	defer func() {
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Minute)
		defer cancel()
		err = errors.Join(err, drop(ctx))
	}()
	restored, err := Restore(ctx, RestoreOptions{DatabaseURL: within(o.ServerURL, name), Path: o.Path, Identities: o.Identities, Jobs: o.Jobs})
	if err != nil {
		return nil, err
	}
	return &restored.Manifest, nil
}

// Verify tries out a backup that this run made, with the key that only this run knows where there is no other.
func (b *Made) Verify(ctx context.Context, serverURL string, jobs int) error {
	_, err := Verify(ctx, VerifyOptions{Path: b.Path, Identities: b.keys.identities, ServerURL: serverURL, Jobs: jobs})
	return err
}

const stampLayout = "20060102t150405"

// sweepScratch drops scratch databases that a run left behind which was killed: they hold what the backup holds.
func sweepScratch(ctx context.Context, serverURL string) error {
	conn, err := connect(ctx, serverURL)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	rows, err := conn.Query(ctx, `SELECT datname::text FROM pg_database d WHERE starts_with(datname, $1) AND pg_has_role(datdba, 'USAGE')
		AND NOT EXISTS (SELECT FROM pg_stat_activity a WHERE a.datid = d.oid)`, scratchPrefix)
	if err != nil {
		return err
	}
	names, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return err
	}
	for _, name := range names {
		stamp, _, _ := strings.Cut(strings.TrimPrefix(name, scratchPrefix), "_")
		made, err := time.Parse(stampLayout, stamp)
		if err != nil || time.Since(made) < 24*time.Hour {
			continue
		}
		if _, err := conn.Exec(ctx, `DROP DATABASE IF EXISTS `+pgx.Identifier{name}.Sanitize()); err != nil {
			return fmt.Errorf("drop %s, which was left behind: %w", name, err)
		}
	}
	return nil
}

// MayVerify says whether a login could make a scratch database.
func MayVerify(ctx context.Context, serverURL string) (bool, error) {
	conn, err := connect(ctx, serverURL)
	if err != nil {
		return false, err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	l, err := whoAmI(ctx, conn)
	return l.createDB, err
}
