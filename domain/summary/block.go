package summary

import (
	"fmt"
	"strings"

	"cagework/domain"
	"cagework/domain/planning"
)

// WeekBlock is how an assignment goes: what of it was practised, and the target's raw counts before it and since.
type WeekBlock struct {
	AssignmentID domain.ID               `json:"assignment_id"`
	TargetID     domain.ID               `json:"target_id"`
	Target       string                  `json:"target"` // its name; "" when it is no longer in use
	DrillID      domain.ID               `json:"drill_id"`
	Drill        string                  `json:"drill"` // its name; "" when it is gone
	Status       domain.AssignmentStatus `json:"status"`
	StartsOn     domain.Date             `json:"starts_on"`
	Week         int                     `json:"week"` // of its weeks
	Weeks        int                     `json:"weeks"`
	Over         bool                    `json:"over"`
	Practices    int                     `json:"practices"`      // in which the drill was logged; each counts for one block
	PlannedSoFar int                     `json:"planned_so_far"` // up to the week's Sunday
	Planned      int                     `json:"planned"`        // in all
	Reason       *string                 `json:"reason"`         // why it was swapped or dropped
	SwappedForID *domain.ID              `json:"swapped_for_id"` // the assignment that took its place
	SwappedFor   *string                 `json:"swapped_for"`    // what that one's drill is called; "" when it is not known
	Counts       []BlockCount            `json:"counts"`         // none of one that was dropped
	Sentence     string                  `json:"sentence"`
}

// BlockCount is what a block's target counted in one code of play and level, and what that says.
type BlockCount struct {
	CodeOfPlay domain.CodeOfPlay `json:"code_of_play"`
	Level      domain.Level      `json:"level"`
	Before     SpanCount         `json:"before"`
	Kept       bool              `json:"kept"`  // before is as it was when the block was given; false: counted anew
	Since      *SpanCount        `json:"since"` // null before it begins
	Help       *Help             `json:"help"`  // whether it helped; null when nothing was kept
}

// SpanCount is a count with the days that it speaks of.
type SpanCount struct {
	From   domain.Date `json:"from"`
	To     domain.Date `json:"to"`
	Hits   int         `json:"hits"`
	Tries  int         `json:"tries"`
	Unseen int         `json:"unseen"`
}

func blocksOf(blocks []planning.Block, sunday domain.Date) []WeekBlock {
	out := make([]WeekBlock, len(blocks))
	for i, b := range blocks {
		f := b.Assignment.Fields
		w := WeekBlock{
			AssignmentID: b.Assignment.ID, TargetID: f.TargetID, DrillID: f.DrillID, Status: f.Status,
			StartsOn: f.StartsOn, Week: b.Week, Weeks: f.Weeks, Over: b.Over,
			Practices: b.Practices, PlannedSoFar: b.SoFar, Planned: b.Planned, Reason: f.Reason,
			SwappedForID: f.SwappedForID,
			Counts:       make([]BlockCount, len(b.Counts)),
		}
		if b.Target != nil {
			w.Target = b.Target.Fields.Name
		}
		if b.Drill != nil {
			w.Drill = b.Drill.Fields.Name
		}
		if f.SwappedForID != nil {
			w.SwappedFor = new("")
			if b.SwappedFor != nil {
				w.SwappedFor = &b.SwappedFor.Fields.Name
			}
		}
		for j, c := range b.Counts {
			w.Counts[j] = BlockCount{CodeOfPlay: c.CodeOfPlay, Level: c.Level, Before: spanCount(c.Before), Kept: c.Baseline != nil}
			w.Counts[j].Help = helpOf(b, c)
			if c.Since != nil {
				w.Counts[j].Since = new(spanCount(*c.Since))
			}
		}
		w.Sentence = blockSentence(w, b.Begun, sunday, planning.Reason(f))
		out[i] = w
	}
	return out
}

func spanCount(s planning.SpanTally) SpanCount {
	return SpanCount{s.From, s.To, s.Tally.Hits, s.Tally.Tries, s.Tally.Unseen}
}

// blockSentence says a block without a verdict: "Beat the drop, for Low-shot save rate: week 2 of 3, practised 4 times
// of 6 planned by 12 April."
func blockSentence(b WeekBlock, begun bool, sunday domain.Date, reason string) string {
	drill, target := orWords(b.Drill, "A drill that is gone"), orWords(b.Target, "a target no longer in use")
	practised := "practised " + countOf(b.Practices, "time")
	how := fmt.Sprintf("week %d of %d, %s of %d planned by %s", b.Week, b.Weeks, practised, b.PlannedSoFar, spokenDay(sunday))
	switch {
	case b.Status == domain.Dropped:
		how = "dropped"
		if b.SwappedFor != nil {
			how = "swapped for " + orWords(*b.SwappedFor, "another drill")
		}
		if b.Practices > 0 {
			how += ", " + practised
		}
	case b.Status == domain.Finished:
		how = fmt.Sprintf("finished, %s of %d planned", practised, b.Planned)
	case !begun:
		how = fmt.Sprintf("begins on %s, %s planned", spokenDay(b.StartsOn), countOf(b.Planned, "time"))
	case b.Over:
		how = fmt.Sprintf("its weeks are over, %s of %d planned", practised, b.Planned)
	}
	return strings.TrimSpace(fmt.Sprintf("%s, for %s: %s. %s", drill, target, how, reason))
}

func spokenDay(d domain.Date) string { return d.Time().Format("2 January") }

func orWords(s, words string) string {
	if s == "" {
		return words
	}
	return s
}

func countOf(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}
