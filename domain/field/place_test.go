package field

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The bearings are worked out by hand from right triangles.
func TestBearing(t *testing.T) {
	for _, c := range []struct{ x, y, want float64 }{
		{0, 10, 0}, {5, 5, 45}, {-5, 5, 45}, {5, 0, 90}, {-7, 0, 90}, {3, -3, 135}, {0, -4, 180},
		{math.Sqrt(3), 1, 60}, {1, math.Sqrt(3), 30}, {-1, -math.Sqrt(3), 150},
	} {
		got, ok := Bearing(c.x, c.y)
		assert.True(t, ok)
		assert.InDelta(t, c.want, got, 1e-9, "%+v", c)
	}
	_, ok := Bearing(0, 0)
	assert.False(t, ok, "the middle of the goal line lies in no direction")
}

// at gives the spot that lies a distance off at a bearing.
func at(distance, degrees float64) (x, y float64) {
	return distance * math.Sin(degrees*math.Pi/180), distance * math.Cos(degrees*math.Pi/180)
}

// groundOf gives what a code of play starts with.
func groundOf(t require.TestingT, codeOfPlay string) *Ground {
	g, ok := GroundOf(codeOfPlay)
	require.True(t, ok, codeOfPlay)
	return &g
}

func TestArea(t *testing.T) {
	g := groundOf(t, "mens_field")
	for _, c := range []struct {
		distance, bearing float64
		want              Area
	}{
		{0, 0, Inside}, {5.4, 0, Inside}, {5.4, 79, Inside}, {5.6, 0, Top}, {5.6, 29, Top}, {5.6, 31, Alley},
		{12, 45, Alley}, {12, 59, Alley}, {12, 61, Wing}, {6, 79, Wing}, {1, 81, GoalLineExtended}, {12, 90, GoalLineExtended},
		{3, 99, GoalLineExtended}, {3, 101, Behind}, {3, 159, Behind}, {3, 161, X}, {3, 180, X},
	} {
		x, y := at(c.distance, c.bearing)
		assert.Equal(t, c.want, g.Area(Spot{x, y}), "%+v", c)
		assert.Equal(t, c.want, g.Area(Spot{-x, y}), "%+v on the other side", c)
	}
	assert.Equal(t, Inside, g.Area(Spot{0, 5}))
	assert.Equal(t, Top, groundOf(t, "box").Area(Spot{0, 5}))
	assert.Equal(t, Inside, g.Area(Spot{0, 5.5}), "the edge belongs to the inside")
}

// TestTheAreasCoverEveryGroundOnce holds each code of play against the table in which coaches have the areas, written here a
// second time: every spot lies in one of them and no other.
func TestTheAreasCoverEveryGroundOnce(t *testing.T) {
	for code, inside := range map[string]float64{"mens_field": 5.5, "womens_field": 5.5, "box": 4, "sixes": 5.5} {
		g := groundOf(t, code)
		table := map[Area]func(bearing, distance float64) bool{
			Inside:           func(b, d float64) bool { return b < 80 && d <= inside },
			Top:              func(b, d float64) bool { return b <= 30 && d > inside },
			Alley:            func(b, d float64) bool { return b > 30 && b <= 60 && d > inside },
			Wing:             func(b, d float64) bool { return b > 60 && b < 80 && d > inside },
			GoalLineExtended: func(b, _ float64) bool { return b >= 80 && b <= 100 },
			Behind:           func(b, _ float64) bool { return b > 100 && b <= 160 },
			X:                func(b, _ float64) bool { return b > 160 },
		}
		require.Len(t, table, len(Areas))
		seen := map[Area]int{}
		for x := -g.MostWidthM / 2; x <= g.MostWidthM/2; x += .23 {
			for y := -g.MostBehindM; y <= 40; y += .19 {
				b, _ := Bearing(x, y)
				var in []Area
				for _, a := range Areas {
					if table[a](b, math.Hypot(x, y)) {
						in = append(in, a)
					}
				}
				require.Equal(t, []Area{g.Area(Spot{x, y})}, in, "%s %g %g", code, x, y)
				seen[in[0]]++
			}
		}
		assert.Len(t, seen, len(Areas), "%s has spots in each", code)
	}
}

func TestAReferenceSpotLiesInItsArea(t *testing.T) {
	for code := range grounds() {
		g := groundOf(t, code)
		for _, a := range Areas {
			right, ok := ReferenceSpot(code, a, BallRight)
			require.True(t, ok, "%s %s", code, a)
			left, _ := ReferenceSpot(code, a, BallLeft)
			assert.True(t, right.Coarse && left.Coarse)
			assert.Equal(t, a, g.Area(right.Spot), "%s %s", code, a)
			assert.Equal(t, Spot{-right.Spot.XM, right.Spot.YM}, Spot{left.Spot.XM + 0, left.Spot.YM}, "%s %s mirrors", code, a)
			assert.NoError(t, g.CheckBall(right.Spot), "%s %s", code, a)
			_, ok = ReferenceSpot(code, a, BallMiddle)
			assert.Equal(t, a == Top || a == X, ok, "%s %s: only these lie in the middle", code, a)
		}
	}
	_, ok := ReferenceSpot("mens_field", "hole", BallRight)
	assert.False(t, ok)
	_, ok = ReferenceSpot("croquet", Top, BallRight)
	assert.False(t, ok)
}

// A third of 6 ft is 0.6096 m, so the middle third reaches 0.3048 m to either side.
func TestPipe(t *testing.T) {
	for _, c := range []struct {
		name                 string
		ballX, ballY, finish float64
		want                 PipePlace
		ok                   bool
	}{
		{"right alley, right pipe", 6, 6, .6, Near, true},
		{"right alley, left pipe", 6, 6, -.6, Far, true},
		{"left alley, left pipe", -6, 6, -.31, Near, true},
		{"left alley, right pipe", -6, 6, .31, Far, true},
		{"left alley, middle", -6, 6, .30, MiddlePipe, true},
		{"straight out, middle", 0, 9, 0, MiddlePipe, true},
		{"straight out, a pipe", 0, 9, .6, "", false},
		{"29.7 degrees, a pipe", 5.7, 10, .6, "", false},
		{"30.1 degrees, a pipe", 5.8, 10, .6, Near, true},
		{"behind on the right, right pipe", 4, -1, .6, Near, true},
		{"straight behind", 0, -3, .6, "", false},
		{"no direction", 0, 0, .6, "", false},
	} {
		got, ok := sixFeet.Pipe(c.ballX, c.ballY, c.finish)
		assert.Equal(t, c.ok, ok, c.name)
		assert.Equal(t, c.want, got, c.name)
	}
}
