// Command cagework keeps a lacrosse program's goalie-development records: it serves the API, migrates the database,
// shows a demo and does the chores of running the service.
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"github.com/alecthomas/kong"
)

// cli is every command and its flags. Each flag can be set by an environment variable too, so that a container
// needs no command line.
type cli struct {
	Serve     serveCmd     `cmd:"" help:"Serve the API on a database that is already migrated."`
	Migrate   migrateCmd   `cmd:"" help:"Bring the database to this program's schema, or take it back. The only migrator."`
	Backup    backupCmd    `cmd:"" help:"Back the database up, encrypted where a key is given, and try the backup out."`
	Restore   restoreCmd   `cmd:"" help:"Bring a backup back into an empty database, and compare."`
	Doctor    doctorCmd    `cmd:"" help:"Check the database, its roles, the disk and the backups, and say what to do."`
	Demo      demoCmd      `cmd:"" help:"Start a private Postgres, load an invented program and show a goalie's week."`
	Program   programCmd   `cmd:"" help:"Chores with programs."`
	Token     tokenCmd     `cmd:"" help:"Chores with tokens."`
	Person    personCmd    `cmd:"" help:"Hand over what is held on a goalie or member, or erase them."`
	Erasures  erasuresCmd  `cmd:"" help:"Chores with the list of erasures that is kept apart from the database."`
	Accesses  accessesCmd  `cmd:"" help:"Chores with the record of who looked."`
	Retention retentionCmd `cmd:"" help:"List, or erase, the goalies about whom nothing was written for long. Off unless it is set."`
	Health    healthCmd    `cmd:"" help:"Ask the service on this machine whether it is ready; for the health check of a container."`
	Version   versionCmd   `cmd:"" help:"Print the version."`
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	go func() {
		<-ctx.Done()
		stop() // a second signal ends the program at once
	}()
	err := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	if err != nil {
		fmt.Fprintln(os.Stderr, "cagework:", err)
		os.Exit(1)
	}
}

// run is main without the process: what tests call.
func run(ctx context.Context, args []string, out, errOut io.Writer) error {
	var c cli
	parser, err := kong.New(&c,
		kong.Name("cagework"),
		kong.Description("Goalie-development records for a lacrosse program: a REST service on Postgres."),
		kong.Writers(out, errOut),
		kong.BindTo(ctx, (*context.Context)(nil)),
		kong.Bind(&console{out, errOut}),
	)
	if err != nil {
		return err
	}
	k, err := parser.Parse(args)
	if err != nil {
		return err
	}
	return k.Run()
}

// console is where a command writes: its results, and what it has to say meanwhile.
type console struct{ out, log io.Writer }

func (c *console) printf(format string, args ...any) { _, _ = fmt.Fprintf(c.out, format, args...) }

func (c *console) notef(format string, args ...any) { _, _ = fmt.Fprintf(c.log, format, args...) }
