package domain

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cagework/domain/field"
)

// womens is a competition whose goal circle is not that of its code of play.
func womens() CompetitionFields {
	return CompetitionFields{
		CodeOfPlay: "womens_field", GoalWidthM: 1.83, GoalHeightM: 1.83, CreaseRadiusM: 3, Unconfirmed: []string{"goal_height_m"},
	}
}

// byNames is a view of a picture that looks straight down on the plane, with marks by name alone.
func byNames(plane ViewPlane, marks ...KnownMark) ViewFields {
	f := ViewFields{GameID: NameID(ID{}, "game"), Name: "Drone", Plane: plane, WidthPx: 2000, HeightPx: 1500, PixelErrorPx: 1}
	for _, m := range marks {
		f.Marks = append(f.Marks, ViewMark{Name: m.Name, UPx: 1000 + 60*m.XM, VPx: 1000 - 60*(orZero(m.YM)+orZero(m.UpM))})
	}
	return f
}

func TestMarksByNameTakeThePlacesOfTheCompetition(t *testing.T) {
	known := MarksOf(Competition{Fields: womens()})
	for plane, marks := range map[ViewPlane][]KnownMark{GroundPlane: known.Ground[:12], GoalPlane: known.Goal} {
		f := byNames(plane, marks...)
		require.Empty(t, f.Check(), "the places are not there yet")
		places, faults := FindPlaces(f, womens())
		require.Empty(t, faults)
		require.Len(t, places, len(marks))
		for i, m := range marks {
			assert.Equal(t, MarkPlace{m.Name, m.XM, m.YM, m.UpM, m.Unconfirmed}, places[i])
		}
		view := View{Fields: f, Found: ViewFound{Places: places}}
		for _, residual := range FindView(view).ResidualsPx {
			assert.InDelta(t, 0, residual, 1e-6)
		}
		assert.Nil(t, view.Fields.Marks[0].XM, "what a client wrote stays as it was")
	}
	// The circle's radius is the competition's own, and the arc is measured from the circle.
	spots := map[string]KnownMark{}
	for _, m := range known.Ground {
		spots[m.Name] = m
	}
	assert.InDelta(t, 3, spots["crease_goal_line_right"].XM, 1e-12)
	assert.InDelta(t, 11, *spots["arc_top"].YM, 1e-12)
	assert.False(t, spots["arc_top"].Unconfirmed)
	assert.True(t, spots["arc_end_right"].Unconfirmed)
	assert.Equal(t, []bool{false, false, true, true}, []bool{
		known.Goal[0].Unconfirmed, known.Goal[1].Unconfirmed, known.Goal[2].Unconfirmed, known.Goal[3].Unconfirmed,
	}, "the height is not confirmed, the width is")
}

func TestAViewWarnsOfPlacesThatNobodyChecked(t *testing.T) {
	f := byNames(GoalPlane, MarksOf(Competition{Fields: womens()}).Goal...)
	places, faults := FindPlaces(f, womens())
	require.Empty(t, faults)
	view := View{Fields: f, Found: ViewFound{Places: places}}
	assert.Equal(t, []string{"/marks/2", "/marks/3"}, pointers(FindView(view).Warnings), "the height is not confirmed")
	f.Marks[2].XM, f.Marks[2].UpM = view.Fields.With(places).Marks[2].XM, view.Fields.With(places).Marks[2].UpM
	places, faults = FindPlaces(f, womens())
	require.Empty(t, faults)
	view = View{Fields: f, Found: ViewFound{Places: places}}
	assert.Equal(t, []string{"/marks/3"}, pointers(FindView(view).Warnings), "the other was measured")
}

// TestAMarkWithAPlaceKeepsIt: somebody measured it, whatever it is called.
func TestAMarkWithAPlaceKeepsIt(t *testing.T) {
	known := MarksOf(Competition{Fields: womens()}).Ground
	f := byNames(GroundPlane, known[:8]...)
	f.Marks[3].XM, f.Marks[3].YM = new(-2.9), new(.1)
	places, faults := FindPlaces(f, womens())
	require.Empty(t, faults)
	require.Len(t, places, 7)
	with := f.With(places)
	assert.InDelta(t, -2.9, *with.Marks[3].XM, 0)
	assert.InDelta(t, .1, *with.Marks[3].YM, 0)
	assert.InDelta(t, 3, *with.Marks[2].XM, 0)
}

func TestMarksByNameAreChecked(t *testing.T) {
	known := MarksOf(Competition{Fields: womens()}).Ground
	for name, c := range map[string]struct {
		pointer, says string
		change        func(*ViewFields)
	}{
		"an unknown name":      {"/marks/1/name", "womens_field has no mark of this name in this plane, so that it needs a place; it has post_right, post_left,", func(f *ViewFields) { f.Marks[1].Name = "cone" }},
		"of the other plane":   {"/marks/1/name", "crease_top", func(f *ViewFields) { f.Marks[1].Name = "post_top_left" }},
		"half a place":         {"/marks/2", "or its name alone", func(f *ViewFields) { f.Marks[2].YM = new(1.) }},
		"a place that is said": {"/marks/4", "the place of a mark before it", func(f *ViewFields) { f.Marks[4].Name, f.Marks[4].XM, f.Marks[4].YM = "here", new(3.), new(0.) }},
		"all in a line":        {"/marks", "in a line lie post_right, post_left", func(f *ViewFields) { f.Marks = f.Marks[:4] }},
	} {
		f := byNames(GroundPlane, known[:8]...)
		c.change(&f)
		_, faults := FindPlaces(f, womens())
		require.NotEmpty(t, faults, name)
		assert.Equal(t, c.pointer, faults[0].Pointer, name)
		assert.Contains(t, faults[0].Detail, c.says, name)
	}
}

// Whatever the marks, a view by names maps as the same view with the places written out does.
func TestNamesAndPlacesMapAlike(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		comp := womens()
		comp.CodeOfPlay = rapid.SampledFrom(CodesOfPlay).Draw(t, "code")
		comp.CreaseRadiusM = rapid.Float64Range(2, 4).Draw(t, "radius")
		f := byNames(GroundPlane, MarksOf(Competition{Fields: comp}).Ground[:6]...)
		places, faults := FindPlaces(f, comp)
		require.Empty(t, faults)
		named, err := NewMapping(View{Fields: f, Found: ViewFound{Places: places}})
		require.NoError(t, err)
		written := f.With(places)
		require.Empty(t, written.Check())
		again, faults := FindPlaces(written, comp)
		require.Empty(t, faults)
		assert.Empty(t, again, "a place of its own is not found")
		placed, err := NewMapping(View{Fields: written})
		require.NoError(t, err)
		click := Click{UPx: rapid.Float64Range(0, 2000).Draw(t, "u"), VPx: rapid.Float64Range(0, 1500).Draw(t, "v")}
		one, refusal := named.Map(click)
		other, otherRefusal := placed.Map(click)
		assert.Equal(t, refusal, otherRefusal)
		assert.Equal(t, one, other)
	})
}

// The marks are those of the geometry, each with its source.
func TestKnownMarksAreTheGeometrys(t *testing.T) {
	for _, code := range CodesOfPlay {
		comp := womens()
		comp.CodeOfPlay = code
		ground := comp.Ground()
		spots := field.MarkSpots(field.Marks(string(code), &ground, nil))
		marks := comp.knownMarks(GroundPlane)
		require.Len(t, marks, len(spots))
		for _, m := range marks {
			assert.Equal(t, field.Spot{XM: m.XM, YM: *m.YM}, spots[m.Name])
			assert.NotEmpty(t, m.Source)
			assert.Nil(t, m.UpM)
		}
	}
}
