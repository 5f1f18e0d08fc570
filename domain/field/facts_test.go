package field

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// allSeen is a shot of which everything was marked.
func allSeen() Seen {
	return Seen{
		Ball: Spot{-3.2, 8.5}, Pass: new(Spot{5, 6}), CatchToReleaseS: new(.6), ReleaseUpM: new(1.8), SpeedMS: new(31.0),
		Finish: &Finish{-.55, .3}, Keeper: new(Spot{-.2, .6}), FacingDeg: new(-20.0), Arc: new(ArcTo(.7)), ShadeNearM: .05, Silhouette: &keeperShape,
	}
}

// TestDeriveGathersWhatEachPartSays: nothing is worked out twice in two ways.
func TestDeriveGathersWhatEachPartSays(t *testing.T) {
	g := groundOf(t, "mens_field")
	s := allSeen()
	s.Ball = Spot{-6, 6.5}
	f, err := g.Derive(&s)
	require.NoError(t, err)
	sight, err := g.See(s.Ball)
	require.NoError(t, err)
	assert.Equal(t, sight, f.Sight)
	pipe, _ := g.Opening().Pipe(s.Ball.XM, s.Ball.YM, s.Finish.XM)
	assert.Equal(t, pipe, f.Pipe)
	assert.Equal(t, Near, f.Pipe)
	assert.InDelta(t, VerticalAngleDeg(s.Ball, 1.8, *s.Finish), f.VerticalDeg, 0)
	assert.InDelta(t, distance(s.Ball, Spot{-.55, 0}), f.FlightM, 1e-12)
	assert.InDelta(t, f.FlightM/31, f.FlightS, 1e-12)
	drag, _ := DragFlightS(31, f.FlightM)
	assert.InDelta(t, drag, f.DragFlightS, 0)
	swing, _ := Swing(*s.Pass, s.Ball)
	assert.InDelta(t, swing, f.SwingDeg, 0)
	assert.True(t, f.CrossedMiddle)
	assert.False(t, f.WentBehind)
	way, ok := s.Arc.Travel(g.Opening(), *s.Pass, s.Ball, .05, -.05)
	require.True(t, ok)
	assert.Equal(t, way, f.Travel, "each ball with the shade toward its own near pipe")
	assert.InDelta(t, way.StraightM/.6, f.TravelSpeedMS, 1e-12)
	assert.Equal(t, way.To, f.Post)
	b, _ := BisectorFrom(g.Opening(), s.Ball)
	assert.Equal(t, b.Stance(*s.Keeper, -.05), f.Stance)
	assert.InDelta(t, OffSquareDeg(*s.Keeper, s.Ball, -20), f.OffSquareDeg, 0)
	net, _ := keeperShape.NetLeft(g.Opening(), s.Ball, 1.8, *s.Keeper)
	assert.Equal(t, net, f.Net)
	assert.True(t, f.VerticalKnown && f.FlightKnown && f.SwingKnown && f.TravelKnown && f.TravelSpeedKnown && f.DepthKnown && f.StanceKnown && f.OffSquareKnown &&
		f.PostKnown && f.NetKnown)
}

func TestDeriveSaysNothingOfWhatNobodyMarked(t *testing.T) {
	g := groundOf(t, "mens_field")
	f, err := g.Derive(&Seen{Ball: Spot{4, 4}})
	require.NoError(t, err)
	sight, _ := g.See(Spot{4, 4})
	assert.Equal(t, Facts{Sight: sight, FlightM: sight.DistanceM}, f)
}

// knownOf names what could be worked out.
func knownOf(f Facts) []string {
	known := []string{}
	for _, k := range []struct {
		name string
		is   bool
	}{
		{"pipe", f.Pipe != ""}, {"vertical", f.VerticalKnown}, {"flight", f.FlightKnown}, {"swing", f.SwingKnown},
		{"travel", f.TravelKnown}, {"travel speed", f.TravelSpeedKnown}, {"depth", f.DepthKnown}, {"stance", f.StanceKnown}, {"off", f.Stance.OffKnown},
		{"square", f.OffSquareKnown}, {"post", f.PostKnown}, {"net", f.NetKnown},
	} {
		if k.is {
			known = append(known, k.name)
		}
	}
	return known
}

func TestEachFactNeedsWhatItStandsOn(t *testing.T) {
	g := groundOf(t, "mens_field")
	all := []string{"pipe", "vertical", "flight", "swing", "travel", "travel speed", "depth", "stance", "off", "square", "post", "net"}
	s := allSeen()
	s.Ball = Spot{-6, 6.5}
	f, err := g.Derive(&s)
	require.NoError(t, err)
	assert.Equal(t, all, knownOf(f))
	for name, c := range map[string]struct {
		without func(*Seen)
		lacks   []string
	}{
		"bounce":          {func(s *Seen) { s.Bounced = true }, []string{"vertical"}},
		"release":         {func(s *Seen) { s.ReleaseUpM = nil }, []string{"vertical", "net"}},
		"finish":          {func(s *Seen) { s.Finish = nil }, []string{"pipe", "vertical"}},
		"speed":           {func(s *Seen) { s.SpeedMS = nil }, []string{"flight"}},
		"speed of 0":      {func(s *Seen) { s.SpeedMS = new(0.0) }, []string{"flight"}},
		"pass":            {func(s *Seen) { s.Pass = nil }, []string{"swing", "travel", "travel speed"}},
		"time":            {func(s *Seen) { s.CatchToReleaseS = nil }, []string{"travel speed"}},
		"arc":             {func(s *Seen) { s.Arc = nil }, []string{"travel", "travel speed", "post"}},
		"goalkeeper":      {func(s *Seen) { s.Keeper = nil }, []string{"depth", "stance", "off", "square", "net"}},
		"facing":          {func(s *Seen) { s.FacingDeg = nil }, []string{"square"}},
		"silhouette":      {func(s *Seen) { s.Silhouette = nil }, []string{"net"}},
		"ball in front":   {func(s *Seen) { s.Ball = Spot{-2, -4} }, []string{"stance", "off", "net"}},
		"room to the arc": {func(s *Seen) { s.Ball = Spot{-.3, .4} }, []string{"travel", "travel speed", "off", "post", "net"}},
		"a low bearing":   {func(s *Seen) { s.Ball = Spot{-6, .7} }, []string{"off"}},
	} {
		s := allSeen()
		s.Ball = Spot{-6, 6.5}
		c.without(&s)
		f, err := g.Derive(&s)
		require.NoError(t, err, name)
		want := slices.DeleteFunc(slices.Clone(all), func(k string) bool { return slices.Contains(c.lacks, k) })
		assert.Equal(t, want, knownOf(f), "without %s", name)
	}
}

func TestDeriveRefusesByName(t *testing.T) {
	g := groundOf(t, "mens_field")
	for field, change := range map[string]func(*Seen){
		"x_m":        func(s *Seen) { s.Ball.XM = math.NaN() },
		"y_m":        func(s *Seen) { s.Ball = Spot{0, -1} },
		"pass_x_m":   func(s *Seen) { s.Pass.XM = 99 },
		"pass_y_m":   func(s *Seen) { *s.Pass = Spot{} },
		"keeper_x_m": func(s *Seen) { s.Keeper.XM = math.Inf(1) },
		"keeper_y_m": func(s *Seen) { s.Keeper.YM = math.NaN() },
	} {
		s := allSeen()
		change(&s)
		_, err := g.Derive(&s)
		var fault *Fault
		require.ErrorAs(t, err, &fault, field)
		assert.Equal(t, field, fault.Field)
	}
	s := allSeen()
	s.Keeper = &Spot{}
	_, err := g.Derive(&s)
	assert.NoError(t, err, "a goalkeeper may stand on the goal line")
}

func TestDeriveMirrors(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := groundOf(t, anyCode.Draw(t, "code"))
		s := allSeen()
		s.Ball, *s.Pass = drawBall(t, g, "ball"), drawBall(t, g, "pass")
		m := s
		m.Ball, m.Pass, m.Keeper = mirrored(s.Ball), new(mirrored(*s.Pass)), new(mirrored(*s.Keeper))
		m.Finish = &Finish{-s.Finish.XM, s.Finish.UpM}
		one, err := g.Derive(&s)
		require.NoError(t, err)
		other, err := g.Derive(&m)
		require.NoError(t, err)
		assert.Equal(t, one.Pipe, other.Pipe)
		assert.Equal(t, one.CrossedMiddle, other.CrossedMiddle)
		assert.Equal(t, one.TravelKnown, other.TravelKnown)
		for name, pair := range map[string][2]float64{
			"angle": {one.Sight.GoalAngleDeg, other.Sight.GoalAngleDeg}, "swing": {one.SwingDeg, other.SwingDeg},
			"travel": {one.Travel.StraightM, other.Travel.StraightM}, "off": {one.Stance.OffCM, -other.Stance.OffCM},
			"flight": {one.FlightS, other.FlightS}, "vertical": {one.VerticalDeg, other.VerticalDeg},
			"out": {one.Stance.OutAlongBisectorM, other.Stance.OutAlongBisectorM},
		} {
			assert.InDelta(t, pair[0], pair[1], 1e-6, name)
		}
	})
}

func TestDeriveAllocatesNothing(t *testing.T) {
	g, s := groundOf(t, "mens_field"), allSeen()
	var f Facts
	assert.Zero(t, testing.AllocsPerRun(100, func() { f, _ = g.Derive(&s) }))
	assert.True(t, f.NetKnown)
}

// BenchmarkDerive works out the facts of a million different shots: all of them, of shots of which everything was marked, and
// those that stand on where the ball was and finished.
func BenchmarkDerive(b *testing.B) {
	const shots = 1_000_000
	g := groundOf(b, "mens_field")
	random := rand.New(rand.NewPCG(1, 2))
	list, bare := make([]Seen, 0, shots), make([]Seen, 0, shots)
	for len(list) < shots {
		s := allSeen()
		s.Ball = Spot{30*random.Float64() - 15, 22*random.Float64() - 6}
		*s.Pass = Spot{30*random.Float64() - 15, 22*random.Float64() - 6}
		*s.Keeper = Spot{1.4*random.Float64() - .7, random.Float64()}
		if g.CheckBall(s.Ball) == nil && g.CheckBall(*s.Pass) == nil {
			list = append(list, s)
			bare = append(bare, Seen{Ball: s.Ball, Finish: s.Finish})
		}
	}
	for name, list := range map[string][]Seen{"everything marked": list, "ball and finish": bare} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			sum := 0.0
			for b.Loop() {
				for i := range list {
					f, err := g.Derive(&list[i])
					if err != nil {
						b.Fatal(err)
					}
					sum += f.Sight.DistanceM
				}
			}
			if sum == 0 {
				b.Fatal("nothing was worked out")
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/shots, "ns/shot")
		})
	}
}
