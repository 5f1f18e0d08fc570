package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Component is one beta distribution of a mixture, with its share of it.
type Component struct {
	Weight float64 `json:"weight"`
	A      float64 `json:"a"`
	B      float64 `json:"b"`
}

// Mixture is a mixture of beta distributions of a proportion: what is thought of it when it is not certain how much to
// lean on others. Weights add up to 1, shapes are above 0. It is plain data and can be kept as JSON.
type Mixture []Component

// Count is how many of some tries were hits.
type Count struct {
	Hits  int `json:"hits"`
	Tries int `json:"tries"`
}

// Mean gives the expected proportion.
func (m Mixture) Mean() float64 {
	mean := 0.0
	for _, c := range m {
		mean += c.Weight * c.A / (c.A + c.B)
	}
	return mean
}

// SD gives the standard deviation of the proportion.
func (m Mixture) SD() float64 {
	mean, square := 0.0, 0.0
	for _, c := range m {
		n := c.A + c.B
		mean += c.Weight * c.A / n
		square += c.Weight * c.A * (c.A + 1) / (n * (n + 1))
	}
	return math.Sqrt(max(0, square-mean*mean))
}

// Matched gives the one beta distribution with the mixture's mean and standard deviation.
func (m Mixture) Matched() Beta { return matched(m.Mean(), m.SD()) }

func matched(mean, sd float64) Beta {
	n := mean*(1-mean)/(sd*sd) - 1
	return Beta{mean * n, (1 - mean) * n}
}

// Below gives the probability that the proportion lies below t.
func (m Mixture) Below(t float64) float64 {
	below := 0.0
	for _, c := range m {
		below += c.Weight * BetaCDF(t, c.A, c.B)
	}
	return min(1, max(0, below))
}

// Judge gives the probability that the proportion lies below t and by how much it is expected to fall short of it,
// E[(t − p)⁺]; see [Beta.Shortfall]. The two together cost one incomplete beta function a component, because
// I_t(a+1, b) = I_t(a, b) − tᵃ(1−t)ᵇ / (a·B(a, b)).
func (m Mixture) Judge(t float64) (below, shortfall float64) {
	if !(t > 0 && t < 1) {
		return m.Below(t), max(0, t-m.Mean())
	}
	logT, logRest := math.Log(t), math.Log1p(-t)
	for _, c := range m {
		at := BetaCDF(t, c.A, c.B)
		next := at - math.Exp(c.A*logT+c.B*logRest-mathext.Lbeta(c.A, c.B))/c.A
		below += c.Weight * at
		shortfall += c.Weight * (t*at - c.A/(c.A+c.B)*next)
	}
	return min(1, max(0, below)), max(0, shortfall)
}

// Density gives the density of the proportion at p, which lies inside 0 to 1.
func (m Mixture) Density(p float64) float64 {
	logP, logRest, density := math.Log(p), math.Log1p(-p), 0.0
	for _, c := range m {
		density += c.Weight * math.Exp((c.A-1)*logP+(c.B-1)*logRest-mathext.Lbeta(c.A, c.B))
	}
	return density
}

// Cells cuts 0 to high into n cells and gives about how likely each is, against the others: they add up to 1 over the
// cells, by the density at their middles.
func (m Mixture) Cells(high float64, n int) []float64 {
	norms, cells, sum := make([]float64, len(m)), make([]float64, n), 0.0
	for i, c := range m {
		norms[i] = math.Log(c.Weight) - mathext.Lbeta(c.A, c.B)
	}
	for k := range cells {
		p := high * (float64(k) + 0.5) / float64(n)
		logP, logRest := math.Log(p), math.Log1p(-p)
		for i, c := range m {
			cells[k] += math.Exp((c.A-1)*logP + (c.B-1)*logRest + norms[i])
		}
		sum += cells[k]
	}
	for k := range cells {
		cells[k] /= sum
	}
	return cells
}

// Quantile gives the proportion below which a share u of the mixture lies, to 1e-9: Newton's steps from the quantile of
// the one beta distribution that is closest, halving where a step leaves what is known to hold the answer.
func (m Mixture) Quantile(u float64) float64 {
	if !(u > 0 && u < 1) {
		return math.Max(0, math.Min(1, u))
	}
	low, high := 0.0, 1.0
	near := m.Matched()
	p := mathext.InvRegIncBeta(near.A, near.B, u)
	for range 100 {
		if !(p > low && p < high) {
			p = (low + high) / 2
		}
		over := m.Below(p) - u
		if over > 0 {
			high = p
		} else {
			low = p
		}
		step := over / m.Density(p)
		switch {
		case high-low < 1e-12, math.Abs(step) < 1e-9 && math.Abs(over) < 1e-9:
			return p
		case math.Abs(step) < 1e-5*min(p, 1-p) && p-step > low && p-step < high:
			return p - step // what is left is about the square of the step
		case math.Abs(step) < 1e-9: // beside a pole of the density: halve
			p = (low + high) / 2
		default:
			p -= step
		}
	}
	return p
}

// Interval gives the equal-tailed interval that holds the proportion with a probability.
func (m Mixture) Interval(probability float64) (low, high float64) {
	return m.Quantile((1 - probability) / 2), m.Quantile((1 + probability) / 2)
}

// With gives what the mixture becomes when hits of tries are seen: each component by Bayes' rule, and their weights by
// how likely each made the count.
func (m Mixture) With(seen Count) Mixture {
	x, y := float64(seen.Hits), float64(seen.Tries-seen.Hits)
	return m.reweigh(func(c Component) (Component, float64) {
		log := mathext.Lbeta(c.A+x, c.B+y) - mathext.Lbeta(c.A, c.B)
		return Component{c.Weight, c.A + x, c.B + y}, log
	})
}

// Without is the inverse of With: what the mixture was before hits of tries were seen. A component that would be left
// with less than 1e-3 of a shape keeps that.
func (m Mixture) Without(seen Count) Mixture {
	x, y := float64(seen.Hits), float64(seen.Tries-seen.Hits)
	return m.reweigh(func(c Component) (Component, float64) {
		a, b := max(c.A-x, 1e-3), max(c.B-y, 1e-3)
		return Component{c.Weight, a, b}, mathext.Lbeta(a, b) - mathext.Lbeta(c.A, c.B)
	})
}

func (m Mixture) reweigh(change func(Component) (Component, float64)) Mixture {
	out, logs := make(Mixture, len(m)), make([]float64, len(m))
	most := math.Inf(-1)
	for i, c := range m {
		out[i], logs[i] = change(c)
		logs[i] += math.Log(c.Weight)
		most = max(most, logs[i])
	}
	sum := 0.0
	for i := range out {
		out[i].Weight = math.Exp(logs[i] - most)
		sum += out[i].Weight
	}
	for i := range out {
		out[i].Weight /= sum
	}
	return out
}
