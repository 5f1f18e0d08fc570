package field

import (
	"math"
	"math/rand/v2"
)

// camera is a pinhole in the field's frame: where it stands, what it looks at, its focal length in pixels, for a picture
// of 1920 by 1080 pixels.
type camera struct {
	name   string
	at, to [3]float64
	focal  float64
}

// cameras are four from which games are filmed. Where they stand is invented, but round a field whose sideline is 27.4 m
// from the middle and whose end line 9 to 14 m behind the goal.
var cameras = []camera{
	{"near sideline", [3]float64{29, 6, 3}, [3]float64{0, 4, 0}, 1300},
	{"end line", [3]float64{3, -17, 4}, [3]float64{0, 5, 0}, 1100},
	{"press box", [3]float64{45, 30, 11}, [3]float64{0, 3, 0}, 2600},
	{"phone height", [3]float64{29, 6, 1.7}, [3]float64{0, 4, 0}, 1300},
}

// groundMarks are marks of a field for the women's game: goal, circle of 2.6 m, arc of 10.6 m, fan of 14.6 m. The first
// four have no three in a line.
var groundMarks = []ViewMark{
	{Name: "right post's foot", Place: PlanePoint{.9144, 0}},
	{Name: "circle, left on the goal line", Place: PlanePoint{-2.6, 0}},
	{Name: "circle, front", Place: PlanePoint{0, 2.6}},
	{Name: "fan, 45 degrees left", Place: PlanePoint{-10.324, 10.324}},
	{Name: "arc, 45 degrees right", Place: PlanePoint{7.495, 7.495}},
	{Name: "fan, left on the goal line", Place: PlanePoint{-14.6, 0}},
	{Name: "fan, right on the goal line", Place: PlanePoint{14.6, 0}},
	{Name: "circle, back", Place: PlanePoint{0, -2.6}},
	{Name: "fan, front", Place: PlanePoint{0, 14.6}},
	{Name: "left post's foot", Place: PlanePoint{-.9144, 0}},
	{Name: "circle, right on the goal line", Place: PlanePoint{2.6, 0}},
	{Name: "arc, front", Place: PlanePoint{0, 10.6}},
	{Name: "arc, 45 degrees left", Place: PlanePoint{-7.495, 7.495}},
	{Name: "fan, 45 degrees right", Place: PlanePoint{10.324, 10.324}},
}

// picture gives where the camera shows a point of the ground.
func (c camera) picture(p PlanePoint) Pixel { return c.pictureOf([3]float64{p.X, p.Y, 0}) }

// pictureOf gives where the camera shows a point (x, y, up), in metres.
func (c camera) pictureOf(p [3]float64) Pixel {
	forward := unit(minus(c.to, c.at))
	right := unit(cross(forward, [3]float64{0, 0, 1}))
	down := cross(forward, right)
	d := minus(p, c.at)
	return Pixel{960 + c.focal*dot(d, right)/dot(d, forward), 540 + c.focal*dot(d, down)/dot(d, forward)}
}

// bent gives where a lens with one radial coefficient shows what a lens without would show at p: the distance from the
// middle, in focal lengths, grows by k times its cube.
func (c camera) bent(p Pixel, k float64) Pixel {
	u, v := p.U-960, p.V-540
	grow := 1 + k*(u*u+v*v)/(c.focal*c.focal)
	return Pixel{960 + u*grow, 540 + v*grow}
}

// visible gives the marks that the camera's picture holds, with their clicks.
func (c camera) visible() []ViewMark {
	var out []ViewMark
	for _, m := range groundMarks {
		m.Picture = c.picture(m.Place)
		if m.Picture.U >= 0 && m.Picture.U <= 1920 && m.Picture.V >= 0 && m.Picture.V <= 1080 {
			out = append(out, m)
		}
	}
	return out
}

// marks gives the first n marks, whether the picture holds them or not.
func (c camera) marks(n int) []ViewMark {
	out := make([]ViewMark, n)
	for i := range out {
		out[i] = groundMarks[i]
		out[i].Picture = c.picture(out[i].Place)
	}
	return out
}

func minus(a, b [3]float64) [3]float64 { return [3]float64{a[0] - b[0], a[1] - b[1], a[2] - b[2]} }

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func cross(a, b [3]float64) [3]float64 {
	return [3]float64{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}

func unit(a [3]float64) [3]float64 {
	n := math.Sqrt(dot(a, a))
	return [3]float64{a[0] / n, a[1] / n, a[2] / n}
}

func shaken(p Pixel, sd float64, r *rand.Rand) Pixel {
	return Pixel{p.U + sd*r.NormFloat64(), p.V + sd*r.NormFloat64()}
}
