package summary

import (
	"fmt"
	"math"
	"strings"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/domain/planning"
)

// Help is what a block's tries since it began show, against what was to be expected of them had nothing changed: that
// follows from what was known when it was given, and has in it that a rate picked for being low comes back by itself.
type Help struct {
	Verdict   judgement.Verdict `json:"verdict"`
	Final     bool              `json:"final"`      // the block is over; before that the verdict is of the tries so far
	Expected  float64           `json:"expected"`   // hits of the tries since, if nothing changed
	Low       int               `json:"low"`        // hits that hold at least 80 in 100 of what was to be expected
	High      int               `json:"high"`       // if nothing changed
	Level     float64           `json:"level"`      // chance at most to be taken for help when nothing changed: the bound as it stood when the block was given
	Needed    *int              `json:"needed"`     // least hits of these tries that count as help; null: not even all would
	DriftBack float64           `json:"drift_back"` // part of the change of the raw rate to be expected with nothing changed
	Better    float64           `json:"better"`     // chance that the true rate is higher than it was
	Gain      float64           `json:"gain"`       // expected change of the true rate
	GainLow   float64           `json:"gain_low"`   // of the interval that holds it with a chance of 80 in 100
	GainHigh  float64           `json:"gain_high"`

	PlannedTries  int    `json:"planned_tries"`  // that the block's weeks bring at the pace of the look-back
	PlannedNeeded *int   `json:"planned_needed"` // least hits of those that will count as help; stated when the block is given
	Sentence      string `json:"sentence"`
}

// helpOf judges a block in one play; nil when nothing was kept when it was given.
func helpOf(b planning.Block, c planning.BlockCount) *Help {
	if c.Baseline == nil || b.Target == nil {
		return nil
	}
	baseline := judgement.Kept(c.Baseline.Frozen)
	hits, tries := 0, 0
	if c.Since != nil {
		hits, tries = c.Since.Tally.Hits, c.Since.Tally.Tries
	}
	found := baseline.Help(hits, tries)
	h := &Help{
		Verdict: found.Verdict, Final: b.Whole, Expected: found.Expected, Low: found.Low, High: found.High,
		Level: baseline.Level, Needed: found.Needed, DriftBack: found.DriftBack, Better: found.Better,
		Gain: found.Gain, GainLow: found.GainLow, GainHigh: found.GainHigh,
	}
	weeksBefore := c.Baseline.To.Time().Sub(c.Baseline.From.Time()).Hours()/24/7 + 1.0/7
	h.PlannedTries = int(math.Round(float64(c.Baseline.Tries) / weeksBefore * float64(b.Assignment.Fields.Weeks)))
	if needed, possible := baseline.Needed(h.PlannedTries); possible {
		h.PlannedNeeded = &needed
	}
	h.Sentence = h.sentence(hits, tries)
	return h
}

// sentence says the verdict with its counts: "Helped: 14 of 20 since; 7 to 12 expected with no change; the chance that the true rate rose is 99 in 100."
func (h *Help) sentence(hits, tries int) string {
	if tries == 0 {
		return h.announce()
	}
	counts := fmt.Sprintf("%d of %d since; %d to %d expected with no change", hits, tries, h.Low, h.High)
	lead := map[judgement.Verdict]string{
		judgement.Worked: "Helped", judgement.CannotSay: "Can't say", judgement.Backwards: "Went backwards",
		judgement.TooFewTries: "Too few shots to say",
	}[h.Verdict]
	if !h.Final {
		lead = "So far: " + strings.ToLower(lead[:1]) + lead[1:]
	}
	text := fmt.Sprintf("%s: %s", lead, counts)
	if h.Verdict == judgement.Worked || h.Verdict == judgement.Backwards {
		text += fmt.Sprintf("; the chance that the true rate rose is %s", judgement.InHundred(h.Better))
	}
	if !h.Final && h.Verdict != judgement.Worked {
		return text + ". " + h.announce()
	}
	return text + "."
}

// announce says what will count as help.
func (h *Help) announce() string {
	switch {
	case h.PlannedTries == 0:
		return "At the pace before it there will be no shots in its weeks."
	case h.PlannedNeeded == nil:
		return fmt.Sprintf("About %s in its weeks: too few for any count to show that it helped.", countOf(h.PlannedTries, "shot"))
	}
	return fmt.Sprintf("Of about %s in its weeks %d hits or more will count as help.",
		countOf(h.PlannedTries, "shot"), *h.PlannedNeeded)
}

// HelpTotal is what the blocks of one drill or one rule that are over show together.
type HelpTotal struct {
	ID        domain.ID `json:"id"`
	Name      string    `json:"name"`   // "" when it is gone
	Blocks    int       `json:"blocks"` // that are over, one a code of play and level
	Told      int       `json:"told"`   // with enough tries to say anything
	Worked    int       `json:"worked"`
	Backwards int       `json:"backwards"`
	Hits      int       `json:"hits"` // of the tries since those told began
	Tries     int       `json:"tries"`
	Expected  float64   `json:"expected"` // hits, if nothing had changed
	Gain      float64   `json:"gain"`     // hits a try above that
	GainLow   float64   `json:"gain_low"` // of the interval that holds it with a chance of 80 in 100
	GainHigh  float64   `json:"gain_high"`
	Chance    float64   `json:"chance"` // of so many hits or more with no change, adjusted for how many were looked at
	Sentence  string    `json:"sentence"`
}

// Helps is which drills and rules earn their time, by the blocks that are over.
type Helps struct {
	Drills []HelpTotal `json:"drills"`
	Rules  []HelpTotal `json:"rules"`
}

// helpsOf totals the blocks of goalies.
func helpsOf(weeks []domain.WeekRecords) Helps {
	var given []judgement.Given
	names := map[domain.ID]string{}
	for _, r := range weeks {
		for _, d := range r.Drills {
			names[d.ID] = d.Fields.Name
		}
		for _, rule := range r.Rules {
			names[rule.ID] = rule.Fields.Name
		}
		given = append(given, givenIn(r)...)
	}
	return Helps{totalsOf(judgement.HelpByDrill(given), names), totalsOf(judgement.HelpByRule(given), names)}
}

// givenIn gives a goalie's blocks that are over and of which something was kept, a code of play and level each.
func givenIn(r domain.WeekRecords) []judgement.Given {
	var out []judgement.Given
	for _, b := range planning.Blocks(r, judgement.Plays(his(r))) {
		for _, c := range b.Counts {
			if !b.Whole || c.Baseline == nil || c.Since == nil {
				continue
			}
			f := b.Assignment.Fields
			out = append(out, judgement.Given{
				Baseline: judgement.Kept(c.Baseline.Frozen), Hits: c.Since.Tally.Hits, Tries: c.Since.Tally.Tries,
				Rule: f.RuleID, Drill: &f.DrillID,
			})
		}
	}
	return out
}

func totalsOf(all []judgement.Helped, names map[domain.ID]string) []HelpTotal {
	out := make([]HelpTotal, len(all))
	for i, h := range all {
		out[i] = HelpTotal{
			ID: h.ID, Name: names[h.ID], Blocks: h.Blocks, Told: h.Told, Worked: h.Worked, Backwards: h.Backwards,
			Hits: h.Hits, Tries: h.Tries, Expected: h.Expected, Gain: h.Gain, GainLow: h.GainLow, GainHigh: h.GainHigh,
			Chance: h.Adjusted,
		}
		out[i].Sentence = out[i].sentence()
	}
	return out
}

func (h HelpTotal) sentence() string {
	name := orWords(h.Name, "One that is gone")
	if h.Told == 0 {
		return fmt.Sprintf("%s: %s over, none with enough shots to say.", name, countOf(h.Blocks, "block"))
	}
	text := fmt.Sprintf("%s: %s over; of %d with enough shots %d helped, %d went backwards: %d of %d since, about %.0f expected "+
		"with no change", name, countOf(h.Blocks, "block"), h.Told, h.Worked, h.Backwards, h.Hits, h.Tries, h.Expected)
	if float64(h.Hits) > h.Expected {
		text += fmt.Sprintf("; the chance of so many with no change is %s", judgement.InHundred(h.Chance))
	}
	return text + "."
}
