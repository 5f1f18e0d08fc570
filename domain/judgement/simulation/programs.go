package simulation

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// setting is a world with the shots of a goalie and the goalies of a program.
type setting struct {
	world
	shots, goalies int
}

func (s setting) String() string { return fmt.Sprintf("%s/%d/%d", s.name, s.shots, s.goalies) }

var (
	worlds    = []world{fixed("15", 15), fixed("40", 40), fixed("150", 150), fixed("294", 294), mixed}
	allShots  = []int{30, 100, 400}
	programOf = []int{2, 6, 15, 40}
)

// run measures each method in a setting.
func (s setting) run(size Size, methods []method) []measures {
	random := s.random(size)
	out := make([]measures, len(methods))
	for range max(2, size.Goalies/s.goalies) {
		g := s.draw(random, s.goalies, s.shots)
		t := g.truth()
		opinions := map[string]opinion{}
		for _, m := range slices.Concat(methods, []method{knowsSpread, apart, jeffreys}) {
			if _, done := opinions[m.name]; !done {
				o := m.think(g)
				o.weigh(t)
				o.find(g)
				opinions[m.name] = o
			}
		}
		for k, m := range methods {
			out[k].add(g, t, opinions[m.name], opinions[knowsSpread.name], opinions[apart.name], opinions[jeffreys.name])
		}
	}
	return out
}

// random gives the setting's own stream of numbers, the same each time.
func (s setting) random(size Size) *rand.Rand {
	return rand.New(rand.NewPCG(size.Seed, seedOf(s.String()))) //nolint:gosec // a simulation that repeats needs no secret
}

// seedOf gives each setting its own stream (FNV-1a).
func seedOf(name string) uint64 {
	h := uint64(14695981039346656037)
	for _, b := range []byte(name) {
		h = (h ^ uint64(b)) * 1099511628211
	}
	return h
}

// FixedTruth tries programs whose true rates are spread as no prior says, with the rules of thumb beside.
func FixedTruth(size Size) []Line {
	methods := []method{shared, apart, jeffreys, plugIn}
	var lines []Line
	logs := make([]ratio, len(methods))
	for _, s := range settings(size) {
		for k, m := range s.run(size, methods) {
			lines = append(lines, fixedLines(s, methods[k], m)...)
			value, _ := m.overApart.value()
			logs[k].add(math.Log(value), 1)
		}
		lines = append(lines, s.thumbLines(size)...)
	}
	if size.Full {
		for k, m := range methods {
			mean, se := logs[k].value()
			lines = append(lines, Line{
				Measure: "regret ÷ each target alone, geometric mean", Setting: "all", Method: m.name, Rule: m.rule,
				Value: math.Exp(mean), SE: se * math.Exp(mean), Aim: AtMost(.96), Cap: .03,
			})
		}
	}
	return lines
}

func settings(size Size) []setting {
	if !size.Full {
		return []setting{{worlds[1], 30, 6}, {worlds[2], 100, 15}, {mixed, 100, 6}}
	}
	var out []setting
	for _, w := range worlds {
		for _, shots := range allShots {
			for _, goalies := range programOf {
				out = append(out, setting{w, shots, goalies})
			}
		}
	}
	return out
}

// lineOf makes a line of a ratio.
type lineOf func(measure string, r ratio, aim *Aim, most float64) Line

func by(s setting, m method) lineOf {
	return func(measure string, r ratio, aim *Aim, most float64) Line {
		value, se := r.value()
		return Line{Measure: measure, Setting: s.String(), Method: m.name, Rule: m.rule, Value: value, SE: se, Aim: aim, Cap: most}
	}
}

// pick gives the value that goes with a number of shots, or of goalies.
func pick[T any](keys []int, key int, values ...T) T { return values[slices.Index(keys, key)] }

func fixedLines(s setting, method method, m measures) []Line {
	line, raw := by(s, method), againstRaw[s.name][s.shots]
	lines := []Line{
		line("regret ÷ knows M", m.overKnowing, AtMost(map[bool]float64{true: 1.15, false: 1.06}[s.name == "mix"]),
			map[bool]float64{true: .035, false: .02}[s.name == "294"]),
		line("regret ÷ each target alone", m.overApart, AtMost(1.04), 0),
		line("regret ÷ raw shortfall × exposure", m.overRaw, AtMost(pick(programOf, s.goalies, raw[:]...)), 0),
	}
	if (s.name == "150" || s.name == "294") && s.shots <= 100 && s.goalies <= 6 {
		lines = append(lines, line("regret ÷ each target alone, alike and few", m.overApart, AtMost(.95), 0))
	}
	lines = append(lines, intervalLines(s, line, m)...)
	lines = append(lines,
		line("board q .10, wrong", m.board, AtMost(pick(allShots, s.shots, .135, .115, .107)), .01),
		line("board q .08, wrong", m.board08, AtMost(.11), .01),
		line("own list, wrong", m.own, AtMost(pick(allShots, s.shots, .11, .09, .065)), .01),
		line("clear gaps, wrong", m.clear, AtMost(pick(allShots, s.shots, .07, .04, .02)), .01),
		line("gaps found ÷ knows M", m.found, AtLeast(pick(allShots, s.shots, .89, .96, .99)), .02),
	)
	for k, tries := range laterTries {
		lines = append(lines, blockLines(s, line, tries, m.blocks[k])...)
	}
	return append(lines,
		line("regret ÷ oracle", m.overOracle, nil, 0),
		line("regret ÷ Jeffreys'", m.overAlone, nil, 0),
		line("regret ÷ lowest raw rate", m.overLow, nil, 0),
	)
}

// blockLines are of blocks of one length. Power is asked for on the shorter ones, for there the method must not lag.
func blockLines(s setting, line lineOf, tries int, b blocks) []Line {
	name := func(what string) string { return fmt.Sprintf("%s, %d tries", what, tries) }
	none, power := AtMost(pick(programOf, s.goalies, .135, .125, .115, .11)), AtLeast(pick(laterTries[:], tries, .93, .80))
	return []Line{
		line(name("no change called help"), b.helped, none, .01),
		line(name("no change called help by the plain tail"), b.plain, AtMost(.11), .01),
		line(name("power +.20 ÷ knows μ and M"), b.power, power, .02),
		line(name("power +.10 ÷ knows μ and M"), b.less, power, .03),
		line(name("rise by .20 called help"), b.found, nil, 0),
		line(name("rise by .10 called help"), b.fewer, nil, 0),
	}
}

func intervalLines(s setting, line lineOf, m measures) []Line {
	band := pick(allShots, s.shots, Aim{.865, .975}, Aim{.865, .945}, Aim{.870, .925})
	width := line("width ÷ Jeffreys'", m.width, AtMost(pick(allShots, s.shots, .78, .88, .97)), .02)
	rmse := line("error ÷ Jeffreys'", m.rmse, AtMost(pick(allShots, s.shots, .73, .88, .98)), .02)
	rmse.Value, rmse.SE = m.rmse.root()
	return []Line{
		line("90 % intervals hold", m.cover, &band, .01),
		line("90 % intervals hold, chosen target", m.chosen, &Aim{band.Low - .02, band.High + .02}, .01),
		width, rmse,
	}
}

// thumbLines are how raw shortfall × exposure does against who knows M, and what is said of blocks that changed nothing by
// who looks at the raw rate alone; beside it, what who knows everything would do.
func (s setting) thumbLines(size Size) []Line {
	random := s.random(size)
	var raw ratio
	var blocks [len(laterTries)]plainBlocks
	for range max(2, size.Goalies/s.goalies) {
		g := s.draw(random, s.goalies, s.shots)
		t, o := g.truth(), knowsSpread.think(g)
		o.weigh(t)
		raw.add(t.raw, o.regret)
		for k, tries := range laterTries {
			blocks[k].add(g, tries)
		}
	}
	thumb := func(name string) lineOf { return by(s, method{name: name, rule: true}) }
	byRaw, table := thumb("raw shortfall × exposure"), againstRaw[s.name][s.shots]
	itself := byRaw("regret ÷ raw shortfall × exposure", ratio{}, AtMost(pick(programOf, s.goalies, table[:]...)), 0)
	itself.Value, itself.SE = 1, 0
	lines := []Line{
		byRaw("regret ÷ knows M", raw, AtMost(map[bool]float64{true: 1.15, false: 1.06}[s.name == "mix"]), 0), itself,
	}
	none := AtMost(pick(programOf, s.goalies, .135, .125, .115, .11))
	for k, tries := range laterTries {
		same := fmt.Sprintf("no change called help, %d tries", tries)
		lines = append(lines,
			thumb("raw rate higher")(same, blocks[k].higher, none, 0),
			thumb("two-proportion test")(same, blocks[k].tested, none, 0),
			thumb("knows the rate before")(fmt.Sprintf("rise by .20 called help, %d tries", tries), blocks[k].found, nil, 0),
			thumb("knows the rate before")(fmt.Sprintf("rise by .10 called help, %d tries", tries), blocks[k].fewer, nil, 0),
		)
	}
	return lines
}

// OwnPrior tries programs that are just as the method takes for granted: then it must be honest to the point.
func OwnPrior(size Size) []Line {
	var all []setting
	for _, shots := range allShots {
		for _, goalies := range programOf {
			all = append(all, setting{own, shots, goalies})
		}
	}
	if !size.Full {
		all = []setting{{own, 100, 6}}
	}
	var lines []Line
	for _, s := range all {
		methods := []method{shared, jeffreys, plugIn}
		for k, m := range s.run(size, methods) {
			line := by(s, methods[k])
			lines = append(lines,
				line("own prior: 90 % intervals hold", m.cover, &Aim{.892, .908}, .01),
				line("own prior: 90 % intervals hold, chosen target", m.chosen, &Aim{.885, .915}, .01),
				line("own prior: wrong less announced", m.announced, &Aim{-.01, .01}, .01),
				line("own prior: no change called help, 24 tries", m.blocks[0].helped, AtMost(.105), .01),
				line("own prior: no change called help, 60 tries", m.blocks[1].helped, AtMost(.105), .01),
			)
		}
	}
	return lines
}
