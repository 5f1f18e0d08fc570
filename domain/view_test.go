package domain

import (
	"encoding/json"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// flatView looks straight down on the ground: 100 pixels are a metre, the middle of the goal is at (1000, 800).
func flatView() ViewFields {
	f := ViewFields{
		GameID: NameID(ID{}, "game"), Name: "Drone", Plane: GroundPlane, WidthPx: 2000, HeightPx: 1000, PixelErrorPx: 1,
	}
	for _, p := range [][2]float64{{-8, 1}, {8, 1}, {-8, 7}, {8, 7}, {0, 3}, {2, 0}} {
		f.Marks = append(f.Marks, ViewMark{
			Name: string(rune('a' + len(f.Marks))), UPx: 1000 + 100*p[0], VPx: 800 - 100*p[1], XM: &p[0], YM: &p[1],
		})
	}
	return f
}

func TestAViewChecksItsFields(t *testing.T) {
	require.Empty(t, flatView().Check())
	for pointer, change := range map[string]func(*ViewFields){
		"/game_id":                func(f *ViewFields) { f.GameID = ID{} },
		"/name":                   func(f *ViewFields) { f.Name = " " },
		"/plane":                  func(f *ViewFields) { f.Plane = "sky" },
		"/to_film_ms":             func(f *ViewFields) { f.FromFilmMs, f.ToFilmMs = new(2), new(1) },
		"/width_px":               func(f *ViewFields) { f.WidthPx = 0 },
		"/height_px":              func(f *ViewFields) { f.HeightPx = 20_001 },
		"/pixel_error_px":         func(f *ViewFields) { f.PixelErrorPx = 0 },
		"/marks":                  func(f *ViewFields) { f.Marks = f.Marks[:3] },
		"/marks/0":                func(f *ViewFields) { f.Marks[0].UPx = 2001 },
		"/marks/1":                func(f *ViewFields) { f.Marks[1].YM = nil },
		"/marks/2":                func(f *ViewFields) { f.Marks[2].UpM = new(1.) },
		"/marks/3":                func(f *ViewFields) { f.Marks[3].Name = f.Marks[1].Name },
		"/marks/4":                func(f *ViewFields) { f.Marks[4].UPx, f.Marks[4].VPx = f.Marks[0].UPx, f.Marks[0].VPx },
		"/marks/5":                func(f *ViewFields) { f.Marks[5].XM, f.Marks[5].YM = f.Marks[4].XM, f.Marks[4].YM },
		"/marks/0/place_error_m":  func(f *ViewFields) { f.Marks[0].PlaceErrorM = new(-1.) },
		"/marks/1/pixel_error_px": func(f *ViewFields) { f.Marks[1].PixelErrorPx = new(0.) },
		"/marks/2/x_m":            func(f *ViewFields) { f.Marks[2].XM = new(71.) },
	} {
		f := flatView()
		change(&f)
		got := []string{}
		for _, fault := range f.Check() {
			got = append(got, fault.Pointer)
		}
		assert.Contains(t, got, pointer)
	}
}

// What makes no view is refused with the reason.
func TestAViewOfMarksInALineIsRefused(t *testing.T) {
	f := flatView()
	for i := range f.Marks[:5] {
		f.Marks[i].YM, f.Marks[i].XM, f.Marks[i].UPx, f.Marks[i].VPx = new(0.), new(float64(i)), 1000+100*float64(i), 800
	}
	f.Marks[5].YM, f.Marks[5].VPx = new(2.), 600
	faults := f.Check()
	require.Len(t, faults, 1)
	assert.Equal(t, "/marks", faults[0].Pointer)
	assert.Contains(t, faults[0].Detail, "in a line lie a, b, c, d, e")
}

func TestAViewWarnsOfAMarkThatIsOff(t *testing.T) {
	f := flatView()
	found := FindView(View{Fields: f})
	assert.Empty(t, found.Warnings)
	assert.InDeltaSlice(t, []float64{0, 0, 0, 0, 0, 0}, found.ResidualsPx, 1e-6)
	for i := range f.Marks {
		f.Marks[i].UPx = 2000 - f.Marks[i].UPx
	}
	warnings := FindView(View{Fields: f}).Warnings
	require.Len(t, warnings, 1)
	assert.Contains(t, warnings[0].Detail, "left and right")

	f = flatView()
	f.Marks = append(f.Marks, ViewMark{Name: "g", UPx: 1100, VPx: 300, XM: new(1.), YM: new(5.)},
		ViewMark{Name: "h", UPx: 600, VPx: 600, XM: new(-4.), YM: new(2.)})
	f.Marks[4].UPx += 40
	warnings = FindView(View{Fields: f}).Warnings
	require.Len(t, warnings, 1)
	assert.Equal(t, FieldError{"/marks/4", "e does not fit the other marks"}, warnings[0])
}

func TestMapClicks(t *testing.T) {
	view := View{Rev: 7, Fields: flatView()}
	got, err := MapClicks(view, []Click{{1300, 400, nil}, {1300, 400, new(4.)}, {2001, 5, nil}, {1300, 400, new(50.)}})
	require.NoError(t, err)
	assert.Equal(t, int64(7), got.ViewRev)
	require.Len(t, got.Items, 4)
	first := got.Items[0].Spot
	require.NotNil(t, first)
	assert.InDelta(t, 3, first.XM, 1e-6)
	assert.InDelta(t, 4, *first.YM, 1e-6)
	assert.Nil(t, first.UpM)
	assert.False(t, first.Coarse)
	// A click of one pixel, 1 cm here, and marks that are as good: between once and twice the click's own 2.146 cm.
	assert.Greater(t, first.HalfMajorM, .02146)
	assert.Less(t, first.HalfMajorM, .04292)
	assert.Greater(t, got.Items[1].Spot.HalfMajorM, 3*.02146)
	assert.Equal(t, &ClickRefusal{ClickOutside, "the click lies outside the picture"}, got.Items[2].Refusal)
	assert.Nil(t, got.Items[2].Spot)
	assert.True(t, got.Items[3].Spot.Coarse, "50 pixels are half a metre here")
	for i, item := range got.Items {
		assert.Equal(t, i, item.Index)
	}
}

func TestClicksAreChecked(t *testing.T) {
	assert.Empty(t, Clicks{make([]Click, MaxClicks)}.Check())
	for pointer, clicks := range map[string][]Click{
		"/clicks": nil, "/clicks/1/pixel_error_px": {{1, 1, nil}, {1, 1, new(.05)}},
	} {
		faults := Clicks{clicks}.Check()
		require.Len(t, faults, 1)
		assert.Equal(t, pointer, faults[0].Pointer)
	}
	assert.NotEmpty(t, Clicks{make([]Click, MaxClicks+1)}.Check())
}

// Silence about a coordinate is not a zero.
func TestMarksAndClicksMustSayTheirNumbers(t *testing.T) {
	for _, text := range []string{`{"u_px":1,"v_px":2,"x_m":3}`, `{"name":"a","v_px":2,"x_m":3}`, `{"name":"a","u_px":1,"x_m":3}`, `{"name":"a","u_px":1,"v_px":2,"x_m":3,"z_m":4}`} {
		assert.Error(t, json.Unmarshal([]byte(text), new(ViewMark)), text)
	}
	for _, text := range []string{`{"u_px":1}`, `{"v_px":1}`, `{"u_px":1,"v_px":2,"w_px":3}`} {
		assert.Error(t, json.Unmarshal([]byte(text), new(Click)), text)
	}
	var f ViewFields
	text, err := json.Marshal(flatView())
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, &f))
	assert.Equal(t, flatView(), f)
	assert.True(t, slices.ContainsFunc(f.Marks, func(m ViewMark) bool { return m.Name == "f" }))
}
