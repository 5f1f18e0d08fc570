package invented

import (
	"slices"

	"cagework/domain"
)

var (
	saveBys  = []share[domain.SaveBy]{{"stick", .66}, {"body", .22}, {"leg", .12}}
	outlets  = []share[domain.Outlet]{{"complete", .70}, {"incomplete", .12}, {"carried", .18}}
	kept     = []share[domain.Rebound]{{"held", .62}, {"directed", .38}}
	loose    = []share[domain.Rebound]{{"loose_won", .45}, {"loose_lost", .55}}
	noSecond = 4 // seconds at either end of a period without a shot, so that no shot falls on a change of goalies
)

// addShots charts a number of shots, in the order of time.
func (k *maker) addShots(m match, number int) {
	periodS := m.play.competition.PeriodS
	times := make([]int, number)
	for i := range times {
		times[i] = k.IntN(m.play.competition.Periods)*periodS + noSecond + k.IntN(periodS-2*noSecond)
	}
	slices.Sort(times)
	for i, elapsed := range times {
		period := elapsed/periodS + 1
		j := slices.IndexFunc(m.spells, func(s spell) bool { return s.from <= period && period <= s.to })
		k.addShot(m, m.spells[j].player, i, elapsed)
	}
	k.addOtherClears(m)
}

func (k *maker) addShot(m match, p *player, number, elapsed int) {
	c := k.counted(m.play, k.circumstances(m.play.competition, m.play.onGoal, p.Hand), p.Hand)
	f := &c.Shot.Fields
	c.Shot.ID, f.GameID = k.id("shot %s %d", m.game.ID, number), m.game.ID
	periodS := m.play.competition.PeriodS
	period, clock := elapsed/periodS+1, periodS-elapsed%periodS
	f.Period, f.ClockS = &period, &clock
	if m.film {
		film := filmMs(elapsed) + k.IntN(1000)
		f.FilmMs = &film
	} else {
		f.FinishXM, f.FinishUpM = nil, nil // by eye at the field: bands and sides
	}
	did := p.truth.habits(k.dice, c, k.Starter.Habits)
	if f.Outcome == domain.Save {
		k.settle(c, p, did, p.slump(k.weekOf(m.game)))
	}
	k.program.Shots = append(k.program.Shots, c.Shot)
	k.read(m, c, did)
	if f.Outcome == domain.Save {
		k.clearAfter(m, c, p)
	}
}

// weekOf gives the week of a game, counted from 1.
func (k *maker) weekOf(g domain.Game) int {
	return int(g.Fields.PlayedOn.Time().Sub(k.first.Time()).Hours()/24/7) + 1
}

// settle says how a shot on goal ended; lift moves the chance of a save, on the logit scale.
func (k *maker) settle(c *domain.CountedShot, p *player, did map[string]bool, lift float64) {
	f := &c.Shot.Fields
	if !p.truth.saved(k.dice, c, did, lift) {
		f.Outcome, f.WavedOff = domain.Goal, k.chance(.015)
		return
	}
	by := pick(k.dice, saveBys)
	f.SaveBy = &by
	if k.chance(.94) {
		rebound := pick(k.dice, loose)
		if k.chance(inverse(p.truth.subjects["rebound"].logit(c))) {
			rebound = pick(k.dice, kept)
		}
		f.Rebound = &rebound
	}
	if f.Rebound != nil && *f.Rebound != "loose_lost" {
		outlet := pick(k.dice, outlets)
		f.Outlet = &outlet
	}
}

// read charts what a recorder read of a shot. Now and then nobody looked, or the picture could not show it.
func (k *maker) read(m match, c *domain.CountedShot, did map[string]bool) {
	f := c.Shot.Fields
	if m.read == "" || f.Deflected || f.GoalieOut || f.WavedOff || k.chance(.04) {
		return
	}
	answers := map[string]domain.Answer{}
	for _, h := range k.Starter.Habits {
		code := h.Fields.Code
		yes, there := did[code]
		if !there || !m.habits[code] || h.Fields.Readable(c) == domain.False || (m.read == domain.Live && code != "set_before_release") {
			continue
		}
		switch {
		case k.chance(.07):
			answers[code] = domain.NotSeen
		case yes:
			answers[code] = domain.Yes
		default:
			answers[code] = domain.No
		}
	}
	if len(answers) == 0 {
		return
	}
	k.program.Readings = append(k.program.Readings, domain.Reading{
		ID:     k.id("reading %s", c.Shot.ID),
		Fields: domain.ReadingFields{ShotID: c.Shot.ID, HowRead: m.read, Habits: answers},
	})
}
