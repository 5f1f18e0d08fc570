package postgres

import (
	"context"
	"errors"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"cagework/domain"
)

// refusal is what a client is told when a constraint refuses a write.
type refusal struct {
	code    domain.Code
	pointer string
	detail  string
}

// constraints turns the constraints that a client can run into (the checks before leave only races and removals)
// into refusals. A test holds it against the catalog.
var constraints = map[string]refusal{
	"members_pk": raced, "tokens_pk": raced, "seasons_pk": raced, "competitions_pk": raced, "teams_pk": raced,
	"goalies_pk": raced, "roster_spells_pk": raced, "games_pk": raced, "stints_pk": raced, "shots_pk": raced,
	"clears_pk": raced, "views_pk": raced, "habits_pk": raced, "assignments_pk": raced, "practice_logs_pk": raced,
	"readings_pk": raced, "targets_pk": raced, "drills_pk": raced, "rules_pk": raced, "programs_pk": raced,
	"fits_pk": raced, "erasures_pk": raced, "record_ids_pk": {domain.Conflict, "", idTaken},

	"accesses_pk": raced, "accesses_program_fk": {domain.NotFound, "", "There is no such program any more."},

	"tokens_secret_uq":         {domain.Conflict, "", "The secret is taken; try again."},
	"targets_code_uq":          {domain.InTheWay, "/code", "is the code of another target"},
	"habits_code_uq":           {domain.InTheWay, "/code", "is the code of another habit"},
	"drills_code_uq":           {domain.InTheWay, "/code", "is the code of another drill"},
	"readings_one_a_member_uq": {domain.InTheWay, "/shot_id", "already has a reading of yours; change that one"},

	"members_program_fk": internalOnly, "seasons_program_fk": internalOnly, "competitions_program_fk": internalOnly,
	"habits_program_fk": internalOnly, "goalies_program_fk": internalOnly, "targets_program_fk": internalOnly, "drills_program_fk": internalOnly,
	"erasures_program_fk": internalOnly, "erasures_noun_ck": internalOnly,
	"fits_program_fk": internalOnly, "changes_program_fk": internalOnly, "changes_pk": internalOnly, "changes_op_ck": internalOnly,

	"sessions_pk": raced, "sessions_secret_uq": raced, "sessions_member_fk": ended, "sessions_token_fk": ended,
	"sign_in_codes_pk": raced, "sign_in_codes_member_fk": missing("/member_id", "member"), "sign_in_codes_token_fk": ended,
	"sign_in_code_programs_pk": raced,

	"tokens_member_fk":           missing("/member_id", "member"),
	"teams_competition_fk":       missing("/competition_id", "competition"),
	"roster_spells_team_fk":      missing("/team_id", "team"),
	"roster_spells_goalie_fk":    missing("/goalie_id", "goalie"),
	"games_team_fk":              missing("/team_id", "team"),
	"games_competition_fk":       missing("/competition_id", "competition"),
	"stints_game_fk":             missing("/game_id", "game"),
	"stints_goalie_fk":           missing("/goalie_id", "goalie"),
	"shots_game_fk":              missing("/game_id", "game"),
	"shots_goalie_fk":            missing("/goalie_id", "goalie"),
	"shots_faced_goalie_fk":      missing("/goalie_id", "goalie"),
	"shots_faced_stint_fk":       missing("/game_id", "stint"),
	"shots_stint_fk":             missing("/stint_id", "stint"),
	"shots_counted_reading_fk":   missing("/counted_reading_id", "reading"),
	"shots_ground_view_fk":       missing("/ground_view_id", "view"),
	"shots_goal_view_fk":         missing("/goal_view_id", "view"),
	"readings_game_fk":           missing("/shot_id", "game"),
	"clears_game_fk":             missing("/game_id", "game"),
	"clears_shot_fk":             missing("/shot_id", "shot"),
	"clears_goalie_fk":           missing("/goalie_id", "goalie"),
	"clears_cage_goalie_fk":      missing("/goalie_id", "goalie"),
	"clears_cage_stint_fk":       missing("/game_id", "stint"),
	"views_game_fk":              missing("/game_id", "game"),
	"assignments_goalie_fk":      missing("/goalie_id", "goalie"),
	"assignments_target_fk":      missing("/target_id", "target"),
	"assignments_drill_fk":       missing("/drill_id", "drill"),
	"assignments_rule_fk":        missing("/rule_id", "rule"),
	"assignments_swapped_for_fk": missing("/swapped_for_id", "assignment"),
	"practice_logs_goalie_fk":    missing("/goalie_id", "goalie"),
	"practice_logs_team_fk":      missing("/team_id", "team"),
	"readings_shot_fk":           missing("/shot_id", "shot"),
	"readings_member_fk":         missing("", "member"),
	"rules_target_fk":            missing("/target_id", "target"),
	"rules_drill_fk":             missing("/drill_id", "drill"),

	"programs_units_ck": listed("/units"), "members_role_ck": listed("/role"),
	"seasons_span_ck":              {domain.Invalid, "/ends_on", "must not come before starts_on"},
	"competitions_code_of_play_ck": listed("/code_of_play"), "competitions_level_ck": listed("/level"),
	"competitions_clear_line_ck": listed("/clear_line"), "competitions_own_goal_rule_ck": listed("/own_goal_rule"),
	"goalies_stick_hand_ck": listed("/stick_hand"), "goalies_age_band_ck": listed("/age_band"),
	"goalies_availability_ck":    listed("/availability"),
	"roster_spells_span_ck":      {domain.Invalid, "/to_on", "must not come before from_on"},
	"games_kind_ck":              listed("/kind"),
	"games_ended_ck":             {domain.Invalid, "/ended_clock_s", "goes with ended_period"},
	"stints_span_ck":             {domain.Invalid, "/end_clock_s", "must not come before the start"},
	"shots_outcome_ck":           listed("/outcome"),
	"shots_time_ck":              {domain.Invalid, "/period", "a shot needs a time: period with clock_s, or film_ms"},
	"shots_faced_how_ck":         internalOnly,
	"clears_result_ck":           listed("/result"),
	"clears_time_ck":             {domain.Invalid, "/period", "a clear needs a time or a shot"},
	"clears_cage_how_ck":         internalOnly,
	"views_plane_ck":             listed("/plane"),
	"views_span_ck":              {domain.Invalid, "/to_film_ms", "must not come before from_film_ms"},
	"assignments_status_ck":      listed("/status"),
	"assignments_reason_ck":      {domain.Invalid, "/reason", "a dropped assignment says why"},
	"assignments_swapped_for_ck": {domain.Invalid, "/swapped_for_id", "goes from one that was dropped to another"},
	"readings_how_read_ck":       listed("/how_read"),
	"drills_ball_ck":             listed("/ball"), "drills_effort_ck": listed("/effort"),
	"rules_season_part_ck": listed("/season_part"),
	"fits_code_of_play_ck": listed("/code_of_play"), "fits_level_ck": listed("/level"),
}

var (
	raced        = refusal{domain.Conflict, "", "Somebody wrote this record at the same time; try again."}
	internalOnly = refusal{domain.Internal, "", ""}
	ended        = refusal{domain.Unauthenticated, "", "The token was revoked or the member removed."}
)

func missing(pointer, noun string) refusal {
	return refusal{domain.Invalid, pointer, "there is no such " + noun}
}

func listed(pointer string) refusal {
	return refusal{domain.Invalid, pointer, "is not on the list of codes"}
}

// worthRetrying tells whether the whole transaction should run again: a serialization failure, a deadlock, a lost
// race to create the same record, or a connection that was lost or refused before anything was done. A commit whose
// reply was lost never: the driver can call it safe, but only the client, who knows its ids, can send it again.
func worthRetrying(err error) bool {
	if _, ok := errors.AsType[*acquireError](err); ok {
		return false
	}
	if pooledLost(err) {
		return true
	}
	if pg, ok := errors.AsType[*pgconn.PgError](err); ok {
		return pg.Code == "40001" || pg.Code == "40P01" ||
			pg.Code == "23505" && strings.HasSuffix(pg.ConstraintName, "_pk") &&
				pg.ConstraintName != "record_ids_pk" // another noun was first, and stays so
	}
	_, sent := errors.AsType[*commitError](err)
	return !sent && pgconn.SafeToRetry(err)
}

// pooledLost tells whether an idle connection turned out to be dead when a transaction was to begin on it, as all are
// after the server restarts. A server that cannot be reached is another matter: trying longer would only keep the caller.
func pooledLost(err error) bool {
	if _, begun := errors.AsType[*beginError](err); !begun {
		return false
	}
	if _, connecting := errors.AsType[*pgconn.ConnectError](err); connecting {
		return false
	}
	pg, told := errors.AsType[*pgconn.PgError](err)
	return !told || strings.HasPrefix(pg.Code, "57P")
}

// asDomain turns whatever went wrong into a *domain.Error. Text of the driver never leaves as a message.
func asDomain(ctx context.Context, err error) error {
	if e, ok := errors.AsType[*domain.Error](err); ok {
		return e
	}
	if _, ok := errors.AsType[*beginError](err); ok && (codeOf(err) == "22023" || codeOf(err) == "42501") {
		return &domain.Error{Code: domain.Unavailable, Retry: 10 * time.Second, Cause: err,
			Message: "The database is not set up for the service; /readyz says what is missing."}
	}
	if pg, ok := errors.AsType[*pgconn.PgError](err); ok {
		return ofPostgres(pg)
	}
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return domain.Errorf(domain.NotFound, "There is no such record.")
	case errors.Is(ctx.Err(), context.Canceled):
		return &domain.Error{Code: domain.Timeout, Message: "The request was given up.", Cause: err}
	case errors.Is(ctx.Err(), context.DeadlineExceeded):
		return &domain.Error{Code: domain.Timeout, Message: "It took too long; try again.", Cause: err}
	}
	if _, waiting := errors.AsType[*acquireError](err); waiting && errors.Is(err, context.DeadlineExceeded) {
		return shed(domain.ShedConnections)
	}
	return unavailable(err)
}

func ofPostgres(pg *pgconn.PgError) error {
	if r, ok := constraints[pg.ConstraintName]; ok && r.code != domain.Internal {
		return r.error(pg)
	}
	switch {
	case pg.Code == "57014" || pg.Code == "55P03":
		return &domain.Error{Code: domain.Timeout, Message: "It took too long; try again.", Cause: pg}
	case pg.Code == "40001", pg.Code == "40P01", pg.Code == "25006", pg.Code == "25P03", pg.Code == "53300",
		strings.HasPrefix(pg.Code, "08"), strings.HasPrefix(pg.Code, "57P"), strings.HasPrefix(pg.Code, "53"):
		return unavailable(pg)
	}
	return &domain.Error{Code: domain.Internal, Message: "Something went wrong on our side.", Cause: pg}
}

// error makes the refusal's error.
func (r refusal) error(pg *pgconn.PgError) error {
	e := &domain.Error{Code: r.code, Message: "The record breaks a rule.", Cause: pg}
	if r.pointer == "" {
		e.Message = r.detail
	} else {
		e.Fields = []domain.FieldError{{Pointer: r.pointer, Detail: r.detail}}
	}
	return e
}

// inUse turns the error of a removal. A foreign key refuses in two directions with one code and a text in the
// server's language: a write that names nothing, and, here, the removal of something that others stand on.
func inUse(err error) error {
	if pg, ok := errors.AsType[*pgconn.PgError](err); ok && pg.Code == "23503" {
		return &domain.Error{Code: domain.InUse, Cause: pg,
			Message: "It cannot be removed: " + strings.ReplaceAll(pg.TableName, "_", " ") + " stand on it."}
	}
	return err
}

func unavailable(err error) error {
	return &domain.Error{Code: domain.Unavailable, Retry: 2 * time.Second, Cause: err,
		Message: "The database does not answer at the moment; send the same again shortly."}
}
