package summary

import "cagework/domain"

// lineKey is what may share a line.
type lineKey struct {
	code    domain.CodeOfPlay
	level   domain.Level
	minutes int
}

func keyOf(c domain.CompetitionFields) lineKey {
	return lineKey{c.CodeOfPlay, c.Level, c.AverageMinutes}
}

func (l Line) key() lineKey { return lineKey{l.CodeOfPlay, l.Level, l.AverageMinutes} }

// count is a line in the making.
type count struct {
	key                          lineKey
	shots, saves, goals, seconds int
	clears, afterSave            clearCount
	games, timed                 map[domain.ID]bool // those played in, and those with time in the cage
	faced                        []*domain.CountedShot
}

func newCount(key lineKey) *count {
	return &count{key: key, games: map[domain.ID]bool{}, timed: map[domain.ID]bool{}}
}

func countFor(counts map[lineKey]*count, c domain.CompetitionFields) *count {
	key := keyOf(c)
	if counts[key] == nil {
		counts[key] = newCount(key)
	}
	return counts[key]
}

func (c *count) addShot(s *domain.CountedShot) {
	c.games[s.Game.ID] = true
	c.shots++
	c.faced = append(c.faced, s)
	switch s.Shot.Fields.Outcome {
	case domain.Goal:
		c.goals++
	case domain.Save:
		c.saves++
	case domain.Pipe, domain.Wide, domain.Blocked, domain.OwnGoal:
	}
}

func (c *count) addStint(s domain.CountedStint) {
	c.games[s.Game.ID], c.timed[s.Game.ID] = true, true
	c.seconds += s.Stint.Found.EndElapsedS - s.Stint.Found.StartElapsedS
}

type clearCount struct{ tried, made int }

func (c *clearCount) add(result domain.ClearResult) {
	switch result {
	case domain.Cleared:
		c.tried, c.made = c.tried+1, c.made+1
	case domain.ClearFailed:
		c.tried++
	case domain.NotTried: // the period ended or the ball was kept dead: no try
	}
}

func (c *count) addClear(clear domain.CountedClear) {
	c.games[clear.Game.ID] = true
	c.clears.add(clear.Clear.Fields.Result)
	if clear.AfterSave {
		c.afterSave.add(clear.Clear.Fields.Result)
	}
}

// line divides. Goals of a game in which nobody charted the time in the cage would swell the average, so with such
// a game there is none.
func (c *count) line(fits Fits) Line {
	l := Line{
		CodeOfPlay: c.key.code, Level: c.key.level, AverageMinutes: c.key.minutes,
		Games: len(c.games), Shots: c.shots, ShotsOnGoal: c.goals + c.saves,
		Saves: c.saves, GoalsAgainst: c.goals, Seconds: c.seconds,
		Short:          c.seconds < ShortSeconds,
		SavePercentage: SavePercentage(c.saves, c.goals),
		ClearsTried:    c.clears.tried, ClearsMade: c.clears.made,
		ClearsAfterSaveTried: c.afterSave.tried, ClearsAfterSaveMade: c.afterSave.made,
		Expected: fits.expected(c.key, c.faced),
	}
	if c.clears.tried > 0 {
		share := Ratio(c.clears.made, c.clears.tried)
		text := share.String()
		l.ClearPercentage, l.ClearPercentageText = &share, &text
	}
	if l.SavePercentage != nil {
		text := l.SavePercentage.String()
		l.SavePercentageText = &text
	}
	if len(c.timed) == len(c.games) {
		l.GoalsAgainstAverage = GoalsAgainstAverage(c.goals, c.key.minutes, c.seconds)
	}
	if l.GoalsAgainstAverage != nil {
		text := l.GoalsAgainstAverage.Average()
		l.GoalsAgainstAverageText = &text
	}
	return l
}
