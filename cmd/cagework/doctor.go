package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"
	"time"

	"cagework/domain"
	"cagework/migrations"
	"cagework/postgres"
	"cagework/postgres/backup"
)

type doctorCmd struct {
	DatabaseURL string        `name:"database-url" env:"DATABASE_URL" help:"The database (required), under the login that serve has."`
	Backups     string        `name:"backups" env:"CAGEWORK_BACKUPS" help:"The directory of the backups."`
	BackupAge   time.Duration `name:"backup-age" env:"CAGEWORK_BACKUP_AGE" default:"36h" help:"How old the last verified backup may be."`
	DataDir     string        `name:"data-dir" env:"CAGEWORK_DATA_DIR" help:"Where the server keeps its data on this machine, when its login may not tell."`
	Erasures    string        `name:"erasures-file" env:"CAGEWORK_ERASURES_FILE" help:"The list of erasures that serve keeps apart from the database."`
	JSON        bool          `name:"json" help:"Print the findings as JSON."`
}

// Validate refuses what cannot work, before anything starts.
func (d doctorCmd) Validate() error {
	if d.BackupAge <= 0 {
		return errors.New("--backup-age must be more than 0")
	}
	return checkDatabaseURL(d.DatabaseURL)
}

// errUnwell ends the program with 1. What is wrong was printed.
var errUnwell = errors.New("there are problems")

// Run looks at everything, says what it found and what to do, and fails when something must be done.
func (d doctorCmd) Run(ctx context.Context, c *console) error {
	found, err := d.examine(ctx)
	if err != nil {
		return err
	}
	if err := d.print(c, found); err != nil {
		return err
	}
	for _, f := range found {
		if f.State == postgres.Problem {
			return errUnwell
		}
	}
	return nil
}

func (d doctorCmd) examine(ctx context.Context) ([]postgres.Finding, error) {
	needs, err := schemaNeeds()
	if err != nil {
		return nil, err
	}
	patient, err := postgres.Admit(ctx, d.DatabaseURL, needs)
	found := []postgres.Finding{{Check: "database", State: postgres.Fine, Says: "answers"}}
	if err != nil {
		found[0] = postgres.Finding{Check: "database", State: postgres.Problem, Says: "does not answer: " + err.Error(),
			Do: "see whether the server runs, and whether address, login and password are right"}
	} else {
		defer patient.Discharge(context.WithoutCancel(ctx))
		found = append(found, patient.Examine(ctx)...)
		found = append(found, d.rights(ctx), d.disk(ctx, patient))
	}
	return append(found, d.backups(time.Now()), d.erasures()), nil
}

// rights looks for what a database lacks that the files of its schema gave it.
func (d doctorCmd) rights(ctx context.Context) postgres.Finding {
	f := postgres.Finding{Check: "rights", State: postgres.Fine, Says: "role, rights, policies and functions are as the schema made them"}
	faults, err := migrations.Inspect(ctx, d.DatabaseURL)
	if err != nil {
		f.State, f.Says, f.Do = postgres.Problem, "they can't be told: "+err.Error(), "cagework migrate version says more"
		return f
	}
	var what []string
	f.Do = "as a superuser: cagework migrate, which mends it"
	for _, fault := range faults {
		what = append(what, fault.What)
		if fault.Hand {
			f.Do = fault.Mend
		}
	}
	if len(what) == 0 {
		f.Do = ""
		return f
	}
	f.State, f.Says = postgres.Problem, strings.Join(what[:min(len(what), 5)], "; ")
	if len(what) > 5 {
		f.Says += fmt.Sprintf("; and %d more", len(what)-5)
	}
	return f
}

// erasures looks for the list without which a restored backup brings erased people back.
func (d doctorCmd) erasures() postgres.Finding {
	f := postgres.Finding{Check: "erasures", State: postgres.Warning}
	if d.Erasures == "" {
		f.Says = "they are not kept apart from the database: a restored backup brings erased people back"
		f.Do = "give serve and doctor --erasures-file (CAGEWORK_ERASURES_FILE), on another disk"
		return f
	}
	list, err := readErasures(d.Erasures)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		f.Says, f.Do = "the list is not there: "+d.Erasures, "start serve with the same --erasures-file, which makes it"
	case err != nil:
		f.State, f.Says, f.Do = postgres.Problem, "the list can't be read: "+err.Error(), "mend it by hand: it says who must not come back"
	default:
		f.State, f.Says = postgres.Fine, fmt.Sprintf("%d are kept apart", len(domain.EffectiveErasures(list)))
	}
	return f
}

// disk looks at the free space where the server keeps its data, as far as that can be known from here.
func (d doctorCmd) disk(ctx context.Context, patient *postgres.Patient) postgres.Finding {
	dir, held, err := patient.Disk(ctx)
	if d.DataDir != "" {
		dir = d.DataDir
	}
	if err == nil && dir != "" {
		var free, all int64
		if free, all, err = room(dir); err == nil {
			return diskFinding(free, all, held)
		}
	}
	why := "the server is on another machine, or its login may not say where its data are"
	if err != nil {
		why = err.Error()
	}
	return postgres.Finding{Check: "disk", State: postgres.Warning, Says: fmt.Sprintf("the database holds %s; how much room is left can't be known from here (%s)", size(held), why),
		Do: "look at the server's disk there, or give --data-dir on its machine"}
}

func diskFinding(free, all, held int64) postgres.Finding {
	f := postgres.Finding{Check: "disk", State: postgres.Fine, Says: fmt.Sprintf("%s free, the database holds %s", size(free), size(held))}
	const do = "make room: a full disk stops every write"
	switch {
	case free < 200_000_000 || free < all/50:
		f.State, f.Do = postgres.Problem, do
	case free < 1_000_000_000 || free < all/10 || free < held:
		f.State, f.Do = postgres.Warning, do
	}
	return f
}

// backups looks for the last verified one.
func (d doctorCmd) backups(now time.Time) postgres.Finding {
	f := postgres.Finding{Check: "backup", State: postgres.Warning, Says: "nobody knows where the backups are",
		Do: "name their directory (--backups); without any: cagework backup, see README.md"}
	if d.Backups == "" {
		return f
	}
	f.State = postgres.Problem
	all, err := backup.List(d.Backups)
	if err != nil {
		f.Says, f.Do = "they can't be listed: "+err.Error(), "name their directory (--backups)"
		return f
	}
	f.Says, f.Do = "none here is verified", "cagework backup "+d.Backups+", or cagework backup verify FILE"
	for i, k := range all {
		if k.Verified == nil {
			continue
		}
		age := now.Sub(k.Verified.MadeAt).Round(time.Minute)
		f.Says = fmt.Sprintf("the last verified one is %s old: %s", age, filepath.Base(k.Path))
		if i > 0 {
			f.Says += fmt.Sprintf("; %d newer ones are not verified", i)
		}
		if age <= d.BackupAge {
			f.State, f.Do = postgres.Fine, ""
		} else {
			f.Do = "see why the nightly backup failed, and make one now"
		}
		return f
	}
	return f
}

func (d doctorCmd) print(c *console, found []postgres.Finding) error {
	if d.JSON {
		text, err := json.MarshalIndent(found, "", "  ")
		if err != nil {
			return err
		}
		c.printf("%s\n", text)
		return nil
	}
	for _, f := range found {
		c.printf("%-8s %-13s %s\n", f.State, f.Check, f.Says)
		if f.Do != "" {
			c.printf("%-8s %-13s -> %s\n", "", "", f.Do)
		}
	}
	return nil
}
