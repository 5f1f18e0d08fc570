package judgement

import "cagework/domain"

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
			aim := HabitAim{Name: habit.Name, Target: *r.TargetRate, Games: r.Games, Rate: r.posterior.Quantile}
			w := e.WorthOf(aim, Between(play.Faced, r.From, r.To).Shots, habits, &fitted.Difficulty, bounds.Habits)
			return &w
		}
	}
	return nil
}
