package summary

import (
	"fmt"

	"cagework/domain"
	"cagework/domain/judgement"
)

// Expected compares saves with those that a goalie of average effect would have made of the same shots.
type Expected struct {
	FitID  domain.ID `json:"fit_id"` // by which fit it was worked out
	Shots  int       `json:"shots"`  // on goal, of which the fit speaks: none with the goalie out of the cage
	Saves  int       `json:"saves"`  // of them
	Saved  *float64  `json:"expected"`
	Above  *float64  `json:"above"` // saves above expected; these four are null without a shot
	Low    *float64  `json:"low"`   // of the 95 % interval; while 0 lies in it, the saves are in keeping with an average goalie
	High   *float64  `json:"high"`
	Pooled bool      `json:"pooled"` // every shot counts as equally hard: there is no model to tell them apart
}

// Fits are the fits in use, read back from their records.
type Fits map[judgement.FitKey]judgement.Fitted

// fitsOf reads fits back. One that this version of the service cannot use is as good as none: then nothing is expected.
func fitsOf(records []domain.Fit) Fits {
	fits, _ := judgement.ReadFits(records)
	return fits
}

// expected gives the comparison over the shots of one line; nil when there is no fit.
func (f Fits) expected(key lineKey, faced []*domain.CountedShot) *Expected {
	fit := judgement.FittedIn(f, key.code, key.level)
	if fit == nil {
		return nil
	}
	e := fit.Difficulty.Expect(faced, judgement.Shown)
	return &Expected{fit.ID, e.Shots, e.Saves, e.Expected, e.Above, e.Low, e.High, e.Pooled}
}

// leastGames is how many games a line must be of before a sentence speaks of saves above expected: of one game it would
// be a verdict on a goalie's bad day.
const leastGames = 2

// expectedSentence says how the saves of a season compare; nil when there is nothing to say.
func expectedSentence(l Line) *string {
	e := l.Expected
	if e == nil || e.Above == nil || l.Games < leastGames {
		return nil
	}
	verdict := "in keeping with an average goalie of the program"
	switch {
	case *e.Low > 0:
		verdict = "more than chance would give an average goalie of the program"
	case *e.High < 0:
		verdict = "fewer than chance would leave an average goalie of the program"
	}
	amount, side := besideExpected(*e.Above)
	least, leastSide := besideExpected(*e.Low)
	most, mostSide := besideExpected(*e.High)
	s := fmt.Sprintf("%.1f saves %s expected, on %s on goal (%s %% interval %.0f %s to %.0f %s): %s.",
		amount, side, countOf(e.Shots, "shot"), Hundred(judgement.Shown), least, leastSide, most, mostSide, verdict)
	if e.Pooled {
		s += " All shots count as equally hard: too few are charted to tell them apart."
	}
	return &s
}

func besideExpected(saves float64) (amount float64, side string) {
	if saves < 0 {
		return -saves, "below"
	}
	return saves, "above"
}

// expectedMethod says how the saves expected are worked out.
func expectedMethod() string {
	return " Saves expected are an average goalie's on the same shots, by a logistic model that was fitted without the goalie's " +
		"own; chance and the model's uncertainty give such a goalie the interval in " + Hundred(judgement.Shown) + " of 100 cases."
}
