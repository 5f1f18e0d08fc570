// Package migrations holds the numbered SQL files that make the database's schema, and runs them.
//
// A file is run as one implicit transaction: what fails leaves nothing behind. Therefore a file never says BEGIN or
// COMMIT, and a statement that can't run in a transaction (CREATE INDEX CONCURRENTLY) stands alone in a file of its own.
package migrations

import "embed"

// FS holds every migration, up and down, as it was when the program was built.
//
//go:embed *.sql
var FS embed.FS
