package simulation

import "cagework/domain/stats"

// method gives what is thought of every true rate of a program, by goalie and target.
type method struct {
	name string
	rule bool // of thumb
	of   func(program) [][targets]stats.Mixture
}

var (
	// shared is the method of the service; the spread is shared across targets.
	shared = method{"shared", false, func(g program) [][targets]stats.Mixture { return g.peers(stats.DefaultSpread()) }}
	// apart judges each target by itself.
	apart = method{"each alone", true, func(g program) [][targets]stats.Mixture {
		model := stats.DefaultSpread()
		model.Width = -1
		return g.peers(model)
	}}
	// knowsSpread is told how alike the goalies are, but not their mean.
	knowsSpread = method{"knows M", true, func(g program) [][targets]stats.Mixture {
		out := make([][targets]stats.Mixture, len(g.p))
		for t := range targets {
			p := stats.NewPeers(stats.KnownSpread(g.m[t]), []stats.Group{g.group(t)})
			for i := range out {
				out[i][t] = p.Posterior(0, i)
			}
		}
		return out
	}}
	// jeffreys looks at no peers.
	jeffreys = method{"Jeffreys", true, func(g program) [][targets]stats.Mixture {
		out := make([][targets]stats.Mixture, len(g.p))
		for i := range out {
			for t, c := range g.counts[i] {
				d := stats.Jeffreys(c.Hits, c.Tries)
				out[i][t] = stats.Mixture{{Weight: 1, A: d.A, B: d.B}}
			}
		}
		return out
	}}
	// plugIn estimates mean and spread from moments and takes them for the truth.
	plugIn = method{"plug-in", true, func(g program) [][targets]stats.Mixture {
		out := make([][targets]stats.Mixture, len(g.p))
		for t := range targets {
			a, b := moments(g.group(t).Counts)
			for i := range out {
				out[i][t] = stats.Mixture{{Weight: 1, A: a, B: b}}.With(g.counts[i][t])
			}
		}
		return out
	}}
)

func (g program) group(t int) stats.Group {
	group := stats.Group{Mean: stats.NormPrior(&norms[t], normTries), Counts: make([]stats.Count, len(g.p))}
	for i := range g.p {
		group.Counts[i] = g.counts[i][t]
	}
	return group
}

func (g program) peers(model stats.SpreadModel) [][targets]stats.Mixture {
	var groups []stats.Group
	for t := range targets {
		groups = append(groups, g.group(t))
	}
	p, out := stats.NewPeers(model, groups), make([][targets]stats.Mixture, len(g.p))
	for i := range out {
		for t := range targets {
			out[i][t] = p.Posterior(t, i)
		}
	}
	return out
}

// moments fits a beta distribution to counts by weighted moments (Kleinman 1973, Journal of the American Statistical
// Association 68:46-54). Where there is no sign of a difference all goalies are taken to be alike.
func moments(counts []stats.Count) (a, b float64) {
	var hits, tries float64
	for _, c := range counts {
		hits, tries = hits+float64(c.Hits), tries+float64(c.Tries)
	}
	if tries == 0 {
		return .5, .5
	}
	mean := hits / tries
	if hits == 0 || hits == tries {
		mean = (hits + .5) / (tries + 1)
	}
	var square, noise, spread float64
	for _, c := range counts {
		if n := float64(c.Tries); n > 0 {
			w, p := n, float64(c.Hits)/n
			square += w * (p - mean) * (p - mean)
			noise += w / n * (1 - w/tries)
			spread += w * (1 - w/tries)
		}
	}
	alike := 1e6
	if rho := (square - mean*(1-mean)*noise) / (mean * (1 - mean) * (spread - noise)); rho > 1e-6 && rho < 1 {
		alike = 1/rho - 1
	}
	return mean * alike, (1 - mean) * alike
}
