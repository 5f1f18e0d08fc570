package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"
	"cagework/postgres/journal"
)

// accessFlags say how entries of who looked wait for the database, and how long it keeps them.
type accessFlags struct {
	JournalDir   string `name:"journal-dir" env:"CAGEWORK_JOURNAL_DIR" help:"Where entries of who looked wait for the database; instances may share it. Without it they wait in memory."`
	JournalBytes int64  `name:"journal-bytes" env:"CAGEWORK_JOURNAL_BYTES" default:"67108864" help:"Most bytes that wait; what is beyond is counted as lost."`
	AccessDays   int    `name:"access-days" env:"CAGEWORK_ACCESS_DAYS" default:"400" help:"How many days the database keeps who looked, at least 90; 0 for ever."`
}

// Validate refuses what cannot work, before anything starts.
func (f accessFlags) Validate() error {
	if f.JournalBytes < 64<<10 {
		return errors.New("--journal-bytes must be at least 65536")
	}
	if f.AccessDays != 0 {
		return checkAccessDays("--access-days", f.AccessDays)
	}
	return nil
}

func checkAccessDays(flag string, days int) error {
	if days < domain.LeastAccessDays {
		return fmt.Errorf("%s must be at least %d: nobody removes younger entries", flag, domain.LeastAccessDays)
	}
	return nil
}

// startJournal opens the journal over a connection of its own, so that no request waits for it and it for none.
func (f accessFlags) startJournal(ctx context.Context, d databaseFlags, log *slog.Logger) (*accessJournal, error) {
	d.MaxConnections = 1
	db, err := postgres.Open(ctx, d.config())
	if err != nil {
		return nil, err
	}
	j, err := journal.Open(postgres.NewStores(db, judgement.Judge{}).Accesses,
		journal.Config{Dir: f.JournalDir, MaxBytes: f.JournalBytes, KeepDays: f.AccessDays, Log: log})
	if err != nil {
		db.Close()
		return nil, err
	}
	return &accessJournal{j, db}, nil
}

// accessJournal is a journal and its connection.
type accessJournal struct {
	*journal.Journal
	db *postgres.DB
}

// stop writes what waits for some seconds and leaves the rest for the next start.
func (j *accessJournal) stop() {
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	j.Close(ctx)
	j.db.Close()
}

// Describe names the metrics.
func (j *accessJournal) Describe(ch chan<- *prometheus.Desc) { prometheus.DescribeByCollect(j, ch) }

// Collect reads the journal's figures.
func (j *accessJournal) Collect(ch chan<- prometheus.Metric) {
	s := j.Stat()
	for _, m := range []struct {
		name, help string
		kind       prometheus.ValueType
		value      int64
	}{
		{"queued_total", "Entries of who looked that were taken over.", prometheus.CounterValue, s.Queued},
		{"written_total", "Entries that were sent to the database, those sent again included.", prometheus.CounterValue, s.Written},
		{"lost_total", "Entries that found no room.", prometheus.CounterValue, s.Lost},
		{"waiting_bytes", "Bytes of entries that wait for the database.", prometheus.GaugeValue, s.Waiting},
	} {
		ch <- prometheus.MustNewConstMetric(prometheus.NewDesc("cagework_accesses_"+m.name, m.help, nil, nil), m.kind, float64(m.value))
	}
}

// noteChore notes what whoever runs the service did to somebody's records. The chore is done by then: that it could not be
// noted is said and undoes nothing.
func noteChore(ctx context.Context, c *console, s *postgres.Stores, a domain.Actor, action domain.AccessAction, noun, of domain.Noun, id domain.ID) {
	entry := domain.NewAccess(a, time.Now(), action, noun).On(of, id)
	if err := s.Accesses.Write(ctx, a.ProgramID, []domain.Access{entry}); err != nil {
		c.notef("cagework: this is not noted among who looked: %v\n", err)
	}
}

type accessesCmd struct {
	Prune accessesPrune `cmd:"" help:"Remove old entries of who looked of one program; serve does it by itself once a day."`
}

type accessesPrune struct {
	databaseFlags `embed:""`
	Program       string `name:"program" required:"" help:"The program's id."`
	Days          int    `name:"days" default:"400" help:"How many days to keep, at least 90."`
	DryRun        bool   `name:"dry-run" help:"Only say how many would go."`
}

// Validate refuses what cannot work, before anything starts.
func (p accessesPrune) Validate() error {
	if err := checkAccessDays("--days", p.Days); err != nil {
		return err
	}
	return p.databaseFlags.Validate()
}

// Run removes the entries, some thousands at a time.
func (p accessesPrune) Run(ctx context.Context, c *console) error {
	program, err := domain.ParseID(p.Program)
	if err != nil {
		return errors.New("--program is " + err.Error())
	}
	db, err := postgres.Open(ctx, p.config())
	if err != nil {
		return err
	}
	defer db.Close()
	store, before := postgres.NewStores(db, judgement.Judge{}).Accesses, time.Now().AddDate(0, 0, -p.Days)
	var all int64
	for more := true; more; {
		var n int64
		if n, more, err = store.Prune(ctx, program, before, p.DryRun); err != nil {
			return err
		}
		all += n
	}
	what := "removed"
	if p.DryRun {
		what = "would be removed"
	}
	c.printf("%d entries from before %s %s\n", all, before.UTC().Format(time.RFC3339), what)
	return nil
}
