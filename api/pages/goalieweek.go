package pages

import (
	"io"

	"cagework/domain"
	"cagework/domain/summary"
)

// GoalieWeek writes a goalie's week as a page for a phone or one or two sheets of paper.
func GoalieWeek(w io.Writer, v summary.GoalieWeek, program domain.ProgramFields) error {
	return draw(w, "goalieweek.html", struct {
		summary.GoalieWeek
		Program domain.ProgramFields
	}{v, program})
}
