package stats

import "math"

// Predictive is how likely each number of hits is, from none to as many as there are tries.
type Predictive []float64

// Predict gives how likely each number of hits in n tries is: the beta-binomial distribution.
func (d Beta) Predict(n int) Predictive { return Mixture{{1, d.A, d.B}}.Predict(n) }

// Predict gives how likely each number of hits in n tries is: the mixture of beta-binomial distributions
// C(n, k)·B(a+k, b+n−k) / B(a, b).
func (m Mixture) Predict(n int) Predictive {
	out, one := make(Predictive, n+1), make(Predictive, n+1)
	for _, c := range m {
		// Each chance follows from its neighbour's, from the likeliest outward so that nothing overflows; they add up to 1.
		mode := int(min(float64(n), max(0, math.Floor(float64(n)*c.A/(c.A+c.B)))))
		one[mode] = 1
		sum := 1.0
		for k := mode; k < n; k++ {
			one[k+1] = one[k] * c.ratio(n, k)
			sum += one[k+1]
		}
		for k := mode - 1; k >= 0; k-- {
			one[k] = one[k+1] / c.ratio(n, k)
			sum += one[k]
		}
		for k, p := range one {
			out[k] += c.Weight * p / sum
		}
	}
	return out
}

// ratio gives P(k+1) / P(k).
func (c Component) ratio(n, k int) float64 {
	x, y := float64(k), float64(n-k-1)
	return (y + 1) / (x + 1) * (c.A + x) / (c.B + y)
}

// Mean gives the expected number of hits.
func (p Predictive) Mean() float64 {
	mean := 0.0
	for k, chance := range p {
		mean += float64(k) * chance
	}
	return mean
}

// Variance gives the variance of the number of hits.
func (p Predictive) Variance() float64 {
	mean, v := p.Mean(), 0.0
	for k, chance := range p {
		v += (float64(k) - mean) * (float64(k) - mean) * chance
	}
	return v
}

// AtLeast gives the probability of so many hits or more.
func (p Predictive) AtLeast(hits int) float64 {
	sum := 0.0
	for k := len(p) - 1; k >= max(hits, 0); k-- {
		sum += p[k]
	}
	return min(1, sum)
}

// MidTail gives P(more hits) + ½P(as many).
func (p Predictive) MidTail(hits int) float64 { return (p.AtLeast(hits) + p.AtLeast(hits+1)) / 2 }

// Range gives the least numbers of hits up to which lie a share (1−s)/2 and a share (1+s)/2 of the probability, so that
// what is between them, both included, holds at least about s.
func (p Predictive) Range(share float64) (low, high int) {
	return p.quantile((1 - share) / 2), p.quantile((1 + share) / 2)
}

func (p Predictive) quantile(u float64) int {
	sum := 0.0
	for k, chance := range p {
		if sum += chance; sum >= u-1e-12 {
			return k
		}
	}
	return len(p) - 1
}

// Least gives the least number of hits whose tail, plain P(as many or more) or mid-P, is at most the level. ok is false
// when not even all hits would do.
func (p Predictive) Least(level float64, plain bool) (hits int, ok bool) {
	above := 0.0 // P(more than hits)
	for hits = len(p); hits > 0; hits-- {
		tail := above + p[hits-1]
		if !plain {
			tail = above + p[hits-1]/2
		}
		if tail > level {
			break
		}
		above += p[hits-1]
	}
	return hits, hits < len(p)
}

// Plus gives how likely each sum of two independent numbers is.
func (p Predictive) Plus(q Predictive) Predictive {
	out := make(Predictive, len(p)+len(q)-1)
	for i, a := range p {
		for j, b := range q {
			out[i+j] += a * b
		}
	}
	return out
}

// Decided gives the chance that m more tries would settle whether the proportion is below t: that the probability of it
// is then at least sure (below) or at most unlikely (met). Source: preposterior analysis, Raiffa and Schlaifer 1961.
func (d Beta) Decided(m int, t, sure, unlikely float64) (below, met float64) {
	chance := func(k int) float64 { return BetaCDF(t, d.A+float64(k), d.B+float64(m-k)) }
	// The more hits, the less likely it is below t, so each verdict is one end of the range of hits.
	first := func(holds func(int) bool) int {
		low, high := 0, m+1
		for low < high {
			if mid := (low + high) / 2; holds(mid) {
				high = mid
			} else {
				low = mid + 1
			}
		}
		return low
	}
	p := d.Predict(m)
	notBelow := first(func(k int) bool { return chance(k) < sure })
	isMet := first(func(k int) bool { return chance(k) <= unlikely })
	return max(0, 1-p.AtLeast(notBelow)), p.AtLeast(isMet)
}
