package stats

import "math"

// FewestClusters is how many games, or other clusters, it takes to say anything of how alike their tries are.
const FewestClusters = 5

// Clustering gives Pearson's φ of hits over clusters, such as games: about 1 when tries are independent, above 1 when
// those of one game are alike; and the number of independent tries that all of them are worth, tries / max(1, φ). With
// fewer than [FewestClusters] clusters that have tries, or when all or none are hits, φ cannot be estimated: it is
// then 1 and estimated is false. The slices go together.
//
// Source: Williams 1982, Applied Statistics 31:144-148; put into Wilson's interval after Korn and Graubard 1998.
func Clustering(hits, tries []int) (phi, worth float64, estimated bool) {
	x, n, clusters := 0, 0, 0
	for i := range tries {
		x, n = x+hits[i], n+tries[i]
		if tries[i] > 0 {
			clusters++
		}
	}
	if clusters < FewestClusters || x == 0 || x == n {
		return 1, float64(n), false
	}
	p := float64(x) / float64(n)
	for i := range tries {
		if m := float64(tries[i]); m > 0 {
			phi += (float64(hits[i]) - m*p) * (float64(hits[i]) - m*p) / (m * p * (1 - p))
		}
	}
	phi /= float64(clusters - 1)
	return phi, float64(n) / math.Max(1, phi), true
}
