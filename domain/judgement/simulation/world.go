package simulation

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"cagework/domain/stats"
)

// A goalie has eight targets: five of saves on shots that they share, so that a lucky shot counts in all of them, and
// three of habits.
const (
	targets  = 8
	outcomes = 5
)

var (
	// shares are how often a shot counts for each target, from an eighth to four fifths.
	shares = [targets]float64{.80, .35, .30, .20, .12, .70, .50, .40}
	// norms are the level's rates.
	norms = [targets]float64{.55, .50, .45, .40, .35, .80, .70, .60}
	// exposures are goals a game from a whole rate: a hit of a habit is worth three tenths of a save.
	exposures = func() (out [targets]float64) {
		for t, share := range shares {
			if out[t] = shotsAGame * share; t >= outcomes {
				out[t] *= .3
			}
		}
		return out
	}()
)

// shotsAGame turns shares into tries a game.
const shotsAGame = 20

// program is some goalies with their true rates and their counts.
type program struct {
	m, mu, aim [targets]float64 // the spread and mean of the true rates, and the rate to reach
	p          [][targets]float64
	counts     [][targets]stats.Count
}

// world draws what differs between programs.
type world struct {
	name   string
	spread func(*rand.Rand) [targets]float64
	mean   func(*rand.Rand, float64) float64 // from the norm
}

// fixed is a world of one spread, and the mixed one gives each program's targets eight spreads in random order. The
// means of programs lie off the norm with a standard deviation of .06.
func fixed(name string, m float64) world {
	return world{name, func(*rand.Rand) (out [targets]float64) {
		for t := range out {
			out[t] = m
		}
		return out
	}, offNorm}
}

var mixed = world{"mix", func(r *rand.Rand) [targets]float64 {
	out := [targets]float64{15, 15, 40, 40, 91, 116, 150, 294}
	r.Shuffle(targets, func(i, j int) { out[i], out[j] = out[j], out[i] })
	return out
}, offNorm}

func offNorm(r *rand.Rand, norm float64) float64 { return norm + .06*r.NormFloat64() }

// own is the world that the method takes for granted.
var own = world{"own prior", func(r *rand.Rand) (out [targets]float64) {
	model := stats.DefaultSpread()
	weights := make([]float64, len(model.M))
	for c, log := range model.LogPrior {
		weights[c] = math.Exp(log)
	}
	common := draw(r, weights)
	near := make([]float64, len(model.M))
	for s, m := range model.M {
		d := math.Log(m/model.M[common]) / model.Width
		near[s] = math.Exp(-d * d / 2)
	}
	for t := range out {
		out[t] = model.M[draw(r, near)]
	}
	return out
}, func(r *rand.Rand, norm float64) float64 {
	return distuv.Beta{Alpha: normTries * norm, Beta: normTries * (1 - norm), Src: r}.Rand()
}}

// normTries is what the norm is worth to the method.
const normTries = 20

func draw(r *rand.Rand, weights []float64) int {
	sum := 0.0
	for _, w := range weights {
		sum += w
	}
	u := r.Float64() * sum
	for i, w := range weights {
		if u -= w; u < 0 {
			return i
		}
	}
	return len(weights) - 1
}

// draw makes a program. A shot is hit for a target when its own luck is below the true rate there; the outcome targets
// share the luck of a shot, the habits have their own.
func (w world) draw(r *rand.Rand, goalies, shots int) program {
	g := program{m: w.spread(r), p: make([][targets]float64, goalies), counts: make([][targets]stats.Count, goalies)}
	for t := range targets {
		g.mu[t] = min(max(w.mean(r, norms[t]), 1e-3), 1-1e-3)
		g.aim[t] = norms[t] + .15*r.Float64() - .05
	}
	for i := range goalies {
		for t := range targets {
			d := distuv.Beta{Alpha: g.mu[t] * g.m[t], Beta: (1 - g.mu[t]) * g.m[t], Src: r}
			g.p[i][t] = min(max(d.Rand(), 1e-6), 1-1e-6)
		}
		for range shots {
			luck := r.Float64()
			for t := range targets {
				if r.Float64() >= shares[t] {
					continue
				}
				if t >= outcomes {
					luck = r.Float64()
				}
				c := &g.counts[i][t]
				c.Tries++
				if luck < g.p[i][t] {
					c.Hits++
				}
			}
		}
	}
	return g
}

// knowing gives what somebody thinks of a rate who knows the mean and the spread.
func (g program) knowing(i, t int) stats.Mixture {
	return stats.Mixture{{Weight: 1, A: g.mu[t] * g.m[t], B: (1 - g.mu[t]) * g.m[t]}}.With(g.counts[i][t])
}
