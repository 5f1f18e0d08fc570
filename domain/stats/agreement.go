package stats

import "math"

// Agreement is how far two people who sorted the same things into the same categories agree. What cannot be told is NaN.
type Agreement struct {
	N       int
	Percent float64 // share sorted alike, 0 to 1

	// AC1 is Gwet's chance-corrected agreement. It keeps its sense when nearly everything falls into one category,
	// where kappa collapses, so it is the headline.
	AC1, AC1Error float64
	// Kappa is Cohen's. KappaNullError is its standard error if they agreed by chance alone.
	Kappa, KappaError, KappaNullError float64
	// PABAK is the prevalence-adjusted kappa; of more than two categories, Brennan and Prediger's coefficient.
	PABAK, PABAKError float64

	Specific              []float64 // of each category: of what either put there, the share that both did
	PrevalenceIndex, Bias float64   // of two categories only: how uneven these are, how differently the two use them
}

// Agree compares two people by the table of how often the first chose the row and the second the column. Every category
// that could be chosen has its row and column, chosen or not: their number enters AC1 and PABAK.
//
// Sources: Gwet 2008, British Journal of Mathematical and Statistical Psychology 61:29-48; Fleiss, Cohen and Everitt
// 1969, Psychological Bulletin 72:323-327; Byrt, Bishop and Carlin 1993, Journal of Clinical Epidemiology 46:423-429.
func Agree(table [][]int) Agreement {
	m := marginsOf(table)
	q := float64(len(table))
	a := Agreement{N: m.n, Percent: m.agreed(same)}
	a.ac1(m, q)
	a.Kappa, a.KappaError, a.KappaNullError = m.kappa(same)
	a.PABAK = (a.Percent - 1/q) / (1 - 1/q)
	a.PABAKError = math.Sqrt(a.Percent*(1-a.Percent)/float64(m.n)) / (1 - 1/q)
	for k := range table {
		a.Specific = append(a.Specific, 2*m.cell[k][k]/(m.row[k]+m.column[k]))
	}
	if len(table) == 2 {
		a.PrevalenceIndex = m.cell[0][0] - m.cell[1][1]
		a.Bias = m.row[0] - m.column[0]
	} else {
		a.PrevalenceIndex, a.Bias = math.NaN(), math.NaN()
	}
	return a
}

// WeightedKappa is Cohen's kappa with part marks for near misses: weights[i][j] from 0 to 1, 1 on the diagonal. It gives
// the share of marks too, the standard error and the one under agreement by chance. NaN when only one category was used.
// Source: Fleiss, Cohen and Everitt 1969, Psychological Bulletin 72:323-327.
func WeightedKappa(table [][]int, weights [][]float64) (percent, kappa, se, nullError float64) {
	m := marginsOf(table)
	weight := func(i, j int) float64 { return weights[i][j] }
	kappa, se, nullError = m.kappa(weight)
	return m.agreed(weight), kappa, se, nullError
}

// QuadraticWeights gives the part marks of ordered categories: 1 − (distance / most)².
func QuadraticWeights(categories int) [][]float64 {
	w := make([][]float64, categories)
	for i := range w {
		w[i] = make([]float64, categories)
		for j := range w[i] {
			d := float64(i-j) / math.Max(1, float64(categories-1))
			w[i][j] = 1 - d*d
		}
	}
	return w
}

// same gives a mark for the same category only.
func same(i, j int) float64 { return number(i == j) }

// margins are a table as shares of all.
type margins struct {
	n           int
	cell        [][]float64
	row, column []float64
}

func marginsOf(table [][]int) margins {
	q := len(table)
	m := margins{cell: make([][]float64, q), row: make([]float64, q), column: make([]float64, q)}
	for _, row := range table {
		for _, c := range row {
			m.n += c
		}
	}
	for i, row := range table {
		m.cell[i] = make([]float64, q)
		for j, c := range row {
			p := float64(c) / float64(m.n)
			m.cell[i][j] = p
			m.row[i] += p
			m.column[j] += p
		}
	}
	return m
}

func (m margins) agreed(weight func(i, j int) float64) float64 {
	sum := 0.0
	for i := range m.cell {
		for j, p := range m.cell[i] {
			sum += weight(i, j) * p
		}
	}
	return sum
}

func (a *Agreement) ac1(m margins, q float64) {
	chance, share := 0.0, make([]float64, len(m.row))
	for k := range share {
		share[k] = (m.row[k] + m.column[k]) / 2
		chance += share[k] * (1 - share[k]) / (q - 1)
	}
	a.AC1 = (a.Percent - chance) / (1 - chance)
	sum := 0.0
	for k := range m.cell {
		for l, p := range m.cell[k] {
			d := number(k == l) - 2*(1-a.AC1)*(1-(share[k]+share[l])/2)/(q-1)
			sum += p * d * d
		}
	}
	centre := a.Percent - 2*(1-a.AC1)*chance
	a.AC1Error = math.Sqrt(math.Max(0, sum-centre*centre)/float64(m.n)) / (1 - chance)
}

func (m margins) kappa(weight func(i, j int) float64) (kappa, se, nullError float64) {
	q := len(m.row)
	rowMean, columnMean := make([]float64, q), make([]float64, q)
	chance := 0.0
	for i := range q {
		for j := range q {
			rowMean[i] += weight(i, j) * m.column[j]
			columnMean[j] += weight(i, j) * m.row[i]
			chance += weight(i, j) * m.row[i] * m.column[j]
		}
	}
	if 1-chance < 1e-12 { // one category only: 0/0
		return math.NaN(), math.NaN(), math.NaN()
	}
	kappa = (m.agreed(weight) - chance) / (1 - chance)
	var sum, null float64
	for i := range q {
		for j := range q {
			w, mean := weight(i, j), rowMean[i]+columnMean[j]
			d := w - mean*(1-kappa)
			sum += m.cell[i][j] * d * d
			null += m.row[i] * m.column[j] * (w - mean) * (w - mean)
		}
	}
	centre, scale := kappa-chance*(1-kappa), float64(m.n)*(1-chance)*(1-chance)
	return kappa, math.Sqrt(math.Max(0, sum-centre*centre) / scale), math.Sqrt(math.Max(0, null-chance*chance) / scale)
}
