package field

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// The 90 % point of the chi-squared distribution with two degrees of freedom is 4.605 in every table.
func TestEllipse90(t *testing.T) {
	for _, c := range []struct {
		c    Covariance
		want ErrorEllipse
	}{
		{Covariance{1, 0, 1}, ErrorEllipse{2.1460, 2.1460, 0}},
		{Covariance{4, 0, 1}, ErrorEllipse{4.2919, 2.1460, 0}},
		{Covariance{1, 0, 4}, ErrorEllipse{4.2919, 2.1460, 90}},
		{Covariance{2.5, 1.5, 2.5}, ErrorEllipse{4.2919, 2.1460, 45}}, // variances 4 and 1, turned
		{Covariance{2.5, -1.5, 2.5}, ErrorEllipse{4.2919, 2.1460, -45}},
		{Covariance{1, 1, 1}, ErrorEllipse{3.0349, 0, 45}}, // all on a line
	} {
		got := c.c.Ellipse90()
		assert.InDelta(t, c.want.HalfMajorM, got.HalfMajorM, 1e-4, "%+v", c.c)
		assert.InDelta(t, c.want.HalfMinorM, got.HalfMinorM, 1e-4, "%+v", c.c)
		assert.InDelta(t, c.want.AngleDeg, got.AngleDeg, 1e-9, "%+v", c.c)
	}
}

// Where the ellipse's axes end, the distance is the root of 4.605.
func TestDistanceAtTheEndsOfTheAxes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(.1, 3).Draw(t, "a"), rapid.Float64Range(.1, 3).Draw(t, "b")
		c := Covariance{a * a, rapid.Float64Range(-.9, .9).Draw(t, "r") * a * b, b * b}
		e := c.Ellipse90()
		sin, cos := math.Sincos(e.AngleDeg * math.Pi / 180)
		assert.InDelta(t, 2.1460, c.Distance(e.HalfMajorM*cos, e.HalfMajorM*sin), 1e-4)
		assert.InDelta(t, 2.1460, c.Distance(-e.HalfMinorM*sin, e.HalfMinorM*cos), 1e-4)
	})
}
