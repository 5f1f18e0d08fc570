package planning

import (
	"cmp"
	"slices"

	"cagework/domain"
	"cagework/domain/judgement"
)

// Block is how an assignment goes: what of it was practised, and the target's counts before it and since. The counts
// are raw: a rate that was picked because it was low drifts back by itself, so they are no verdict.
type Block struct {
	Assignment domain.Assignment
	Target     *domain.Target // nil when it is no longer in use
	Drill      *domain.Drill  // nil when it is gone
	Week       int            // of the block, 1 to its weeks; the last when it is over, the first when it has not begun
	Begun      bool
	Over       bool
	Practices  int // in its span, in which the drill was logged
	SoFar      int // planned up to the week's Sunday
	Planned    int // in all
	Counts     []BlockCount
}

// BlockCount is what a block's target counted in one code of play and level.
type BlockCount struct {
	CodeOfPlay domain.CodeOfPlay
	Level      domain.Level
	Before     SpanTally
	Since      *SpanTally // nil before it begins
}

// SpanTally is a tally with the days that it speaks of.
type SpanTally struct {
	From, To domain.Date
	Tally    domain.Tally
}

// Blocks gives the blocks that run, are finished or begin in the week after, the newest first. Those that were dropped
// are among them as long as their weeks last.
func Blocks(r domain.WeekRecords, plays []judgement.Play) []Block {
	var out []Block
	for _, a := range r.Assignments {
		if stands(a, r.Week) || (a.Fields.Status != domain.Dropped && !r.Week.Sunday().Before(a.Fields.StartsOn)) {
			out = append(out, blockOf(a, r, plays))
		}
	}
	slices.SortFunc(out, func(x, y Block) int { return -compareAssignments(x.Assignment, y.Assignment) })
	return out
}

func blockOf(a domain.Assignment, r domain.WeekRecords, plays []judgement.Play) Block {
	f, sunday := a.Fields, r.Week.Sunday()
	last := f.EndsOn()
	b := Block{
		Assignment: a, Week: weekOfBlock(a, r.Week), Begun: !sunday.Before(f.StartsOn),
		Over:      f.Status == domain.Finished || last.Before(sunday),
		Practices: sessions(r.Logs, f.StartsOn, last, f.DrillID), Planned: f.Weeks * f.TimesAWeek,
	}
	if b.Begun {
		b.SoFar = b.Week * f.TimesAWeek
	}
	for i := range r.Drills {
		if r.Drills[i].ID == f.DrillID {
			b.Drill = &r.Drills[i]
		}
	}
	for i := range r.Targets {
		if r.Targets[i].ID == f.TargetID {
			b.Target = &r.Targets[i]
			if f.Status != domain.Dropped { // when it was dropped is not known, so there is no since
				b.Counts = countsOf(*b.Target, f, r, plays)
			}
		}
	}
	return b
}

// countsOf counts a target over its look-back before a block, as far back as shots were read, and over the block's days
// up to the week's Sunday.
func countsOf(t domain.Target, f domain.AssignmentFields, r domain.WeekRecords, plays []judgement.Play) []BlockCount {
	from := f.StartsOn.AddDays(-7 * t.Fields.Weeks)
	if !r.Faced.From.IsZero() && from.Before(r.Faced.From) {
		from = r.Faced.From
	}
	var out []BlockCount
	for _, play := range plays {
		if t.Fields.RateFor(play.CodeOfPlay, play.Level) == nil {
			continue
		}
		count := func(from, to domain.Date) SpanTally {
			return SpanTally{from, to, t.Fields.Count(judgement.Between(play.Faced, from, to).Shots)}
		}
		c := BlockCount{CodeOfPlay: play.CodeOfPlay, Level: play.Level, Before: count(from, f.StartsOn.AddDays(-1))}
		to := r.Week.Sunday()
		if f.EndsOn().Before(to) {
			to = f.EndsOn()
		}
		if !to.Before(f.StartsOn) {
			c.Since = new(count(f.StartsOn, to))
		}
		out = append(out, c)
	}
	return out
}

// running gives the assignments that stand in the week or the next, the oldest first.
func (n Need) running() []domain.Assignment { return n.standing(domain.Assigned) }

// standing gives the assignments of a status whose weeks hold the week or the next, the oldest first.
func (n Need) standing(status domain.AssignmentStatus) []domain.Assignment {
	var out []domain.Assignment
	for _, a := range n.Assignments {
		if a.Fields.Status == status && stands(a, n.Week) {
			out = append(out, a)
		}
	}
	slices.SortFunc(out, compareAssignments)
	return out
}

// stands tells whether an assignment's weeks hold the week or the next, for which the week's work is planned.
func stands(a domain.Assignment, week domain.Week) bool {
	return !week.Sunday().AddDays(7).Before(a.Fields.StartsOn) && !a.Fields.EndsOn().Before(week.Monday())
}

func compareAssignments(a, b domain.Assignment) int {
	return cmp.Or(
		a.Fields.StartsOn.Time().Compare(b.Fields.StartsOn.Time()),
		cmp.Compare(a.ID.String(), b.ID.String()),
	)
}

// weekOfBlock gives which week of the block a week is, within 1 and its weeks.
func weekOfBlock(a domain.Assignment, week domain.Week) int {
	days := int(week.Monday().Time().Sub(a.Fields.StartsOn.Time()).Hours() / 24)
	return min(max(days/7+1, 1), a.Fields.Weeks)
}
