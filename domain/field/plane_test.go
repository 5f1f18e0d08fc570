package field

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestChangeOfPlane(t *testing.T) {
	want := [3][3]PlaneChange{ // by the release's level and the finish's: low, mid, high
		{NoChange, PartChange, FullChange}, {PartChange, NoChange, PartChange}, {FullChange, PartChange, NoChange},
	}
	for release := range 3 {
		for finish := range 3 {
			assert.Equal(t, want[release][finish], ChangeOfPlane(release, finish), "%d to %d", release, finish)
		}
	}
}

func TestVerticalAngle(t *testing.T) {
	assert.InDelta(t, -45, VerticalAngleDeg(Spot{0, 1}, 1.5, Finish{0, .5}), 1e-12, "down by as much as it goes")
	assert.InDelta(t, 45, VerticalAngleDeg(Spot{3, 4}, 0, Finish{0, 5}), 1e-12, "up by as much as it goes: 3-4-5")
	assert.InDelta(t, 0, VerticalAngleDeg(Spot{3, 4}, 1, Finish{.5, 1}), 0)
	assert.InDelta(t, -math.Atan(1.5/9)*180/math.Pi, VerticalAngleDeg(Spot{.5, 9}, 1.8, Finish{.5, .3}), 1e-12)
	rapid.Check(t, func(t *rapid.T) {
		ball := drawFront(t, 80, 1, 20)
		release, up := rapid.Float64Range(0, 3).Draw(t, "release"), rapid.Float64Range(0, 2).Draw(t, "up")
		x := rapid.Float64Range(-1, 1).Draw(t, "x")
		a := VerticalAngleDeg(ball, release, Finish{x, up})
		assert.InDelta(t, a, VerticalAngleDeg(mirrored(ball), release, Finish{-x, up}), 1e-12)
		assert.InDelta(t, -a, VerticalAngleDeg(ball, up, Finish{x, release}), 1e-12, "the other way round it is the other way up")
	})
}
