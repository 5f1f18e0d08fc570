package postgres

import (
	"context"

	"cagework/domain"
)

type lines struct {
	db     *DB
	stores *Stores
}

// Goalie gives what a goalie faced over a span or a season.
func (l *lines) Goalie(ctx context.Context, a domain.Actor, goalie domain.ID, span domain.Span, season *domain.ID) (domain.LineRecords, error) {
	var out domain.LineRecords
	err := l.db.inList(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		if _, err := l.stores.goalieFor(ctx, t, a, domain.NounLine, goalie); err != nil {
			return err
		}
		var err error
		out, err = l.stores.lineRecords(ctx, t, ofGoalies(goalie), span, season)
		return err
	})
	return out, err
}

// Team gives what a team's cage saw over a span or a season.
func (l *lines) Team(ctx context.Context, a domain.Actor, team domain.ID, span domain.Span, season *domain.ID) (domain.LineRecords, error) {
	var out domain.LineRecords
	err := l.db.inList(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		if _, err := l.stores.teamFor(ctx, t, a, domain.NounLine, team); err != nil {
			return err
		}
		var err error
		if out, err = l.stores.lineRecords(ctx, t, ofTeam(team), span, season); err != nil {
			return err
		}
		out.Goalies, err = l.stores.goaliesIn(ctx, t, out.Faced)
		return err
	})
	return out, err
}

// lineRecords reads what lines are worked out from, the seasons that touch the span and the fits.
func (s *Stores) lineRecords(ctx context.Context, t *tx, who cage, span domain.Span, season *domain.ID) (domain.LineRecords, error) {
	var out domain.LineRecords
	condition, args := "true ORDER BY starts_on, seasons.id", []any{}
	if season != nil {
		condition, args = "id = $2", []any{*season}
	}
	var err error
	if out.Seasons, err = s.Seasons.where(ctx, t, condition, args...); err != nil {
		return out, err
	}
	if season != nil {
		if len(out.Seasons) == 0 {
			return out, domain.InvalidField("season_id", "there is no such season")
		}
		span = narrowed(span, out.Seasons[0].Fields)
	}
	if out.Faced, err = s.faced(ctx, t, who, span); err != nil {
		return out, err
	}
	out.Fits, err = s.Fits.newest(ctx, t)
	return out, err
}

// goaliesIn gives the goalies who stood in the cage, in the order of ids.
func (s *Stores) goaliesIn(ctx context.Context, t *tx, f domain.FacedRecords) ([]domain.Goalie, error) {
	var ids []domain.ID
	add := func(id *domain.ID) {
		if id != nil {
			ids = append(ids, *id)
		}
	}
	for _, shot := range f.Shots {
		add(shot.Shot.Found.FacedGoalieID)
	}
	for _, stint := range f.Stints {
		add(stint.Stint.Fields.GoalieID)
	}
	for _, c := range f.Clears {
		add(c.Clear.Found.CageGoalieID)
	}
	return s.Goalies.where(ctx, t, "id = ANY($2) ORDER BY goalies.id", ids)
}

// narrowed gives the part of a span that lies in a season.
func narrowed(span domain.Span, s domain.SeasonFields) domain.Span {
	if span.From.IsZero() || span.From.Before(s.StartsOn) {
		span.From = s.StartsOn
	}
	if span.To.IsZero() || s.EndsOn.Before(span.To) {
		span.To = s.EndsOn
	}
	return span
}

// goalieFor reads a goalie about whom the actor may read the noun.
func (s *Stores) goalieFor(ctx context.Context, t *tx, a domain.Actor, noun domain.Noun, id domain.ID) (domain.Goalie, error) {
	if err := domain.MayAny(a, domain.Read, noun); err != nil {
		return domain.Goalie{}, err
	}
	goalie, err := s.Goalies.load(ctx, t, id, "")
	if err != nil {
		return domain.Goalie{}, err
	}
	if goalie == nil {
		return domain.Goalie{}, notFound(domain.NounGoalie)
	}
	on, err := goalieSubject(ctx, t, id)
	if err != nil {
		return domain.Goalie{}, err
	}
	return *goalie, domain.May(a, domain.Read, noun, on)
}

// teamFor reads a team about which the actor may read the noun.
func (s *Stores) teamFor(ctx context.Context, t *tx, a domain.Actor, noun domain.Noun, id domain.ID) (domain.Team, error) {
	if err := domain.MayAny(a, domain.Read, noun); err != nil {
		return domain.Team{}, err
	}
	team, err := s.Teams.load(ctx, t, id, "")
	if err != nil {
		return domain.Team{}, err
	}
	if team == nil {
		return domain.Team{}, notFound(domain.NounTeam)
	}
	return *team, domain.May(a, domain.Read, noun, domain.Subject{TeamIDs: []domain.ID{id}})
}
