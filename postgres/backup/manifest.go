package backup

import (
	"fmt"
	"time"
)

// format is the version of the file's layout that this program writes and reads.
const format = 1

// Manifest stands at the beginning of a backup: where it comes from, and what a restored database must hold.
type Manifest struct {
	Format int       `json:"format"`
	MadeAt time.Time `json:"made_at"`
	// Program is the version of this program, Schema that of the database's schema.
	Program string `json:"program"`
	Schema  uint   `json:"schema"`
	// Server is the version of the server, Tool that of pg_dump; of each the major part too, which decides what can read it.
	Server      string `json:"server"`
	ServerMajor int    `json:"server_major"`
	Tool        string `json:"tool"`
	ToolMajor   int    `json:"tool_major"`
	// Roles are those that hold rights in the database. They belong to the server, so that a dump leaves them out.
	Roles  []string `json:"roles"`
	Tables []Table  `json:"tables"`
}

// Table is what one table holds: how many rows, and the sum of a hash of each, whatever their order.
type Table struct {
	Name string `json:"name"`
	Rows int64  `json:"rows"`
	Sum  string `json:"sum"`
	// Forced says that row security holds for the table's owner too.
	Forced bool `json:"row_security_forced"`
}

// Rows counts the rows of all tables.
func (m *Manifest) Rows() int64 {
	var rows int64
	for _, t := range m.Tables {
		rows += t.Rows
	}
	return rows
}

// differences says in what tables differ from those of the manifest. It names tables and counts, never what is in them.
func (m *Manifest) differences(have []Table) []string {
	var all []string
	there := map[string]Table{}
	for _, t := range have {
		there[t.Name] = t
	}
	for _, want := range m.Tables {
		got, is := there[want.Name]
		delete(there, want.Name)
		switch {
		case !is:
			all = append(all, want.Name+" is missing")
		case got.Rows != want.Rows:
			all = append(all, fmt.Sprintf("%s has %d rows, not %d", want.Name, got.Rows, want.Rows))
		case got.Sum != want.Sum:
			all = append(all, fmt.Sprintf("%s has %d rows, as it should, but what is in them differs", want.Name, got.Rows))
		case got.Forced != want.Forced:
			all = append(all, fmt.Sprintf("row security of %s is forced: %t, not %t", want.Name, got.Forced, want.Forced))
		}
	}
	for _, t := range have {
		if _, extra := there[t.Name]; extra {
			all = append(all, t.Name+" was not in the backup")
		}
	}
	return all
}
