package domain

import (
	"fmt"
	"slices"

	"cagework/domain/field"
)

// ViewPlane is the plane of the field that a view ties a picture to.
type ViewPlane string

// The planes.
const (
	GroundPlane ViewPlane = "ground"
	GoalPlane   ViewPlane = "goal" // upright through the posts
)

// ViewPlanes is the list of ViewPlane.
var ViewPlanes = []ViewPlane{GroundPlane, GoalPlane}

// Limits of a view.
const (
	MinMarks       = 4
	MaxMarks       = 40
	MaxPictureSide = 20_000 // pixels
	MinPixelError  = .1
	MaxPixelError  = 50
)

// ViewFields ties the picture of one camera position, for a span of a game's film, to a plane of the field by marks
// whose place is known. It is exact for a lens that keeps straight lines straight; see [field.View].
type ViewFields struct {
	GameID       ID         `db:"game_id"        json:"game_id"`
	Name         string     `db:"name"           json:"name"`
	Plane        ViewPlane  `db:"plane"          json:"plane"`
	FromFilmMs   *int       `db:"from_film_ms"   json:"from_film_ms"` // absent: from the film's beginning
	ToFilmMs     *int       `db:"to_film_ms"     json:"to_film_ms"`   // absent: to its end
	WidthPx      int        `db:"width_px"       json:"width_px"`
	HeightPx     int        `db:"height_px"      json:"height_px"`
	PixelErrorPx float64    `db:"pixel_error_px" json:"pixel_error_px"` // standard deviation of a click along each axis
	Marks        []ViewMark `db:"marks"          json:"marks"`
}

// ViewMark is a point of the picture whose place is known: on the ground x_m and y_m, in the goal's plane x_m and up_m. One
// that is given by name alone lies where the code of play has a mark of that name; see [FindPlaces]. Errors are standard deviations along each axis; without one the click's is the view's and the place is exact.
type ViewMark struct {
	Name         string   `json:"name"`
	UPx          float64  `json:"u_px"` // to the right from the picture's upper left corner
	VPx          float64  `json:"v_px"` // down
	XM           *float64 `json:"x_m"`
	YM           *float64 `json:"y_m"`
	UpM          *float64 `json:"up_m"`
	PixelErrorPx *float64 `json:"pixel_error_px"`
	PlaceErrorM  *float64 `json:"place_error_m"`
}

// UnmarshalJSON reads one mark. Silence about a number is not a zero: what a mark cannot be without must be there.
func (m *ViewMark) UnmarshalJSON(data []byte) error {
	var said struct {
		Name         *string  `json:"name"`
		UPx          *float64 `json:"u_px"`
		VPx          *float64 `json:"v_px"`
		XM           *float64 `json:"x_m"`
		YM           *float64 `json:"y_m"`
		UpM          *float64 `json:"up_m"`
		PixelErrorPx *float64 `json:"pixel_error_px"`
		PlaceErrorM  *float64 `json:"place_error_m"`
	}
	if err := strict(data, &said); err != nil {
		return err
	}
	if said.Name == nil || said.UPx == nil || said.VPx == nil {
		return Errorf(Invalid, "must have name, u_px and v_px")
	}
	*m = ViewMark{*said.Name, *said.UPx, *said.VPx, said.XM, said.YM, said.UpM, said.PixelErrorPx, said.PlaceErrorM}
	return nil
}

// ViewFound is what the service found of a view: the places of its marks by name, which are stored, and how well the marks
// fit each other, which is worked out anew each time that it is read.
type ViewFound struct {
	// Places are those of the marks that are given by name alone, in the order of the marks.
	Places []MarkPlace `db:"places" json:"places"`
	// ResidualsPx are how far each mark lies from where the view shows its place, in pixels, in the order of the marks.
	ResidualsPx []float64 `db:"-" json:"residuals_px,omitzero"`
	// Warnings are what is odd about the marks, but may be right.
	Warnings []FieldError `db:"-" json:"warnings,omitzero"`
}

// View is the stored view.
type View = Record[ViewFields, ViewFound]

// Check gives the faults of the fields, the reasons why the marks make no view among them.
func (f ViewFields) Check() []FieldError {
	var c checks
	c.id("/game_id", f.GameID)
	c.name("/name", f.Name)
	oneOf(&c, "/plane", f.Plane, ViewPlanes)
	c.wholeIf("/from_film_ms", f.FromFilmMs, 0, MaxFilm)
	c.wholeIf("/to_film_ms", f.ToFilmMs, 0, MaxFilm)
	if f.FromFilmMs != nil && f.ToFilmMs != nil {
		c.when(*f.ToFilmMs < *f.FromFilmMs, "/to_film_ms", "must not come before from_film_ms")
	}
	c.whole("/width_px", f.WidthPx, 1, MaxPictureSide)
	c.whole("/height_px", f.HeightPx, 1, MaxPictureSide)
	c.number("/pixel_error_px", f.PixelErrorPx, MinPixelError, MaxPixelError)
	c.when(len(f.Marks) < MinMarks || len(f.Marks) > MaxMarks, "/marks", "must have from %d to %d items", MinMarks, MaxMarks)
	for i, m := range f.Marks {
		at := fmt.Sprintf("/marks/%d", i)
		m.check(&c, at, f)
		c.when(slices.ContainsFunc(f.Marks[:i], m.repeats), at, "has the name, the point or the place of a mark before it")
	}
	// Marks by name have no places yet: FindPlaces asks again when they have.
	if len(c.faults) == 0 && !slices.ContainsFunc(f.Marks, ViewMark.byName) {
		_, fault := f.geometry()
		c.faults = append(c.faults, fault...)
	}
	return c.faults
}

func (m ViewMark) check(c *checks, at string, f ViewFields) {
	c.name(at+"/name", m.Name)
	c.number(at+"/u_px", m.UPx, 0, MaxPictureSide)
	c.number(at+"/v_px", m.VPx, 0, MaxPictureSide)
	c.when(!f.holds(m.UPx, m.VPx), at, "must lie in the picture, of width_px by height_px")
	c.numberIf(at+"/x_m", m.XM, -70, 70)
	c.numberIf(at+"/y_m", m.YM, -30, 130)
	c.numberIf(at+"/up_m", m.UpM, 0, 10)
	onGround := f.Plane == GroundPlane
	placed := m.XM != nil && (m.YM != nil) == onGround && (m.UpM != nil) != onGround
	c.when(!placed && !m.byName(), at, "has x_m with y_m on the ground, x_m with up_m in the goal's plane, or its name alone")
	c.numberIf(at+"/pixel_error_px", m.PixelErrorPx, MinPixelError, MaxPixelError)
	c.numberIf(at+"/place_error_m", m.PlaceErrorM, 0, 5)
}

// repeats tells whether a mark adds nothing to another: two marks have a name, a point and a place each.
func (m ViewMark) repeats(other ViewMark) bool {
	onePoint := m.UPx == other.UPx && m.VPx == other.VPx
	onePlace := m.XM != nil && other.XM != nil && *m.XM == *other.XM &&
		orZero(m.YM) == orZero(other.YM) && orZero(m.UpM) == orZero(other.UpM)
	return m.Name == other.Name || onePoint || onePlace
}

// holds tells whether a point lies in the picture or on its edge.
func (f ViewFields) holds(u, v float64) bool {
	return u >= 0 && v >= 0 && u <= float64(f.WidthPx) && v <= float64(f.HeightPx)
}

// geometry makes the view that maps, or says why the marks make none. Each has a place.
func (f ViewFields) geometry() (*field.View, []FieldError) {
	marks := make([]field.ViewMark, len(f.Marks))
	for i, m := range f.Marks {
		marks[i] = field.ViewMark{Name: m.Name, Picture: field.Pixel{U: m.UPx, V: m.VPx}, Place: field.PlanePoint{X: orZero(m.XM)}}
		marks[i].Place.Y = orZero(m.YM) + orZero(m.UpM) // it has one of them
		marks[i].PixelErrorPx, marks[i].PlaceErrorM = orZero(m.PixelErrorPx), orZero(m.PlaceErrorM)
	}
	view, err := field.NewView(marks, f.PixelErrorPx)
	if err == nil {
		return view, nil
	}
	return nil, []FieldError{{"/marks", err.Error()}}
}

func orZero(v *float64) float64 {
	if v == nil {
		return 0
	}
	return *v
}

// FindView gives how well the marks of a view fit each other, beside the places that were found.
func FindView(v View) ViewFound {
	found := ViewFound{v.Found.Places, []float64{}, []FieldError{}}
	view, faults := v.Fields.With(v.Found.Places).geometry()
	if len(faults) > 0 {
		return found // no such view is stored
	}
	found.ResidualsPx = view.Residuals
	for i, m := range v.Fields.Marks {
		k := slices.IndexFunc(v.Found.Places, func(p MarkPlace) bool { return p.Name == m.Name })
		if k >= 0 && v.Found.Places[k].Unconfirmed {
			found.Warnings = append(found.Warnings, FieldError{fmt.Sprintf("/marks/%d", i),
				"nobody has checked a measure that its place is made of, or each field has its own: measure it"})
		}
	}
	for _, w := range view.Warnings {
		at := "/marks"
		if len(w.Marks) == 1 {
			at = fmt.Sprintf("/marks/%d", w.Marks[0])
		}
		found.Warnings = append(found.Warnings, FieldError{at, w.Detail})
	}
	if v.Fields.Plane == GroundPlane && view.Mirrored() {
		found.Warnings = append(found.Warnings, FieldError{"/marks",
			"no camera above the ground sees it like this: left and right are exchanged, or the film is mirrored"})
	}
	return found
}
