package invented

import "cagework/domain"

// clearAfter charts the clear that follows a save, most of the time.
func (k *maker) clearAfter(m match, c *domain.CountedShot, p *player) {
	if m.game.Fields.Kind == domain.KindPractice || k.chance(.12) {
		return
	}
	result := domain.ClearFailed
	switch {
	case k.chance(.06):
		result = domain.NotTried
	case k.chance(inverse(p.truth.subjects["clear_result"].logit(c))):
		result = domain.Cleared
	}
	k.program.Clears = append(k.program.Clears, domain.Clear{
		ID:     k.id("clear %s", c.Shot.ID),
		Fields: domain.ClearFields{GameID: m.game.ID, ShotID: &c.Shot.ID, Result: result},
	})
}

// addOtherClears charts clears that followed no save: after ground balls, turnovers and restarts.
func (k *maker) addOtherClears(m match) {
	if m.game.Fields.Kind != domain.KindGame {
		return
	}
	c := m.play.competition
	for i := range 5 {
		period, clock := 1+k.IntN(c.Periods), noSecond+k.IntN(c.PeriodS-2*noSecond)
		result := domain.Cleared
		if k.chance(.15) {
			result = domain.ClearFailed
		}
		k.program.Clears = append(k.program.Clears, domain.Clear{
			ID:     k.id("clear %s %d", m.game.ID, i),
			Fields: domain.ClearFields{GameID: m.game.ID, Result: result, Period: &period, ClockS: &clock},
		})
	}
}
