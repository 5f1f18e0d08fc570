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
func (l *lines) Goalie(ctx context.Context, a domain.Actor, goalie domain.ID, span domain.Span, season *domain.ID) (domain.FacedRecords, error) {
	var faced domain.FacedRecords
	err := l.db.inProgram(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		if _, err := l.stores.goalieFor(ctx, t, a, domain.NounLine, goalie); err != nil {
			return err
		}
		if season != nil {
			s, err := l.stores.Seasons.load(ctx, t, *season, "")
			if err != nil {
				return err
			}
			if s == nil {
				return domain.InvalidField("season_id", "there is no such season")
			}
			span = narrowed(span, s.Fields)
		}
		var err error
		faced, err = l.stores.faced(ctx, t, goalie, span)
		return err
	})
	return faced, err
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
