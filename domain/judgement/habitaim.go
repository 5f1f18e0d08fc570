package judgement

import (
	"slices"

	"cagework/domain"
)

// WorthAt gives what the habit that a rate's target asks for is worth to this goalie, by the fits of the play; nil when the
// target asks for no single habit or there are no fits yet. The play holds the goalie's shots.
func WorthAt(r Rate, fitted *Fitted, play Play, habits []domain.Habit, bounds Thresholds) *HabitWorth {
	hit := r.Target.Fields.Hit
	if fitted == nil || len(hit) != 1 || r.TargetRate == nil || r.posterior == nil {
		return nil
	}
	habit := domain.HabitNamed(habits, hit[0].Field)
	if habit == nil || hit[0].Is != string(domain.Yes) {
		return nil
	}
	for _, e := range fitted.Habits.Effects {
		if e.Habit == hit[0].Field {
			faced, kinds := Between(play.Faced, r.From, r.To), playedKinds(r.Target.Fields)
			faced.Shots = slices.DeleteFunc(faced.Shots, func(s *domain.CountedShot) bool {
				return !slices.Contains(kinds, s.Game.Fields.Kind)
			})
			aim := HabitAim{Name: habit.Name, Target: *r.TargetRate, Games: games(faced, kinds), Rate: r.posterior.Quantile}
			w := e.WorthOf(aim, faced.Shots, habits, &fitted.Difficulty, bounds.Habits)
			return &w
		}
	}
	return nil
}

// playedKinds are the kinds of games that a target reads, practice aside: shots and games must be of the same for goals a
// game to be told, and of practice shots the model does not speak.
func playedKinds(t domain.TargetFields) []domain.GameKind {
	return slices.DeleteFunc(slices.Clone(t.Kinds), func(k domain.GameKind) bool { return k == domain.KindPractice })
}
