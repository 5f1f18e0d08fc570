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
	games, timed                 map[domain.ID]bool // those played in, and those with time in the cage
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

// line divides. Goals of a game in which nobody charted the time in the cage would swell the average, so with such
// a game there is none.
func (c *count) line() Line {
	l := Line{
		CodeOfPlay: c.key.code, Level: c.key.level, AverageMinutes: c.key.minutes,
		Games: len(c.games), Shots: c.shots, ShotsOnGoal: c.goals + c.saves,
		Saves: c.saves, GoalsAgainst: c.goals, Seconds: c.seconds,
		SavePercentage: SavePercentage(c.saves, c.goals),
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
