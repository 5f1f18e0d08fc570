package field

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// sixFeet is the field goal: 6 ft by 6 ft.
var sixFeet = Opening{WidthM: 1.8288, HeightM: 1.8288}

// The numbers are worked out by hand. The ball's diameter is the circumference over pi: 7 3/4 in gives 62.66 mm and
// 8 in gives 64.68 mm, and halfway lies 63.67 mm.
func TestBallDiameter(t *testing.T) {
	assert.InDelta(t, (62.66+64.68)/2/1000, BallDiameterM, 1e-9)
}

func TestThirds(t *testing.T) {
	for n, want := range [][2]float64{{0, .6096}, {.6096, 1.2192}, {1.2192, 1.8288}} { // 2 ft each
		from, to := sixFeet.Third(n, sixFeet.HeightM)
		assert.InDelta(t, want[0], from, 1e-9)
		assert.InDelta(t, want[1], to, 1e-9)
	}
}

func TestOutside(t *testing.T) {
	for _, c := range []struct {
		name        string
		x, up, want float64
	}{
		{"the middle", 0, .9, 0},
		{"on the right post", .9144, .5, 0},
		{"on the left post and the bar", -.9144, 1.8288, 0},
		{"on the ground", .2, 0, 0},
		{"right of the post", 1.0144, .5, .1},
		{"left of the post", -1.0144, .5, .1},
		{"over the bar", 0, 2.0288, .2},
		{"under the ground", 0, -.05, .05},
		{"past the corner, a 3-4-5 triangle", .9144 + .3, 1.8288 + .4, .5},
		{"the other corner", -.9144 - .4, 1.8288 + .3, .5},
	} {
		assert.InDelta(t, c.want, sixFeet.Outside(c.x, c.up), 1e-9, c.name)
	}
	box := Opening{WidthM: 1.219, HeightM: 1.219}
	assert.InDelta(t, .3, box.Outside(.9095, 1), 1e-9, "in the field goal this is inside")
}

func TestOutsideIsTheSameOnBothSides(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, up := rapid.Float64Range(-20, 20).Draw(t, "x"), rapid.Float64Range(0, 10).Draw(t, "up")
		assert.InDelta(t, sixFeet.Outside(x, up), sixFeet.Outside(-x, up), 0)
		inside := x >= -.9144 && x <= .9144 && up <= 1.8288
		assert.Equal(t, inside, sixFeet.Outside(x, up) == 0)
	})
}
