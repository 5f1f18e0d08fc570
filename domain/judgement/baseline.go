package judgement

import (
	"cagework/domain"
	"cagework/domain/stats"
)

// Baseline is what was thought of a rate when a block began. It is plain data, frozen with the block: what the block is
// judged by later follows from it alone, whatever the peers do meanwhile. Prior is what the peers let think of the rate
// before its own count; with the count it gives what was thought when the block began, and what any number of later
// tries would show if nothing changed.
type Baseline struct {
	Hits   int           `json:"hits"`
	Tries  int           `json:"tries"`
	Prior  stats.Mixture `json:"prior"`
	Peers  int           `json:"peers"`  // other goalies with tries
	Plain  bool          `json:"plain"`  // few peers: the plain tail is taken in place of mid-P
	Level  float64       `json:"level"`  // chance at most to be taken for help when nothing changed
	Method string        `json:"method"` // names the method and its version
}

// baselineMethod names what a baseline is made of; a change of method gets a new name.
const baselineMethod = "peers_shared_spread_1"

// Freeze gives the baseline of a rate as [Peers.Judge] or [RateOf] judged it; nil without tries or target rate. The
// rate must rest on all the shots by which it was picked: then having picked it because it was low needs no further
// correction (Dawid 1994; Senn 2008, The American Statistician, on the selection paradox; both from memory).
func Freeze(r Rate, bounds Thresholds) *Baseline {
	if r.posterior == nil {
		return nil
	}
	count := stats.Count{Hits: r.Tally.Hits, Tries: r.Tally.Tries}
	b := Baseline{
		Hits: count.Hits, Tries: count.Tries, Prior: r.posterior.Without(count),
		Level: bounds.Helped, Method: baselineMethod, Plain: true,
	}
	if r.Opinion != nil {
		b.Peers, b.Plain = r.Opinion.Peers, r.Opinion.Assumed
	}
	return &b
}

// Before gives what was thought of the true rate when the block began.
func (b Baseline) Before() stats.Mixture {
	return b.Prior.With(stats.Count{Hits: b.Hits, Tries: b.Tries})
}

// Needed gives the least hits of so many later tries that count as help; ok is false when not even all would. It is for
// saying before the block begins.
func (b Baseline) Needed(tries int) (hits int, ok bool) {
	return b.Before().Predict(tries).Least(b.Level, b.Plain)
}

// Verdict is whether a block helped.
type Verdict string

// Verdicts is the list of Verdict. TooFewTries is also that of a block so short that nothing could have shown help.
var Verdicts = []Verdict{Worked, CannotSay, Backwards, TooFewTries}

// The verdicts.
const (
	Worked      Verdict = "worked"
	CannotSay   Verdict = "cannot_say"
	Backwards   Verdict = "backwards"
	TooFewTries Verdict = "too_few"
)

// FewestTries is how many tries since the block began it takes to say anything.
const FewestTries = 8

// Help is what a block's later tries show against what they would have been expected to show had nothing changed.
type Help struct {
	Verdict    Verdict
	Expected   float64 // hits, if nothing changed
	Low, High  int     // hits that hold at least 80 in 100 of what was to be expected if nothing changed
	Needed     *int    // least hits that would have counted as help; nil when none would
	Tail       float64 // chance of so many hits or more if nothing changed; mid-P unless peers are few
	DriftBack  float64 // part of the change of the raw rate that was to be expected with nothing changed
	Better     float64 // chance that the true rate is higher than it was
	Gain       float64 // expected change of the true rate
	GainLow    float64 // holds the change with a chance of 80 in 100
	GainHigh   float64
	Likelihood float64 // Bayes factor: how much likelier the later count is if the rate was drawn anew than if it stayed
}

// Help judges the tries since a block began, the later ones of the same target. What the block is judged by must be
// settled beforehand: its length, and this baseline.
func (b Baseline) Help(hits, tries int) Help {
	before, later := b.Before(), stats.Count{Hits: hits, Tries: tries}
	expect := before.Predict(tries)
	h := Help{Expected: expect.Mean(), Tail: b.tail(expect, hits), Verdict: CannotSay}
	h.Low, h.High = expect.Range(Likely)
	needed, possible := expect.Least(b.Level, b.Plain)
	if possible {
		h.Needed = &needed
	}
	if b.Tries > 0 {
		h.DriftBack = before.Mean() - float64(b.Hits)/float64(b.Tries)
	}
	after := b.Prior.With(later)
	h.Better = after.Exceeds(before, 0)
	h.Gain = after.Mean() - before.Mean()
	h.GainLow, h.GainHigh = differenceOf(after, before, Likely)
	h.Likelihood = b.Prior.Predict(tries)[hits] / expect[hits]
	switch {
	case tries < FewestTries || !possible:
		h.Verdict = TooFewTries
	case h.Tail <= b.Level:
		h.Verdict = Worked
	case b.lowTail(expect, hits) <= b.Level:
		h.Verdict = Backwards
	}
	return h
}

func (b Baseline) tail(expect stats.Predictive, hits int) float64 {
	if b.Plain {
		return expect.AtLeast(hits)
	}
	return expect.MidTail(hits)
}

// lowTail gives the chance of so few hits or fewer.
func (b Baseline) lowTail(expect stats.Predictive, hits int) float64 {
	if b.Plain {
		return 1 - expect.AtLeast(hits+1)
	}
	return 1 - expect.MidTail(hits)
}

// strips is into how many parts a rate is cut to find the interval of a change, to about half of one.
const strips = 200

// differenceOf gives the interval that holds the first rate less the second with a chance, to about .005.
func differenceOf(p, q stats.Mixture, chance float64) (low, high float64) {
	minus := stats.Predictive(q.Cells(1, strips))
	for i, j := 0, len(minus)-1; i < j; i, j = i+1, j-1 {
		minus[i], minus[j] = minus[j], minus[i]
	}
	from, to := stats.Predictive(p.Cells(1, strips)).Plus(minus).Range(chance)
	return float64(from-strips+1) / strips, float64(to-strips+1) / strips
}

// Given is a block whose later tries are in, and what it was an instance of: its rule and its drill.
type Given struct {
	Baseline    Baseline
	Hits, Tries int // since it began
	Rule, Drill *domain.ID
}
