package postgres

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

func newAssignments(db *DB, s *Stores, judge domain.Judge) *records[domain.AssignmentFields, domain.AssignmentFound] {
	r := newRecords[domain.AssignmentFields, domain.AssignmentFound](db, domain.NounAssignment, "assignments")
	r.own = ofOwnGoalies("assignments")
	r.filters = map[string]string{
		"goalie": "assignments.goalie_id = @goalie",
		"team":   "(" + goalieInTeam("assignments.goalie_id", "= @team") + ") IS TRUE",
	}
	r.home = func(rec domain.Assignment) home { return home{goalie: &rec.Fields.GoalieID} }
	r.first = func(ctx context.Context, t *tx, id domain.ID) error { // the goalie before the block, as an erasure does
		var goalie domain.ID
		err := t.QueryRow(ctx, `SELECT goalie_id FROM assignments WHERE program_id = $1 AND id = $2`, t.program, id).Scan(&goalie)
		switch {
		case errors.Is(err, pgx.ErrNoRows):
			return nil
		case err != nil:
			return err
		}
		return holdPerson(ctx, t, "pg_advisory_xact_lock_shared", goalie)
	}
	r.person = func(_ domain.ID, f domain.AssignmentFields) (domain.Noun, domain.ID) {
		return domain.NounGoalie, f.GoalieID
	}
	r.check = func(ctx context.Context, t *tx, _ domain.Actor, before, after *domain.Assignment) error {
		if err := refuseMissingGoalie(ctx, t, after.Fields.GoalieID); err != nil {
			return err
		}
		if err := refuseForeignSwap(ctx, t, r, *after); err != nil || before == nil {
			return err
		}
		return refuseMovedSwap(ctx, t, before.Fields, *after)
	}
	r.freeze = func(ctx context.Context, t *tx, before, after *domain.Assignment) error {
		if before != nil && before.Fields.SameBlock(after.Fields) {
			return nil
		}
		var err error
		after.Found.Baselines, err = s.baselines(ctx, t, judge, after.Fields)
		return err
	}
	return r
}

// refuseForeignSwap keeps an assignment from being swapped for itself, or for one of another goalie or target. The other
// is held, so that it stays what it is until the commit.
func refuseForeignSwap(ctx context.Context, t *tx, r *records[domain.AssignmentFields, domain.AssignmentFound], a domain.Assignment) error {
	const pointer = "/swapped_for_id"
	id := a.Fields.SwappedForID
	switch {
	case id == nil:
		return nil
	case *id == a.ID:
		return domain.InvalidField(pointer, "must name another assignment")
	}
	other, err := r.load(ctx, t, *id, "FOR SHARE")
	switch {
	case err != nil:
		return err
	case other == nil:
		return domain.InvalidField(pointer, "there is no such assignment")
	case other.Fields.GoalieID != a.Fields.GoalieID:
		return domain.InvalidField(pointer, "is of another goalie")
	case other.Fields.TargetID != a.Fields.TargetID:
		return domain.InvalidField(pointer, "is for another target")
	}
	return nil
}

// refuseMovedSwap keeps an assignment for which another was swapped with its goalie and target.
func refuseMovedSwap(ctx context.Context, t *tx, before domain.AssignmentFields, a domain.Assignment) error {
	pointer := "/target_id"
	switch {
	case before.GoalieID != a.Fields.GoalieID:
		pointer = "/goalie_id"
	case before.TargetID == a.Fields.TargetID:
		return nil
	}
	var named bool
	err := t.QueryRow(ctx, `SELECT EXISTS (SELECT 1 FROM assignments WHERE program_id = $1 AND swapped_for_id = $2)`,
		t.program, a.ID).Scan(&named)
	if err == nil && named {
		return domain.InvalidField(pointer, "cannot change; another assignment was swapped for this one")
	}
	return err
}

// baselines works out what is known of an assignment's target in the goalie's week before it begins; nil when there is no
// such goalie or target, which is refused later.
func (s *Stores) baselines(ctx context.Context, t *tx, judge domain.Judge, f domain.AssignmentFields) (*[]domain.BlockBaseline, error) {
	goalie, err := s.Goalies.load(ctx, t, f.GoalieID, "")
	if err != nil || goalie == nil {
		return nil, err
	}
	target, err := s.Targets.load(ctx, t, f.TargetID, "")
	if err != nil || target == nil {
		return nil, err
	}
	common, err := s.Weeks.library(ctx, t, domain.WeekOf(f.StartsOn.AddDays(-1)))
	if err != nil {
		return nil, err
	}
	if !target.Fields.Active { // its look-back is read all the same
		common.Targets = append(common.Targets, *target)
	}
	records, err := s.Weeks.weeksOf(ctx, t, common, []domain.Goalie{*goalie}, false)
	if err != nil {
		return nil, err
	}
	return new(judge.Baselines(records[0], *target)), nil
}

// goalieInTeam is the condition that a goalie is or was on the roster of a team.
func goalieInTeam(goalie, team string) string {
	return `EXISTS (SELECT 1 FROM roster_spells s WHERE s.program_id = @program AND s.goalie_id = ` + goalie +
		` AND s.team_id ` + team + `)`
}

// ofOwnGoalies confines to goalies of own teams, and to those whom one made and who were on no roster yet.
func ofOwnGoalies(table string) string {
	goalie := table + ".goalie_id"
	return "((" + goalieInTeam(goalie, "= ANY(@own_teams)") + ") OR EXISTS (SELECT 1 FROM goalies o " +
		"WHERE o.program_id = @program AND o.id = " + goalie + " AND o.made_by = @own_member))"
}

// refuseMissingGoalie says so before the database does: of a goalie that is not there nobody owns anything.
func refuseMissingGoalie(ctx context.Context, t *tx, id domain.ID) error {
	var there domain.ID
	err := t.QueryRow(ctx, `SELECT id FROM goalies WHERE program_id = $1 AND id = $2`, t.program, id).Scan(&there)
	return missingIfNone(err, "/goalie_id", "goalie")
}
