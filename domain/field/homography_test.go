package field

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

type pairs [][2]float64

// reference is testdata/homography.json; its source stands in it.
type reference struct {
	Cases []struct {
		ID            string
		Image         pairs       `json:"image_px"`
		Plane         pairs       `json:"plane_m"`
		TestImage     pairs       `json:"test_image_px"`
		TestTrue      pairs       `json:"test_true_m"`
		NoisePx       float64     `json:"noise_px"`
		BeyondHorizon *[2]float64 `json:"beyond_horizon_image_px"`
		Estimates     map[string]struct {
			Mapped        pairs   `json:"mapped_test_m"`
			ResidualRmsPx float64 `json:"residual_rms_px"`
		}
	}
	MustBeRefused []struct {
		Why   string
		Image pairs `json:"image_px"`
		Plane pairs `json:"plane_m"`
	} `json:"must_be_refused"`
	Covariance struct {
		Image      pairs                    `json:"image_px_noise_free"`
		Plane      pairs                    `json:"plane_m"`
		Spot       [2]float64               `json:"spot_image_px"`
		SigmaPx    float64                  `json:"sigma_px"`
		FirstOrder map[string][2][2]float64 `json:"first_order_cm2"`
		Simulated  map[string][2][2]float64 `json:"covariance_cm2"`
	}
}

func readReference(t *testing.T) reference {
	t.Helper()
	text, err := os.ReadFile("../../testdata/homography.json")
	require.NoError(t, err)
	var r reference
	require.NoError(t, json.Unmarshal(text, &r))
	require.NotEmpty(t, r.Cases)
	return r
}

func marksOf(image, plane pairs) []ViewMark {
	marks := make([]ViewMark, len(image))
	for i := range marks {
		marks[i] = ViewMark{Picture: Pixel{image[i][0], image[i][1]}, Place: PlanePoint{plane[i][0], plane[i][1]}}
	}
	return marks
}

// OpenCV rounds its input to single precision and stops after ten steps, so its points agree less closely.
func TestMapsAsOpenCVAndScipyDo(t *testing.T) {
	for _, c := range readReference(t).Cases {
		view, err := NewView(marksOf(c.Image, c.Plane), 1)
		require.NoError(t, err, c.ID)
		for name, tolerance := range map[string]float64{"opencv_plane_to_image_inverted": 1e-4, "geometric_pixel_error": 1e-6} {
			want := c.Estimates[name]
			require.Len(t, want.Mapped, len(c.TestImage), c.ID)
			for i, p := range c.TestImage {
				got, err := view.Map(Pixel{p[0], p[1]}, 0)
				require.NoError(t, err, "%s: %v", c.ID, p)
				assert.InDelta(t, want.Mapped[i][0], got.At.X, tolerance, "%s, %s, %v", c.ID, name, p)
				assert.InDelta(t, want.Mapped[i][1], got.At.Y, tolerance, "%s, %s, %v", c.ID, name, p)
			}
			assert.InDelta(t, want.ResidualRmsPx, rms(view.Residuals), 1e-4, "%s, %s", c.ID, name)
		}
		h, ok := linearHomography(c.Image, c.Plane)
		require.True(t, ok)
		for i, p := range c.TestImage {
			x, y := h.Apply(p[0], p[1])
			assert.InDelta(t, c.Estimates["normalised_dlt"].Mapped[i][0], x, 1e-7, c.ID)
			assert.InDelta(t, c.Estimates["normalised_dlt"].Mapped[i][1], y, 1e-7, c.ID)
		}
		if c.BeyondHorizon != nil {
			_, err := view.Map(Pixel{c.BeyondHorizon[0], c.BeyondHorizon[1]}, 0)
			assert.Equal(t, ViewClickHorizon, codeOf(t, err), c.ID)
		}
	}
}

func rms(v []float64) float64 {
	var sum float64
	for _, x := range v {
		sum += x * x
	}
	return math.Sqrt(sum / float64(len(v)))
}

func TestReferenceMarksInALineAreRefused(t *testing.T) {
	for _, c := range readReference(t).MustBeRefused {
		_, err := NewView(marksOf(c.Image, c.Plane), 1)
		assert.Equal(t, ViewMarksInLine, codeOf(t, err), c.Why)
	}
}

// nearlyFlat gives homographies that do not bend what they are applied to beyond recognition.
func nearlyFlat(t *rapid.T, label string) Homography {
	f := rapid.Float64Range(-.3, .3)
	h := Homography{1, 0, 0, 0, 1, 0, 0, 0, 1}
	for k := range 8 {
		h[k] += f.Draw(t, label)
	}
	return h
}

func TestHomographiesCompose(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, h := nearlyFlat(t, "g"), nearlyFlat(t, "h")
		x, y := rapid.Float64Range(-.9, .9).Draw(t, "x"), rapid.Float64Range(-.9, .9).Draw(t, "y")
		x1, y1 := g.Apply(x, y)
		x2, y2 := h.Apply(x1, y1)
		both := g.Then(&h)
		x3, y3 := both.Apply(x, y)
		assert.InEpsilon(t, 1+math.Abs(x2), 1+math.Abs(x3), 1e-6)
		assert.InEpsilon(t, 1+math.Abs(y2), 1+math.Abs(y3), 1e-6)
		if math.Abs(g.determinant()) > .01 {
			back := g.Inverse()
			x4, y4 := back.Apply(x1, y1)
			assert.InDelta(t, x, x4, 1e-6)
			assert.InDelta(t, y, y4, 1e-6)
		}
	})
}
