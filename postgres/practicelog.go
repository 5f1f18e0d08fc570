package postgres

import (
	"context"
	"fmt"

	"cagework/domain"
)

func newPracticeLogs(db *DB) *records[domain.PracticeLogFields, domain.None] {
	r := newRecords[domain.PracticeLogFields, domain.None](db, domain.NounPracticeLog, "practice_logs")
	r.own = "(practice_logs.team_id = ANY(@own_teams)) IS TRUE"
	r.filters = map[string]string{
		"goalie": "practice_logs.goalie_id = @goalie",
		"team":   "(practice_logs.team_id = @team) IS TRUE",
		"from":   "(practice_logs.practised_on BETWEEN @from AND @to) IS TRUE",
	}
	r.home = func(rec domain.PracticeLog) home { return home{teams: []domain.ID{rec.Fields.TeamID}} }
	r.check = checkPracticeLog
	return r
}

// checkPracticeLog keeps a log to a goalie whom the actor may write of, and to drills of the library.
func checkPracticeLog(ctx context.Context, t *tx, a domain.Actor, _, after *domain.PracticeLog) error {
	if err := refuseMissingGoalie(ctx, t, after.Fields.GoalieID); err != nil {
		return err
	}
	on, err := goalieSubject(ctx, t, after.Fields.GoalieID)
	if err != nil {
		return err
	}
	if err := domain.May(a, domain.Write, domain.NounPracticeLog, on); err != nil {
		return err
	}
	ids := make([]domain.ID, len(after.Fields.Done))
	for i, d := range after.Fields.Done {
		ids[i] = d.DrillID
	}
	return refuseUnknown(ctx, t, "drills", func(i int) string { return fmt.Sprintf("/done/%d/drill_id", i) }, "drill", ids)
}
