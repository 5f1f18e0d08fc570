package planning

import (
	"bytes"
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
	SwappedFor *domain.Drill  // of the assignment that took its place; nil when none did, or it is not among the records
	Week       int            // of the block, 1 to its weeks; the last when it is over, the first when it has not begun
	Begun      bool
	Over       bool
	Whole      bool // all its days are behind the week's Sunday, that day among them, or it was finished early
	Practices  int  // on its days, in which the drill was logged, but for those that count for another block of the drill
	SoFar      int  // planned up to the week's Sunday: of the weeks that have begun, the last one whole
	Planned    int  // in all
	Counts     []BlockCount
}

// BlockCount is what a block's target counted in one code of play and level. Baseline is what was kept when the block
// was given, and Before its count; nil when none was kept: then Before is counted anew.
type BlockCount struct {
	CodeOfPlay domain.CodeOfPlay
	Level      domain.Level
	Baseline   *domain.BlockBaseline
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
	b := Block{
		Assignment: a, Week: weekOfBlock(a, r.Week), Begun: !sunday.Before(f.StartsOn),
		Over:      f.Status == domain.Finished || f.EndsOn().Before(sunday),
		Whole:     f.Status == domain.Finished || !sunday.Before(f.EndsOn()),
		Practices: practices(a, r), Planned: f.Weeks * f.TimesAWeek,
	}
	if b.Begun {
		b.SoFar = b.Week * f.TimesAWeek
	}
	b.Drill = drillOf(r, f.DrillID)
	for _, other := range r.Assignments {
		if f.SwappedForID != nil && other.ID == *f.SwappedForID {
			b.SwappedFor = drillOf(r, other.Fields.DrillID)
		}
	}
	for i := range r.Targets {
		if r.Targets[i].ID == f.TargetID {
			b.Target = &r.Targets[i]
			if f.Status != domain.Dropped { // when it was dropped is not known, so there is no since
				b.Counts = countsOf(*b.Target, a, r, plays)
			}
		}
	}
	return b
}

// practices gives the practices that count for an assignment: those on its days in which its drill was logged. So that no
// practice counts twice, one that several assignments of the drill could have counts for the one begun last (of those
// begun together: the last id), and for one that was dropped only where no other could have it.
func practices(a domain.Assignment, r domain.WeekRecords) int {
	n := 0
	for _, log := range r.Logs {
		done := slices.ContainsFunc(log.Fields.Done, func(d domain.PracticeDone) bool { return d.DrillID == a.Fields.DrillID })
		if done && countsFor(r.Assignments, a.Fields.DrillID, log.Fields.PractisedOn) == a.ID {
			n++
		}
	}
	return n
}

// countsFor gives the assignment for which a drill on a day counts; the zero id for none.
func countsFor(all []domain.Assignment, drill domain.ID, day domain.Date) domain.ID {
	var best *domain.Assignment
	for i, a := range all {
		f := a.Fields
		if f.DrillID != drill || !within(day, f.StartsOn, f.EndsOn()) {
			continue
		}
		if best == nil || cmp.Or(
			-compareBool(f.Status == domain.Dropped, best.Fields.Status == domain.Dropped), compareAssignments(a, *best),
		) > 0 {
			best = &all[i]
		}
	}
	if best == nil {
		return domain.ID{}
	}
	return best.ID
}

// drillOf gives a drill of the library; nil when it is gone.
func drillOf(r domain.WeekRecords, id domain.ID) *domain.Drill {
	for i := range r.Drills {
		if r.Drills[i].ID == id {
			return &r.Drills[i]
		}
	}
	return nil
}

// countsOf gives what a target counted before a block, as it was kept when the block was given, and over the block's days
// up to the week's Sunday. Where nothing was kept, the look-back is counted as far back as shots were read.
func countsOf(t domain.Target, a domain.Assignment, r domain.WeekRecords, plays []judgement.Play) []BlockCount {
	f, to := a.Fields, r.Week.Sunday()
	if f.EndsOn().Before(to) {
		to = f.EndsOn()
	}
	from := f.StartsOn.AddDays(-7 * t.Fields.Weeks)
	if !r.Faced.From.IsZero() && from.Before(r.Faced.From) {
		from = r.Faced.From
	}
	var out []BlockCount
	for _, play := range withKept(plays, a) {
		c := BlockCount{CodeOfPlay: play.CodeOfPlay, Level: play.Level, Baseline: baselineOf(a, play)}
		if c.Baseline == nil && t.Fields.RateFor(play.CodeOfPlay, play.Level) == nil {
			continue
		}
		count := func(from, to domain.Date) SpanTally {
			return SpanTally{from, to, t.Fields.Count(judgement.Between(play.Faced, from, to).Shots)}
		}
		if b := c.Baseline; b != nil {
			c.Before = SpanTally{b.From, b.To, domain.Tally{Hits: b.Hits, Tries: b.Tries, Unseen: b.Unseen}}
		} else {
			c.Before = count(from, f.StartsOn.AddDays(-1))
		}
		if !to.Before(f.StartsOn) {
			c.Since = new(count(f.StartsOn, to))
		}
		out = append(out, c)
	}
	return out
}

// baselineOf gives what was kept of an assignment's target in a play; nil when nothing was.
func baselineOf(a domain.Assignment, play judgement.Play) *domain.BlockBaseline {
	if a.Found.Baselines == nil {
		return nil
	}
	for i, b := range *a.Found.Baselines {
		if b.CodeOfPlay == play.CodeOfPlay && b.Level == play.Level {
			return &(*a.Found.Baselines)[i]
		}
	}
	return nil
}

// withKept gives the plays, and those of which something was kept though none of their shots is left.
func withKept(plays []judgement.Play, a domain.Assignment) []judgement.Play {
	if a.Found.Baselines == nil {
		return plays
	}
	out := slices.Clone(plays)
	for _, b := range *a.Found.Baselines {
		if !slices.ContainsFunc(plays, func(p judgement.Play) bool { return p.CodeOfPlay == b.CodeOfPlay && p.Level == b.Level }) {
			out = append(out, judgement.Play{CodeOfPlay: b.CodeOfPlay, Level: b.Level})
		}
	}
	slices.SortFunc(out, func(a, b judgement.Play) int {
		return cmp.Or(
			cmp.Compare(slices.Index(domain.CodesOfPlay, a.CodeOfPlay), slices.Index(domain.CodesOfPlay, b.CodeOfPlay)),
			cmp.Compare(slices.Index(domain.Levels, a.Level), slices.Index(domain.Levels, b.Level)),
		)
	})
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
		bytes.Compare(a.ID[:], b.ID[:]),
	)
}

// weekOfBlock gives which week of the block a week is, within 1 and its weeks.
func weekOfBlock(a domain.Assignment, week domain.Week) int {
	days := int(week.Monday().Time().Sub(a.Fields.StartsOn.Time()).Hours() / 24)
	return min(max(days/7+1, 1), a.Fields.Weeks)
}
