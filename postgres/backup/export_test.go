package backup

import (
	"context"
	"os"
	"time"
)

// What tests need from the inside.
var (
	ChooseTools = chooseTools
	OnlyNewer   = onlyNewer
	Parameters  = parameters
	Conninfo    = conninfo
	Within      = within
)

// Marker is the schema that stands in a database while it is being restored.
const Marker = marker

// Differences compares a database with a manifest, after statements that are taken back.
func Differences(ctx context.Context, databaseURL string, m *Manifest, after ...string) error {
	conn, err := connect(ctx, databaseURL)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	l, err := whoAmI(ctx, conn)
	if err != nil {
		return err
	}
	tx, err := conn.Begin(ctx)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback(ctx) }()
	for _, statement := range after {
		if _, err := tx.Exec(ctx, statement); err != nil {
			return err
		}
	}
	return compare(ctx, tx, l, m)
}

// Rewrite writes a backup in the clear again, whole, with another manifest.
func Rewrite(from, to string, change func(*Manifest)) error {
	r, err := Open(from, nil)
	if err != nil {
		return err
	}
	defer r.Close()
	change(&r.Manifest)
	file, err := os.Create(to)
	if err != nil {
		return err
	}
	w, err := newWriter(file, &r.Manifest)
	if err != nil {
		return err
	}
	buffer := make([]byte, 4096)
	for {
		n, err := r.Read(buffer)
		if _, werr := w.Write(buffer[:n]); werr != nil {
			return werr
		}
		if err != nil {
			break
		}
	}
	if err := w.end(); err != nil {
		return err
	}
	return file.Close()
}

// ScratchName is the name of a scratch database made at a time.
func ScratchName(at time.Time) string { return scratchPrefix + at.UTC().Format(stampLayout) + "_test" }
