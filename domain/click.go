package domain

import (
	"errors"
	"fmt"

	"cagework/domain/field"
)

// MaxClicks is the most clicks that are mapped at once.
const MaxClicks = 1000

// Click is a point of a view's picture. PixelErrorPx is the standard deviation along each axis; absent, the view's.
type Click struct {
	UPx          float64  `json:"u_px"`
	VPx          float64  `json:"v_px"`
	PixelErrorPx *float64 `json:"pixel_error_px"`
}

// UnmarshalJSON reads one click. Silence about a number is not a zero.
func (k *Click) UnmarshalJSON(data []byte) error {
	var said struct {
		UPx          *float64 `json:"u_px"`
		VPx          *float64 `json:"v_px"`
		PixelErrorPx *float64 `json:"pixel_error_px"`
	}
	if err := strict(data, &said); err != nil {
		return err
	}
	if said.UPx == nil || said.VPx == nil {
		return Errorf(Invalid, "must have u_px and v_px")
	}
	*k = Click{*said.UPx, *said.VPx, said.PixelErrorPx}
	return nil
}

// Clicks are points of one view's picture.
type Clicks struct {
	Clicks []Click `json:"clicks"`
}

// Check gives the faults of the clicks. One that lies outside the picture is none: it is answered with a refusal.
func (k Clicks) Check() []FieldError {
	var c checks
	c.when(len(k.Clicks) < 1 || len(k.Clicks) > MaxClicks, "/clicks", "must have from 1 to %d items", MaxClicks)
	for i, click := range k.Clicks {
		c.numberIf(fmt.Sprintf("/clicks/%d/pixel_error_px", i), click.PixelErrorPx, MinPixelError, MaxPixelError)
	}
	return c.faults
}

// ClickRefusalCode says why a click has no spot.
type ClickRefusalCode string

// ClickRefusalCodes is the list of ClickRefusalCode.
var ClickRefusalCodes = []ClickRefusalCode{ClickOutside, ClickHorizon, ClickUnsure}

// The reasons.
const (
	ClickOutside ClickRefusalCode = "outside_picture"
	ClickHorizon ClickRefusalCode = "on_horizon"
	ClickUnsure  ClickRefusalCode = "too_unsure"
)

// ClickRefusal is the reason in a code and in words.
type ClickRefusal struct {
	Code   ClickRefusalCode `json:"code"`
	Detail string           `json:"detail"`
}

// MappedSpot is where a click lies in the view's plane, in metres: x_m and y_m on the ground, x_m and up_m in the goal's
// plane. The variances and the covariance are in square metres and along the same two axes; the 90 % ellipse has its
// half-axes in metres, and angle_deg from the x axis to the longer one, turning toward the other axis.
type MappedSpot struct {
	XM         float64  `json:"x_m"`
	YM         *float64 `json:"y_m"`
	UpM        *float64 `json:"up_m"`
	VarXM2     float64  `json:"var_x_m2"`
	CovM2      float64  `json:"cov_m2"`
	VarOtherM2 float64  `json:"var_other_m2"`
	HalfMajorM float64  `json:"half_major_m"`
	HalfMinorM float64  `json:"half_minor_m"`
	AngleDeg   float64  `json:"angle_deg"`
	Coarse     bool     `json:"coarse"` // the ellipse reaches further than field.CoarseFromM
}

// MappedClick is what became of one click: a spot or a refusal.
type MappedClick struct {
	Index   int           `json:"index"`
	Spot    *MappedSpot   `json:"spot"`
	Refusal *ClickRefusal `json:"refusal"`
}

// MappedClicks is what became of the clicks, in their order, by the view as it was at its rev.
type MappedClicks struct {
	ViewRev int64         `json:"view_rev"`
	Items   []MappedClick `json:"items"`
}

// Mapping is a view that is ready to map: fitted once, whatever the number of clicks.
type Mapping struct {
	fields   ViewFields
	geometry *field.View
}

// NewMapping fits a view. A stored view can be fitted; the error is Invalid.
func NewMapping(v View) (*Mapping, error) {
	f := v.Fields.With(v.Found.Places)
	geometry, faults := f.geometry()
	if len(faults) > 0 {
		return nil, Refusal(faults)
	}
	return &Mapping{f, geometry}, nil
}

// MapClicks maps clicks by a view.
func MapClicks(v View, clicks []Click) (MappedClicks, error) {
	out := MappedClicks{v.Rev, make([]MappedClick, len(clicks))}
	mapping, err := NewMapping(v)
	if err != nil {
		return out, err
	}
	for i, click := range clicks {
		out.Items[i] = MappedClick{Index: i}
		out.Items[i].Spot, out.Items[i].Refusal = mapping.Map(click)
	}
	return out, nil
}

// Map gives the spot of a click, or why it has none.
func (m *Mapping) Map(k Click) (*MappedSpot, *ClickRefusal) {
	if !m.fields.holds(k.UPx, k.VPx) {
		return nil, &ClickRefusal{ClickOutside, "the click lies outside the picture"}
	}
	got, err := m.geometry.Map(field.Pixel{U: k.UPx, V: k.VPx}, orZero(k.PixelErrorPx))
	if err != nil {
		code := ClickHorizon
		if refused, is := errors.AsType[*field.ViewError](err); is && refused.Code == field.ViewClickUnsure {
			code = ClickUnsure
		}
		return nil, &ClickRefusal{code, err.Error()}
	}
	spot := &MappedSpot{
		XM: got.At.X, VarXM2: got.Covariance.XX, CovM2: got.Covariance.XY, VarOtherM2: got.Covariance.YY,
		HalfMajorM: got.Ellipse.HalfMajorM, HalfMinorM: got.Ellipse.HalfMinorM, AngleDeg: got.Ellipse.AngleDeg,
		Coarse: got.Coarse,
	}
	if m.fields.Plane == GroundPlane {
		spot.YM = &got.At.Y
	} else {
		spot.UpM = &got.At.Y
	}
	return spot, nil
}
