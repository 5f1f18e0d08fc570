package migrations_test

import (
	"testing"

	"cagework/migrations"
	"cagework/postgres/pgtest"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

// TestBackfillsReachEveryRow puts rows of two programs into an older schema and goes up: forced row security would
// hide every one of them from a backfill that forgets it, and the update would say nothing.
func TestBackfillsReachEveryRow(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	latest, err := migrations.Latest()
	require.NoError(t, err)
	require.NoError(t, migrations.Down(t.Context(), db.AdminURL, int(latest)-11))
	conn, err := pgx.Connect(t.Context(), db.AdminURL)
	require.NoError(t, err)
	defer func() { _ = conn.Close(t.Context()) }()
	const (
		fresh       = "10000000-0000-4000-8000-000000000001"
		onRoster    = "10000000-0000-4000-8000-000000000002"
		wasOnRoster = "10000000-0000-4000-8000-000000000003"
		spell       = "10000000-0000-4000-8000-000000000004"
	)
	for _, p := range []string{"00000000-0000-4000-8000-000000000001", "00000000-0000-4000-8000-000000000002"} {
		for _, sql := range []string{
			`INSERT INTO programs (id, name, time_zone, units, rev, last_rev) VALUES ($1, 'P', 'UTC', 'yards', 1, 3)`,
			`INSERT INTO members (program_id, id, rev, name, role, team_ids, goalie_ids) VALUES ($1, $1, 1, 'M', 'director', '{}', '{}')`,
			`INSERT INTO competitions (program_id, id, rev, name, code_of_play, level, goal_width_m, goal_height_m, crease_radius_m,
				periods, period_s, overtime_s, average_minutes, clear_line, own_goal_rule, unconfirmed)
				VALUES ($1, $1, 1, 'C', 'box', 'college', 1.2, 1.2, 2.8, 4, 900, 240, 60, 'centre', 'any_defender', '{}')`,
			`INSERT INTO teams (program_id, id, rev, name, competition_id, practice_minutes) VALUES ($1, $1, 1, 'T', $1, 0)`,
			`INSERT INTO games (program_id, id, rev, team_id, competition_id, played_on, kind) VALUES ($1, $1, 1, $1, $1, '2026-04-11', 'game')`,
			`INSERT INTO shots (program_id, id, rev, game_id, outcome, deflected, goalie_out, waved_off, film_ms, faced_how)
				VALUES ($1, $1, 1, $1, 'save', false, false, false, 7, 'unresolved')`,
			`INSERT INTO readings (program_id, id, rev, shot_id, how_read, habits, member_id) VALUES ($1, $1, 1, $1, 'film', '{"a": "yes"}', $1)`,
			`INSERT INTO changes (program_id, rev, at, noun, record_id, op, before, before_found)
				VALUES ($1, 2, now(), 'goalie', $1, 'change', '{"name": "G"}', '{}'), ($1, 3, now(), 'team', $1, 'change', '{"name": "T"}', '{}')`,
			`INSERT INTO goalies (program_id, id, rev, name, stick_hand, availability) SELECT $1, id, 1, 'G', 'left', 'full'
				FROM unnest('{` + fresh + `,` + onRoster + `,` + wasOnRoster + `}'::uuid[]) AS goalie (id)`,
			`INSERT INTO roster_spells (program_id, id, rev, team_id, goalie_id, from_on) VALUES ($1, $1, 1, $1, '` + onRoster + `', '2026-01-01')`,
			`INSERT INTO changes (program_id, rev, at, member_id, noun, record_id, op)
				SELECT $1, 3 + n, now(), $1, 'goalie', id, 'create' FROM unnest('{` + fresh + `,` + onRoster + `,` + wasOnRoster + `}'::uuid[])
				WITH ORDINALITY AS goalie (id, n)`,
			`INSERT INTO changes (program_id, rev, at, noun, record_id, op, before, before_found)
				VALUES ($1, 7, now(), 'roster_spell', '` + spell + `', 'remove', '{"goalie_id": "` + wasOnRoster + `"}', '{}')`,
		} {
			_, err := conn.Exec(t.Context(), sql, p)
			require.NoError(t, err, sql)
		}
	}
	require.NoError(t, migrations.Up(t.Context(), db.AdminURL))
	var readings, goalies, teams int
	require.NoError(t, conn.QueryRow(t.Context(), `SELECT
		(SELECT count(*) FROM readings WHERE game_id = program_id),
		(SELECT count(*) FROM changes WHERE noun = 'goalie'
			AND before = '{"name": "G", "allowed_drill_ids": [], "shies_from_ball": false}'),
		(SELECT count(*) FROM changes WHERE noun = 'team' AND before = '{"name": "T"}')`).Scan(&readings, &goalies, &teams))
	require.Equal(t, []int{2, 2, 2}, []int{readings, goalies, teams})
	var ids, makers string
	require.NoError(t, conn.QueryRow(t.Context(), `SELECT
		(SELECT string_agg(noun || ' ' || left(id::text, 1) || right(id::text, 1), ', ' ORDER BY program_id, id) FROM record_ids),
		(SELECT string_agg(right(id::text, 1) || ' by ' || coalesce(right(made_by::text, 1), 'nobody'), ', ' ORDER BY program_id, id)
			FROM goalies)`).Scan(&ids, &makers))
	require.Equal(t, "goalie 01, goalie 11, goalie 12, goalie 13, roster_spell 14, "+
		"goalie 02, goalie 11, goalie 12, goalie 13, roster_spell 14", ids, "an id is of the noun that had it first")
	require.Equal(t, "1 by 1, 2 by nobody, 3 by nobody, 1 by 2, 2 by nobody, 3 by nobody", makers)
}
