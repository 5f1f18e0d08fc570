package invented

import (
	"maps"
	"math"
	"slices"

	"cagework/domain"
)

// truth holds a goalie's true chances in a play. The chance of a hit, on the logit scale, is the sum of the weights of
// the targets that a shot belongs to; of a save, also of what the goalie did before the release.
type truth struct {
	subjects map[string]*subject // by what the hit asks about: "outcome", a habit, "rebound", "clear_result"
}

// subject is one thing that is a hit or not, with the targets that ask about it. A subject with one target has no
// weight for it: its lift alone is the chance.
type subject struct {
	targets []domain.TargetFields
	rates   []float64 // the targets' rates in the play
	weights []float64 // of each target, on the logit scale
	lift    float64   // of all shots, on the logit scale
	sample  sample
}

// costs says what doing without a habit costs a save, on the logit scale. Invented; about a tenth of the saves for the
// largest.
var costs = map[string]float64{
	"set_before_release": .7, "held_ground": .6, "on_angle": .5, "saw_release": .4, "stepped_to_ball": .3,
	"matched_stick": .2, "square_to_ball": .2,
}

// plain are the habits that have no target, with how often they are seen to be there.
var plain = map[string]float64{"saw_release": .80, "stick_beat_ball": .60}

func logit(p float64) float64   { return math.Log(p / (1 - p)) }
func inverse(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// subjectsOf sorts the targets in use that are judged in a play by what their hit asks about.
func subjectsOf(targets []domain.Target, c domain.CompetitionFields) map[string]*subject {
	out := map[string]*subject{}
	for _, t := range targets {
		rate := t.Fields.RateFor(c.CodeOfPlay, c.Level)
		if !t.Fields.Active || rate == nil {
			continue
		}
		name := t.Fields.Hit[0].Field
		if out[name] == nil {
			out[name] = &subject{}
		}
		s := out[name]
		s.targets, s.rates = append(s.targets, t.Fields), append(s.rates, *rate)
		s.weights = append(s.weights, 0)
	}
	for name, rate := range plain {
		out[name] = &subject{lift: logit(rate)}
	}
	return out
}

// logit gives the chance of a hit on a shot, on the logit scale.
func (s *subject) logit(c *domain.CountedShot) float64 {
	sum := s.lift
	for i, t := range s.targets {
		if s.weights[i] != 0 && domain.All(t.Of, c) == domain.True {
			sum += s.weights[i]
		}
	}
	return sum
}

// of gives the truth of a goalie: at the targets, lifted by a draw from what the goalie reaches above them, the weakness
// lowered and the strength raised.
func (t *truth) of(g Goalie, d dice) *truth {
	out := &truth{subjects: map[string]*subject{}}
	for _, name := range slices.Sorted(maps.Keys(t.subjects)) { // so that the draws do not hang on the order of a map
		s := *t.subjects[name]
		s.weights = slices.Clone(s.weights)
		if len(s.targets) > 0 {
			above := d.between(g.Above[0], g.Above[1])
			s.lift += logit(min(.97, s.rates[0]+above)) - logit(s.rates[0])
		}
		for k, target := range s.targets {
			switch rate := s.rates[k]; target.Code {
			case g.Weakness:
				s.set(k, rate-g.Gap)
			case g.Strength:
				s.set(k, min(.95, rate+strong))
			}
		}
		out.subjects[name] = &s
	}
	return out
}

// strong is how far above its target the true rate of a strength lies.
const strong = 0.14

// set brings the expected rate of one target to a rate.
func (s *subject) set(k int, rate float64) {
	if len(s.targets) == 1 {
		s.lift = logit(rate)
		return
	}
	logits := slices.Clone(s.sample.logits)
	for i := range logits {
		logits[i] += s.lift
	}
	for range 8 { // each step leaves about a tenth of the distance
		s.weights[k] += s.sample.step(k, rate, logits)
	}
}
