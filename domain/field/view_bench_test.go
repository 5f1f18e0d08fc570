package field

import (
	"testing"
	"time"
)

var sinkF float64

// BenchmarkMap maps a click with its covariance and ellipse. x_arithmetic is its time as a multiple of that of the
// arithmetic alone: the click's and twenty shifted points' nine multiplications and a division, without checks or axes.
// x_point is against the click's alone.
func BenchmarkMap(b *testing.B) {
	c := cameras[0]
	view, err := NewView(c.marks(8), 1)
	if err != nil {
		b.Fatal(err)
	}
	click := c.picture(PlanePoint{2, 7})
	b.ReportAllocs()
	var point, arithmetic time.Duration
	for b.Loop() {
		spot, err := view.Map(click, 0)
		if err != nil {
			b.Fatal(err)
		}
		sinkF += spot.At.X
	}
	mapped := b.Elapsed()
	b.StopTimer()
	begun := time.Now()
	for range b.N {
		x, y := view.back.Apply(click.U, click.V)
		sinkF += x + y
	}
	point = time.Since(begun)
	begun = time.Now()
	for range b.N {
		for range unknowns*2 + 1 {
			x, y := view.back.Apply(click.U, click.V)
			sinkF += x + y
		}
	}
	arithmetic = time.Since(begun)
	b.ReportMetric(float64(mapped)/float64(arithmetic), "x_arithmetic")
	b.ReportMetric(float64(mapped)/float64(point), "x_point")
}

// BenchmarkNewView makes a view from twelve marks; x_map is its time in clicks mapped.
func BenchmarkNewView(b *testing.B) {
	c := cameras[0]
	marks := c.marks(12)
	for b.Loop() {
		if _, err := NewView(marks, 1); err != nil {
			b.Fatal(err)
		}
	}
	made := b.Elapsed()
	b.StopTimer()
	view, err := NewView(marks, 1)
	if err != nil {
		b.Fatal(err)
	}
	click := c.picture(PlanePoint{2, 7})
	begun := time.Now()
	for range b.N {
		spot, _ := view.Map(click, 0)
		sinkF += spot.At.X
	}
	b.ReportMetric(float64(made)/float64(time.Since(begun)), "x_map")
}
