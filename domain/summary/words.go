package summary

import (
	"fmt"
	"strings"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/domain/planning"
)

// sentence says a rate as a coach would, with its count: "Low shots: 9 saved of 31 in six weeks; the target is .50."
func sentence(r judgement.Rate) string {
	return fmt.Sprintf("%s; the target is %s.", countWords(r), Nearest(*r.TargetRate).Short())
}

// wellSentence says a rate that reaches its target: "High shots: 16 saved of 24 in six weeks, target .55: met."
func (j judging) wellSentence(r judgement.Rate) string {
	verdict := "met"
	if *r.State == domain.LeaningMet {
		verdict = "probably met"
	}
	if j.bounds.Margin > 0 {
		verdict += ", or missed by no more than " + Nearest(j.bounds.Margin).Short()
	}
	return fmt.Sprintf("%s; the target is %s: %s.", countWords(r), Nearest(*r.TargetRate).Short(), verdict)
}

func countWords(r judgement.Rate) string {
	f, t := r.Target.Fields, r.Tally
	subject, hit := f.Name, ""
	if judgement.AsksForASave(f) {
		subject, hit = shotsOf(f.Name), "saved "
	}
	unseen := ""
	if t.Unseen > 0 {
		unseen = fmt.Sprintf(" (%d more are not known)", t.Unseen)
	}
	if t.Tries == 0 {
		return fmt.Sprintf("%s: none told in %s%s", subject, weeks(f.Weeks), unseen)
	}
	return fmt.Sprintf("%s: %d %sof %d in %s%s", subject, t.Hits, hit, t.Tries, weeks(f.Weeks), unseen)
}

// shotsOf turns the name of a save rate into the shots that it is about: "Low-shot save rate" into "Low shots". A
// name of another form stays as it is.
func shotsOf(name string) string {
	kind, is := strings.CutSuffix(name, " save rate")
	if !is {
		return name
	}
	return strings.TrimSuffix(kind, "-shot") + " shots"
}

// why says how sure it is that the rate falls short.
func (j judging) why(w planning.WorkOn) string {
	if s := *w.Rate.State; s == domain.NoData || s == domain.TooFew {
		return "Its block runs; there are too few shots so far to judge the rate."
	}
	if !w.Rate.Short() {
		return "Its block runs; the rate is not surely at the target yet" + j.within() + "."
	}
	lead := "Probably below the target"
	if *w.Rate.State == domain.ClearGap {
		lead = "Clearly below the target"
	}
	return fmt.Sprintf("%s%s (chance %s); about %s tries a game.",
		lead, byMore(j.bounds), judgement.InHundred(*w.Rate.ChanceBelow), tenths(w.Rate.Tally.Tries, w.Rate.Games))
}

// within says how near to its target a rate counts as met; nothing without a margin.
func (j judging) within() string {
	if j.bounds.Margin == 0 {
		return ""
	}
	return ", nor within " + Nearest(j.bounds.Margin).Short() + " of it"
}

// availabilityNote says what a goalie's availability lets be recommended.
func availabilityNote(g domain.GoalieFields) string {
	switch g.Availability {
	case domain.Held:
		return "Held: nothing is recommended, film included."
	case domain.Limited:
		ticked := ""
		if n := len(g.AllowedDrillIDs); n > 0 {
			ticked = fmt.Sprintf(", and the %s that a coach ticked as allowed", countOf(n, "drill"))
		}
		return "Limited: only drills without a ball and of easy effort" + ticked + "."
	case domain.Full:
	}
	return "Full: nothing is held back for availability."
}

// tenths writes n/d with one decimal, a half rounded up.
func tenths(n, d int) string {
	if d == 0 {
		return "0"
	}
	t := (20*n + d) / (2 * d)
	return fmt.Sprintf("%d.%d", t/10, t%10)
}

var small = []string{
	"", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
}

func weeks(n int) string {
	switch {
	case n == 1:
		return "one week"
	case n < len(small):
		return small[n] + " weeks"
	}
	return fmt.Sprintf("%d weeks", n)
}

// cautions says what a reader should know before leaning on the numbers.
func cautions(v GoalieWeek, rates []judgement.Rate) []string {
	out, unseen := []string{}, 0
	for _, r := range rates {
		if r.Tally.Unseen > 0 {
			unseen++
		}
	}
	if unseen > 0 {
		out = append(out, fmt.Sprintf("Of %s some shots are not known; they are left out, never counted as misses.",
			countOf(unseen, "rate")))
	}
	for _, p := range v.Plays {
		out = append(out, missingTime("This week", p.LineWeek)...)
		for _, s := range p.LinesSeason {
			out = append(out, missingTime(s.Name, s.Line)...)
		}
	}
	if len(v.Blocks) > 0 {
		out = append(out, "A rate that was picked because it was low tends to come back by itself; the verdict on a block reckons with that.")
	}
	return out
}

func missingTime(span string, l Line) []string {
	if l.Games == 0 || l.GoalsAgainstAverage != nil {
		return nil
	}
	return []string{fmt.Sprintf("%s, %s: time in the cage is missing in some game, so there is no goals-against average.",
		span, PlayName(l.CodeOfPlay, l.Level))}
}

// PlayName says a code of play and level as the trade does: "men's field, high school".
func PlayName(code domain.CodeOfPlay, level domain.Level) string {
	return spoken.Replace(string(code) + ", " + string(level))
}

var spoken = strings.NewReplacer("mens_", "men's ", "womens_", "women's ", "10u", "10U", "12u", "12U", "14u", "14U", "_", " ")
