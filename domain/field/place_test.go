package field

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
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

func TestAreaOf(t *testing.T) {
	for _, c := range []struct {
		distance, bearing float64
		want              Area
	}{
		{0, 0, Inside}, {5.4, 0, Inside}, {5.4, 79, Inside}, {5.6, 0, Top}, {5.6, 29, Top}, {5.6, 31, Alley},
		{12, 45, Alley}, {12, 59, Alley}, {12, 61, Wing}, {6, 79, Wing}, {1, 81, GoalLineExtended}, {12, 90, GoalLineExtended},
		{3, 99, GoalLineExtended}, {3, 101, Behind}, {3, 159, Behind}, {3, 161, X}, {3, 180, X},
	} {
		x, y := at(c.distance, c.bearing)
		assert.Equal(t, c.want, AreaOf(x, y, InsideFieldM), "%+v", c)
		assert.Equal(t, c.want, AreaOf(-x, y, InsideFieldM), "%+v on the other side", c)
	}
	assert.Equal(t, Inside, AreaOf(0, 5, InsideFieldM))
	assert.Equal(t, Top, AreaOf(0, 5, InsideBoxM))
	assert.Equal(t, Inside, AreaOf(0, 5.5, InsideFieldM), "the edge belongs to the inside")
}

func TestEverySpotHasOneAreaThatItsBearingAllows(t *testing.T) {
	bearings := map[Area][2]float64{
		Inside: {0, 80}, Top: {0, 30}, Alley: {30, 60}, Wing: {60, 80}, GoalLineExtended: {80, 100}, Behind: {100, 160}, X: {160, 180},
	}
	rapid.Check(t, func(t *rapid.T) {
		x, y := rapid.Float64Range(-60, 60).Draw(t, "x"), rapid.Float64Range(-30, 60).Draw(t, "y")
		area := AreaOf(x, y, InsideFieldM)
		assert.Contains(t, Areas, area)
		b, ok := Bearing(x, y)
		assert.True(t, !ok || b >= bearings[area][0] && b <= bearings[area][1], "%s at %g", area, b)
		far := area == Top || area == Alley || area == Wing
		if b < 80 {
			assert.Equal(t, far, math.Hypot(x, y) > InsideFieldM)
		}
	})
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
