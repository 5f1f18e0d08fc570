package judgement

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"

	"cagework/domain"
	"cagework/domain/stats"
)

// SaveChance gives how often a shot like this one is saved by a goalie of average effect, from a fit that did not see
// its goalie's shots; the pooled rate where the fit is not used.
func (f *DifficultyFit) SaveChance(s *domain.CountedShot) float64 {
	if !f.Enough {
		return f.PooledRate
	}
	chance, _ := f.about(s)
	return chance
}

// shotMemory remembers what a fit found of shots.
type shotMemory map[*domain.CountedShot]shotFound

type shotFound struct {
	chance float64   // of a save
	row    []float64 // as the fit names its columns
}

// Remembering gives the same fits with a memory of their own of the shots that they are asked about, since one week asks for
// the same shots' chances in its lines, charts, pairs and worths. While they are in use the shots may not change, and only
// one goroutine may ask.
func Remembering(fits map[FitKey]Fitted) map[FitKey]Fitted {
	out := make(map[FitKey]Fitted, len(fits))
	for key, f := range fits {
		f.Difficulty = *f.Difficulty.remembering()
		out[key] = f
	}
	return out
}

func (f *DifficultyFit) remembering() *DifficultyFit {
	out := *f
	out.memory = shotMemory{}
	return &out
}

// about measures a shot, or remembers how it was measured.
func (f *DifficultyFit) about(s *domain.CountedShot) (chance float64, row []float64) {
	if found, there := f.memory[s]; there {
		return found.chance, found.row
	}
	n := len(f.Names)
	room := make([]float64, 2*n+1)
	row = f.values(s, room[:n:n])
	chance = stats.Sigmoid(f.modelFor(s).logOdds(row, room[n:]))
	if f.memory != nil {
		f.memory[s] = shotFound{chance, row}
	}
	return chance, row
}

// modelFor gives the fit that left the shot's goalie out, or that of all shots when none had them in.
func (f *DifficultyFit) modelFor(s *domain.CountedShot) *ShotModel {
	if goalie := s.Shot.Found.FacedGoalieID; goalie != nil {
		for i := range f.Parts {
			if slices.Contains(f.Parts[i].LeftOut, *goalie) {
				return &f.Parts[i]
			}
		}
	}
	return &f.All
}

// values measures a shot into a row, as the fit names its columns. A column that is no more is never known.
func (f *DifficultyFit) values(s *domain.CountedShot, row []float64) []float64 {
	if slices.Equal(f.Names, shotColumns) {
		measureShot(shotTraits, s, row)
		return row
	}
	now := make([]float64, len(shotColumns))
	measureShot(shotTraits, s, now)
	for j, name := range f.Names {
		row[j] = unknown
		if at := slices.Index(shotColumns, name); at >= 0 {
			row[j] = now[at]
		}
	}
	return row
}

// logOdds scales a row into x, which is as long as the row and the constant, and sums.
func (m *ShotModel) logOdds(row, x []float64) float64 {
	m.Into(row, x)
	sum := m.Constant
	for j, c := range m.Coefficients {
		sum += c * x[j+1]
	}
	return sum
}

// Expected compares the saves of one goalie with those that a goalie of average effect would have made of the same shots.
type Expected struct {
	Shots  int  // on goal, of which the model speaks
	Saves  int  // of them
	Pooled bool // the pooled rate stands in for the difficulty of each shot

	Expected *float64 // saves; nil without shots
	Above    *float64 // saves above expected; below it when negative
	// Low and High are Above less what chance and the fit's own uncertainty can give a goalie of average effect, at the
	// confidence asked for: when they lie on both sides of 0, the saves are in keeping with an average goalie.
	Low, High *float64
}

// mostExact is the number of shots up to which the distribution of saves is worked out exactly.
const mostExact = 300

// Expect compares saves with expected ones over any shots of one goalie: of a game, a span or a season. Shots of which
// the model does not speak are left out.
func (f *DifficultyFit) Expect(shots []*domain.CountedShot, confidence float64) Expected {
	e := Expected{Pooled: !f.Enough}
	if f.memory == nil {
		f = f.remembering() // a shot's row is needed twice
	}
	var chances []float64
	mean := 0.0
	var faced []*domain.CountedShot
	for _, s := range shots {
		if !inDifficulty(s) {
			continue
		}
		p := f.SaveChance(s)
		chances, mean, faced = append(chances, p), mean+p, append(faced, s)
		if s.Shot.Fields.Outcome == domain.Save {
			e.Saves++
		}
	}
	if e.Shots = len(faced); e.Shots == 0 {
		return e
	}
	lowest, highest := savesRange(chances, f.shiftError(faced, chances), confidence)
	saves := float64(e.Saves)
	above, low, high := saves-mean, saves-highest, saves-lowest
	e.Expected, e.Above, e.Low, e.High = &mean, &above, &low, &high
	return e
}

// savesRange gives the range of saves of a goalie of average effect when the fit may be off by a common shift of the
// log-odds with a standard error.
func savesRange(chances []float64, shift, confidence float64) (low, high float64) {
	if len(chances) <= mostExact {
		l, h := stats.CountRange(stats.MixedPoissonBinomial(chances, 0, shift), confidence)
		return float64(l), float64(h)
	}
	var mean, variance float64
	for _, p := range chances {
		mean, variance = mean+p, variance+p*(1-p)
	}
	half := mathext.NormalQuantile((1+confidence)/2) * math.Sqrt(variance+variance*variance*shift*shift)
	return math.Max(0, mean-half), math.Min(float64(len(chances)), mean+half)
}

// shiftError gives the standard error of the sum of the chances, as a shift of all their log-odds: √(gᵀVg) / Σp(1−p),
// with g = Σp(1−p)x.
func (f *DifficultyFit) shiftError(shots []*domain.CountedShot, chances []float64) float64 {
	if !f.Enough {
		return 1 / math.Sqrt(float64(f.Shots+1)*f.PooledRate*(1-f.PooledRate))
	}
	g, x := make([]float64, len(f.Names)+1), make([]float64, len(f.Names)+1)
	weight := 0.0
	for i, s := range shots {
		_, row := f.about(s)
		f.All.Into(row, x)
		w := chances[i] * (1 - chances[i])
		weight += w
		for j := range g {
			g[j] += w * x[j]
		}
	}
	variance := 0.0
	for i, row := range f.Covariance {
		for j, v := range row {
			if i != j {
				v *= 2 // for the other half
			}
			variance += g[i] * v * g[j]
		}
	}
	return math.Sqrt(variance) / weight
}

// GameExpected is one game's comparison.
type GameExpected struct {
	Game domain.Game
	Expected
}

// ExpectByGame compares game by game, in the order in which the games first appear.
func (f *DifficultyFit) ExpectByGame(shots []*domain.CountedShot, confidence float64) []GameExpected {
	var games []GameExpected
	of := map[domain.ID][]*domain.CountedShot{}
	for _, s := range shots {
		if _, seen := of[s.Game.ID]; !seen {
			games = append(games, GameExpected{Game: s.Game})
		}
		of[s.Game.ID] = append(of[s.Game.ID], s)
	}
	for i := range games {
		games[i].Expected = f.Expect(of[games[i].Game.ID], confidence)
	}
	return games
}
