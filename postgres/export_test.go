package postgres

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"cagework/domain"
)

// What tests need from the inside.
var (
	RegisterTypes = registerTypes
	AsDomain      = asDomain
	ClockFinding  = clockFinding
)

// MostFollowed is how many changes kept counts follow.
const MostFollowed = mostFollowed

// ConstraintNames gives the names in the table of constraints.
func ConstraintNames() []string {
	names := make([]string, 0, len(constraints))
	for name := range constraints {
		names = append(names, name)
	}
	return names
}

// Warm opens n connections and lets all of them go idle.
func (db *DB) Warm(ctx context.Context, n int) error {
	held := make([]*pgxpool.Conn, 0, n)
	defer func() {
		for _, c := range held {
			c.Release()
		}
	}()
	for range n {
		c, err := db.pool.Acquire(ctx)
		if err != nil {
			return err
		}
		held = append(held, c)
	}
	return nil
}

// AcquiredAfter gives how many connections are in use once those that are about to be given back are.
func (db *DB) AcquiredAfter(wait time.Duration) int32 {
	for end := time.Now().Add(wait); db.pool.Stat().AcquiredConns() > 0 && time.Now().Before(end); {
		time.Sleep(time.Millisecond)
	}
	return db.pool.Stat().AcquiredConns()
}

// ShotsOf gives the rows of the shots that a goalie faced, and nothing beside them.
func (s *Stores) ShotsOf(ctx context.Context, a domain.Actor, goalie domain.ID) ([]domain.Shot, error) {
	var out []domain.Shot
	err := s.Shots.db.inList(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		var err error
		out, err = s.Shots.where(ctx, t, "faced_goalie_id = $2", goalie)
		return err
	})
	return out, err
}

// Settings gives the values of some settings as a connection of the pool has them.
func (db *DB) Settings(ctx context.Context, names ...string) ([]string, error) {
	var values []string
	for _, name := range names {
		var value string
		if err := db.pool.QueryRow(ctx, "SHOW "+name).Scan(&value); err != nil {
			return nil, err
		}
		values = append(values, value)
	}
	return values, nil
}

// TextColumns says of each column that can hold text what it holds.
func TextColumns() map[string]map[string]string {
	out := map[string]map[string]string{}
	for table, t := range textTables {
		out[table] = map[string]string{}
		for column, holds := range t.columns {
			out[table][column] = string(holds)
		}
	}
	return out
}
