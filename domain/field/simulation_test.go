package field

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// go test ./domain/field -run TestSpotsFromFilm -v -full prints what DEVELOPERS.md says of spots from film.
var full = flag.Bool("full", false, "simulate views at full size, and print the tables")

// simulated is what came of many views of one camera, with as many marks and as rough clicks.
type simulated struct {
	refusedViews, refusedSpots, spots, coarse int
	covered, coveredFirst                     int       // by the 90 % ellipse; by the one of the first order
	squares                                   []float64 // per distance, of the errors in metres
	counts                                    []int
}

// distances are how far the simulated spots lie from the goal, in metres; at each there are three, on the axis and 50
// degrees to either side.
var distances = []float64{5, 10, 15}

func spotsAt(distance float64) []PlanePoint {
	var out []PlanePoint
	for _, degrees := range []float64{-50, 0, 50} {
		x, y := at(distance, degrees)
		out = append(out, PlanePoint{x, y})
	}
	return out
}

// simulate makes views from a random choice of the marks that the camera sees, each clicked with an error, and clicks
// spots with the same error.
func simulate(c camera, marks int, sd float64, views int) simulated {
	r := rand.New(rand.NewPCG(math.Float64bits(c.at[2]), uint64(marks)))
	out := simulated{squares: make([]float64, len(distances)), counts: make([]int, len(distances))}
	visible := c.visible()
	for range views {
		view, err := NewView(chosen(visible, marks, sd, r), sd)
		if err != nil {
			out.refusedViews++
			continue
		}
		for k, d := range distances {
			for _, truth := range spotsAt(d) {
				got, err := view.Map(shaken(c.picture(truth), sd, r), 0)
				if err != nil {
					out.refusedSpots++
					continue
				}
				out.count(view, got, truth, k)
			}
		}
	}
	return out
}

// chosen gives a random choice of marks among which four have no three in a line, with errors in the picture.
func chosen(visible []ViewMark, n int, sd float64, r *rand.Rand) []ViewMark {
	for {
		r.Shuffle(len(visible), func(i, k int) { visible[i], visible[k] = visible[k], visible[i] })
		marks := slices.Clone(visible[:n])
		if refuseMarks(marks) != nil {
			continue
		}
		for i := range marks {
			marks[i].Picture = shaken(marks[i].Picture, sd, r)
		}
		return marks
	}
}

func (s *simulated) count(view *View, got MappedSpot, truth PlanePoint, distance int) {
	dx, dy := got.At.X-truth.X, got.At.Y-truth.Y
	s.spots++
	if got.Coarse {
		s.coarse++
	}
	if square(got.Covariance.Distance(dx, dy)) <= chiSquared90 {
		s.covered++
	}
	if square(view.firstOrder(got.At).Distance(dx, dy)) <= chiSquared90 {
		s.coveredFirst++
	}
	s.squares[distance] += dx*dx + dy*dy
	s.counts[distance]++
}

// errorCm gives the root of the mean square of the errors at a distance, in centimetres.
func (s *simulated) errorCm(distance int) float64 {
	return 100 * math.Sqrt(s.squares[distance]/float64(s.counts[distance]))
}

func (s *simulated) percent(n int) float64 { return 100 * float64(n) / float64(s.spots) }

// firstOrder gives the covariance of a spot by the slopes alone, J S J'.
func (v *View) firstOrder(at PlanePoint) Covariance {
	x, y := v.plane.apply(at.X, at.Y)
	pu, pv, w := v.toPicture.at(x, y)
	a := v.toPicture.slopes(pu, pv, w)
	det := a[0]*a[3] - a[1]*a[2]
	du, dv := byNumbers(x, y, pu, pv, w)
	var c Covariance
	add := func(du, dv float64) { // the spot moves by the inverse of the slopes times how far the picture moves
		dx, dy := (a[3]*du-a[1]*dv)/det/v.plane.factor, (a[0]*dv-a[2]*du)/det/v.plane.factor
		c.XX, c.XY, c.YY = c.XX+dx*dx, c.XY+dx*dy, c.YY+dy*dy
	}
	for _, shift := range v.shifts {
		var u, w float64
		for k := range shift {
			u += du[k] * shift[k] / spreadFactor
			w += dv[k] * shift[k] / spreadFactor
		}
		add(u, w)
	}
	sd := v.errorPx * v.picture.factor
	add(sd, 0)
	add(0, sd)
	return c
}

// With eight marks or more the 90 % ellipses cover 88 to 92 % of the truth for clicks as good as a pixel, and at least
// 85 % for three pixels.
func TestEllipsesCoverTheTruth(t *testing.T) {
	t.Parallel()
	views, counts, errors := 600, []int{8, 12}, []float64{1, 3}
	if *full {
		views, counts, errors = 4000, []int{8, 9, 10, 11, 12}, []float64{.5, 1, 3}
	}
	for _, c := range cameras {
		require.GreaterOrEqual(t, len(c.visible()), 12, c.name)
		for _, marks := range counts {
			for _, sd := range errors {
				s := simulate(c, marks, sd, views)
				got := 100 * float64(s.covered) / float64(s.spots+s.refusedSpots) // a refused spot is not covered
				where := fmt.Sprintf("%s, %d marks, %g px", c.name, marks, sd)
				require.Zero(t, s.refusedViews, where)
				if sd <= 1 {
					assert.True(t, got >= 88 && got <= 92, "%s: %.1f %%", where, got)
				} else {
					assert.GreaterOrEqual(t, got, 85., where)
				}
			}
		}
	}
}

// DEVELOPERS.md tells a program what error to expect; a shorter simulation must agree with it.
func TestTheErrorsThatDevelopersMdExpects(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("../../DEVELOPERS.md")
	require.NoError(t, err)
	row := regexp.MustCompile(`(?m)^\| ([a-z ]+) \| (\d+) \| (\d+) \| (\d+) \| (\d+) \|$`)
	rows := row.FindAllStringSubmatch(string(text), -1)
	require.Len(t, rows, 2*len(cameras))
	for _, r := range rows {
		i := slices.IndexFunc(cameras, func(c camera) bool { return c.name == r[1] })
		require.GreaterOrEqual(t, i, 0, r[1])
		marks, err := strconv.Atoi(r[2])
		require.NoError(t, err)
		s := simulate(cameras[i], marks, 1, 600)
		for k := range distances {
			want, err := strconv.ParseFloat(r[3+k], 64)
			require.NoError(t, err)
			assert.InDelta(t, want, s.errorCm(k), .5+.07*want, "%s, %g m", r[0], distances[k])
		}
	}
}

// How far off a lens that bends straight lines puts spots, at worst, in centimetres at 5, 10 and 15 m: the figures of
// DEVELOPERS.md, for two radial coefficients.
func TestALensThatBends(t *testing.T) {
	for _, c := range []struct {
		camera camera
		k      float64
		want   []float64
		warned bool
	}{
		{cameras[0], -.05, []float64{1, 2, 8}, false},
		{cameras[0], -.25, []float64{5, 9, 38}, false},
		{cameras[1], -.05, []float64{7, 5, 19}, false},
		{cameras[1], -.25, []float64{42, 30, 89}, true},
	} {
		marks := c.camera.visible()[:8]
		for i := range marks {
			marks[i].Picture = c.camera.bent(marks[i].Picture, c.k)
		}
		view, err := NewView(marks, 1)
		require.NoError(t, err)
		worst := make([]float64, len(distances))
		for i, d := range distances {
			for _, truth := range spotsAt(d) {
				got, err := view.Map(c.camera.bent(c.camera.picture(truth), c.k), 0)
				require.NoError(t, err)
				worst[i] = max(worst[i], 100*math.Hypot(got.At.X-truth.X, got.At.Y-truth.Y))
			}
		}
		assert.InDeltaSlice(t, c.want, worst, .5, "%s, %g", c.camera.name, c.k)
		assert.Equal(t, c.warned, len(view.Warnings) > 0, "%s, %g: %v", c.camera.name, c.k, view.Residuals)
	}
}

// TestSpotsFromFilm prints at full size what the two tests above are about.
func TestSpotsFromFilm(t *testing.T) {
	if !*full {
		few, many, rough := simulate(cameras[0], 6, 1, 200), simulate(cameras[0], 12, 1, 200), simulate(cameras[0], 12, 3, 200)
		assert.Less(t, many.errorCm(1), few.errorCm(1))
		assert.InEpsilon(t, 3, rough.errorCm(1)/many.errorCm(1), .1, "a view is nearly linear in the errors of clicks")
		return
	}
	fmt.Println("| camera | marks | click, px | 5 m, cm | 10 m, cm | 15 m, cm | coarse, % | in the ellipse, % | first order, % | refused, % |")
	fmt.Println("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |")
	for _, c := range cameras {
		for _, marks := range []int{4, 5, 6, 8, 10, 12} {
			for _, sd := range []float64{.5, 1, 2, 3} {
				const views = 4000
				s := simulate(c, marks, sd, views)
				fmt.Printf("| %s | %d | %g | %.0f | %.0f | %.0f | %.0f | %.1f | %.1f | %.1f |\n", c.name, marks, sd,
					s.errorCm(0), s.errorCm(1), s.errorCm(2), s.percent(s.coarse), s.percent(s.covered), s.percent(s.coveredFirst),
					100*(1-float64(s.spots)/(9*views)))
			}
		}
	}
}
