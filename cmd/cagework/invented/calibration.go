package invented

import (
	"maps"
	"slices"

	"cagework/domain"
)

const (
	sampled = 12000 // shots that the weights are fitted on
	sweeps  = 40    // over the targets; the rates then hold to far less than a shot in a season
)

// calibrate gives the truth of a goalie who stands exactly at every target of a play. Targets overlap (a low shot may
// be off-side and from the alley), so their weights are fitted together on a sample of shots, by iterative proportional
// fitting (Deming & Stephan 1940, Annals of Mathematical Statistics 11:427): in turn, each target's weight moves until
// its expected rate is the target's.
func (m *Model) calibrate(p *play, d dice) *truth {
	t := &truth{subjects: subjectsOf(m.Starter.Targets, p.competition)}
	shots := make([]*domain.CountedShot, sampled)
	for i := range shots {
		hand := domain.Hands[i%len(domain.Hands)]
		shots[i] = m.counted(p, d.circumstances(p.competition, p.onGoal, hand), hand)
	}
	for name, s := range t.subjects {
		if name != "outcome" {
			s.fit(shots, m.readable(name), func(int) float64 { return 0 })
		}
	}
	costs := make([]float64, len(shots))
	for i, c := range shots {
		costs[i] = costOf(t.habits(d, c, m.Starter.Habits))
	}
	t.subjects["outcome"].fit(shots, onGoal, func(i int) float64 { return -costs[i] })
	return t
}

func (m *Model) counted(p *play, f domain.ShotFields, hand domain.Hand) *domain.CountedShot {
	return &domain.CountedShot{
		Shot: domain.Shot{Fields: f}, Competition: p.competition, StickHand: hand, Habits: m.Starter.Habits,
	}
}

func onGoal(c *domain.CountedShot) bool { return c.Shot.Fields.Outcome.OnGoal() }

// readable tells on which shots a subject is asked about: a habit where it can be read, all else everywhere.
func (m *Model) readable(subject string) func(*domain.CountedShot) bool {
	h := domain.HabitNamed(m.Starter.Habits, subject)
	return func(c *domain.CountedShot) bool { return h == nil || h.Readable(c) != domain.False }
}

// sample is what a subject's weights are fitted on: of each shot the chance of a hit, on the logit scale, and for each
// target the shots that count.
type sample struct {
	logits  []float64
	members [][]int
}

// fit finds the weights under which every target's expected rate over the shots that count is the target's. base is
// what else goes into a shot's chance, on the logit scale.
func (s *subject) fit(shots []*domain.CountedShot, counts func(*domain.CountedShot) bool, base func(i int) float64) {
	if len(s.targets) == 1 {
		s.lift = logit(s.rates[0])
		return
	}
	s.sample = sample{make([]float64, len(shots)), make([][]int, len(s.targets))}
	for i, c := range shots {
		if s.sample.logits[i] = base(i); !counts(c) {
			continue
		}
		for k, t := range s.targets {
			if domain.All(t.Of, c) == domain.True {
				s.sample.members[k] = append(s.sample.members[k], i)
			}
		}
	}
	for range sweeps {
		for k := range s.targets {
			s.weights[k] += s.sample.step(k, s.rates[k], s.sample.logits)
		}
	}
}

// step moves the chances of the shots that count for a target so that their mean comes close to a rate, and gives by
// how much on the logit scale.
func (s *sample) step(k int, rate float64, logits []float64) float64 {
	if len(s.members[k]) == 0 {
		return 0
	}
	mean := 0.0
	for _, i := range s.members[k] {
		mean += inverse(logits[i]) / float64(len(s.members[k]))
	}
	by := logit(rate) - logit(mean)
	for _, i := range s.members[k] {
		logits[i] += by
	}
	return by
}

// habits draws what the goalie did on a shot, of the habits that can be read on it.
func (t *truth) habits(d dice, c *domain.CountedShot, habits []domain.Habit) map[string]bool {
	did := map[string]bool{}
	for _, h := range habits {
		s := t.subjects[h.Fields.Code]
		if s != nil && h.Fields.Active && h.Fields.Readable(c) != domain.False {
			did[h.Fields.Code] = d.chance(inverse(s.logit(c)))
		}
	}
	return did
}

// costOf adds up what the habits that were not there cost a save, on the logit scale.
func costOf(did map[string]bool) float64 {
	sum := 0.0
	for _, habit := range slices.Sorted(maps.Keys(did)) {
		if !did[habit] {
			sum += costs[habit]
		}
	}
	return sum
}

// saved draws whether a shot on goal is saved; lift moves the chance on the logit scale.
func (t *truth) saved(d dice, c *domain.CountedShot, did map[string]bool, lift float64) bool {
	return d.chance(inverse(t.subjects["outcome"].logit(c) - costOf(did) + lift))
}
