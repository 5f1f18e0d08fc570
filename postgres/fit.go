package postgres

import (
	"context"
	"time"

	"cagework/domain"
)

// fits is a store of records that are made once: there is no way to change or remove one, and the service's role may not.
type fits struct {
	records *records[domain.FitFields, domain.FitFound]
	stores  *Stores
	judge   domain.Judge
}

func newFits(db *DB, s *Stores, judge domain.Judge) *fits {
	r := newRecords[domain.FitFields, domain.FitFound](db, domain.NounFit, "fits")
	r.filters = map[string]string{
		"code_of_play": "(fits.code_of_play = @code_of_play) IS TRUE", "level": "(fits.level = @level) IS TRUE",
	}
	return &fits{r, s, judge}
}

// List gives a page of fits without their models.
func (f *fits) List(ctx context.Context, a domain.Actor, q domain.Query) (domain.Page[domain.Fit], error) {
	page, err := f.records.List(ctx, a, q)
	for i := range page.Items {
		page.Items[i].Found.Model = nil
	}
	return page, err
}

// Get gives one fit with its model.
func (f *fits) Get(ctx context.Context, a domain.Actor, id domain.ID) (domain.Fit, error) {
	return f.records.Get(ctx, a, id)
}

// Put makes the fit or confirms that it is there. The shots are read in one transaction and the fit is written in another,
// so that nothing is locked and no connection is held while it is worked out. Tens of thousands of shots may take longer
// than the request is given: what was found is kept all the same, so that whoever asks again finds it.
func (f *fits) Put(ctx context.Context, a domain.Actor, id domain.ID, fields domain.FitFields) (domain.Fit, domain.Written, error) {
	var present *domain.Fit
	var shots []*domain.CountedShot
	var habits []domain.Habit
	err := f.records.db.inList(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		var err error
		if present, err = f.accept(ctx, t, a, id, fields); err != nil || present != nil {
			return err
		}
		if habits, err = f.stores.Habits.where(ctx, t, "true ORDER BY cause, code"); err != nil {
			return err
		}
		shots, err = f.stores.chartedOnGoal(ctx, t, fields)
		return err
	})
	if err != nil {
		return domain.Fit{}, 0, err
	}
	if present != nil {
		return *present, domain.Unchanged, nil
	}
	found, err := f.judge.Fit(fields, shots, habits)
	if err != nil {
		return domain.Fit{}, 0, &domain.Error{Code: domain.Internal, Message: "The shots could not be fitted.", Cause: err}
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	return f.write(ctx, a, domain.Fit{ID: id, Fields: fields, Found: found})
}

// accept refuses what cannot be made into a fit, and gives the fit that is there already.
func (f *fits) accept(ctx context.Context, t *tx, a domain.Actor, id domain.ID, fields domain.FitFields) (*domain.Fit, error) {
	if err := domain.May(a, domain.Write, domain.NounFit, domain.Subject{}); err != nil {
		return nil, err
	}
	if err := checkID(id); err != nil {
		return nil, err
	}
	if err := domain.Refusal(fields.Check()); err != nil {
		return nil, err
	}
	present, err := f.present(ctx, t, id, fields)
	if err != nil || present != nil {
		return present, err
	}
	if err := refuseSpent(ctx, t, domain.NounFit, id); err != nil {
		return nil, err
	}
	program, err := f.stores.Programs.present(ctx, t, "")
	if err != nil {
		return nil, err
	}
	if program.Fields.DayAt(t.now).Before(fields.FittedOn) { // it would count as the newest until that day
		return nil, domain.InvalidField("/fitted_on", "must not lie after today")
	}
	return nil, nil
}

// present gives the fit of an id; nil when there is none, an error when it is of other fields.
func (f *fits) present(ctx context.Context, t *tx, id domain.ID, fields domain.FitFields) (*domain.Fit, error) {
	present, err := f.records.load(ctx, t, id, "")
	if err == nil && present != nil && present.Fields != fields {
		return nil, &domain.Error{Code: domain.Conflict, Rev: present.Rev,
			Message: "This id already holds another fit. A fit is not changed: make a new one under a new id."}
	}
	return present, err
}

// write stores a new fit. Whoever made the same one meanwhile was first: theirs is given.
func (f *fits) write(ctx context.Context, a domain.Actor, made domain.Fit) (domain.Fit, domain.Written, error) {
	rec, how := made, domain.Created
	err := f.records.db.inProgram(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		rec, how = made, domain.Created
		present, err := f.present(ctx, t, made.ID, made.Fields)
		if err != nil {
			return err
		}
		if present != nil {
			rec, how = *present, domain.Unchanged
			return nil
		}
		return f.records.insert(ctx, t, by(a), &rec)
	})
	return rec, how, err
}

// newest gives the newest fit of each code of play and level, with its model.
func (f *fits) newest(ctx context.Context, t *tx) ([]domain.Fit, error) {
	return f.records.where(ctx, t, `id IN (SELECT DISTINCT ON (code_of_play, level) f.id FROM fits f
		WHERE f.program_id = $1 ORDER BY code_of_play, level, fitted_on DESC, f.id DESC) ORDER BY code_of_play, level`)
}

// chartedOnGoal reads the shots on goal of every goalie, from games up to the day of the fit.
func (s *Stores) chartedOnGoal(ctx context.Context, t *tx, f domain.FitFields) ([]*domain.CountedShot, error) {
	everybody := cage{ids: []domain.ID{}, shot: `$2::uuid[] IS NOT NULL AND outcome IN ('goal', 'save') AND faced_goalie_id IS NOT NULL`}
	games, err := s.gamesWhere(ctx, t, "games.played_on <= $2 AND competitions.code_of_play = $3 AND competitions.level = $4",
		f.FittedOn, f.CodeOfPlay, f.Level)
	if err != nil {
		return nil, err
	}
	ids := make([]domain.ID, 0, len(games))
	for id := range games {
		ids = append(ids, id)
	}
	return s.facedShots(ctx, t, everybody, games, ids)
}

// fitHistory is the history of fits: their creation, and that it is not undone.
type fitHistory struct {
	*records[domain.FitFields, domain.FitFound]
}

func (f *fits) history() fitHistory { return fitHistory{f.records} }

// hold has nothing to hold: a fit stays as it is.
func (fitHistory) hold(context.Context, *tx, domain.ID) error { return nil }

func (fitHistory) undo(context.Context, *tx, domain.Actor, domain.Change, domain.Change) (domain.Undone, error) {
	return domain.Undone{}, domain.Errorf(domain.Conflict, "A fit is not taken back: what was said by it must stay traceable. Make a newer one.")
}
