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
	f, t := r.Target.Fields, r.Tally
	subject, hit := f.Name, ""
	if countsSaves(f) {
		subject, hit = shotsOf(f.Name), "saved "
	}
	unseen := ""
	if t.Unseen > 0 {
		unseen = fmt.Sprintf(" (%d more are not known)", t.Unseen)
	}
	return fmt.Sprintf("%s: %d %sof %d in %s%s; the target is %s.",
		subject, t.Hits, hit, t.Tries, weeks(f.Weeks), unseen, Nearest(*r.TargetRate).Short())
}

func countsSaves(f domain.TargetFields) bool {
	return len(f.Hit) == 1 && f.Hit[0].Field == "outcome" && f.Hit[0].Is == string(domain.Save)
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

// why says what makes the rate the work-on.
func why(w planning.WorkOn) string {
	lead := "Probably below the target"
	if *w.Rate.State == domain.ClearGap {
		lead = "Clearly below the target"
	}
	choice := "it costs the most of those that fall short"
	if w.EarlierCause {
		choice = "another costs about as much, but this one comes earlier in the order of causes"
	}
	return fmt.Sprintf("%s: the chance that the true rate is below it is %s. At about %s tries a game %s.",
		lead, inHundred(*w.Rate.ChanceBelow), tenths(w.Rate.Tally.Tries, w.Rate.Games), choice)
}

// inHundred says a chance; one that rounds to certainty is not called certain.
func inHundred(chance float64) string {
	n := int(100*chance + 0.5)
	if n > 99 {
		return "more than 99 in 100"
	}
	return fmt.Sprintf("%d in 100", n)
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
	out := []string{}
	for _, r := range rates {
		if t := r.Tally; t.Unseen > 0 {
			out = append(out, fmt.Sprintf("%s, %s: for %d of %d shots it is not known whether they were a hit; they are left out, never counted as misses.",
				r.Target.Fields.Name, PlayName(r.CodeOfPlay, r.Level), t.Unseen, t.Unseen+t.Tries))
		}
	}
	for _, p := range v.Plays {
		out = append(out, missingTime("This week", p.LineWeek)...)
		for _, s := range p.LinesSeason {
			out = append(out, missingTime(s.Name, s.Line)...)
		}
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
