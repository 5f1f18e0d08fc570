package domain

import (
	"errors"

	"cagework/domain/field"
)

// PositioningQuestion is what somebody asks for teaching where to stand: ball here, goalkeeper this tall, this far out.
// Lengths are metres in the frame of spots. The names in JSON are those of the query parameters.
type PositioningQuestion struct {
	CompetitionID *ID        `json:"competition_id"` // see [PositioningQuestion.In]; nil is none
	CodeOfPlay    CodeOfPlay `json:"code_of_play"`   // whose goal and goal circle it is
	BallXM        float64    `json:"ball_x_m"`       // of the ball at release
	BallYM        float64    `json:"ball_y_m"`
	ReleaseUpM    float64    `json:"release_up_m"` // of the ball above the ground
	SpeedMS       float64    `json:"speed_ms"`

	// The silhouette; see [field.Silhouette].
	BodyWidthM    float64 `json:"body_width_m"`
	BodyHeightM   float64 `json:"body_height_m"`
	CrosseWidthM  float64 `json:"crosse_width_m"`
	CrosseHeightM float64 `json:"crosse_height_m"`
	StickHand     Hand    `json:"stick_hand"`

	// The arc and the shade; see [field.Arc]. ShadeNearM is toward the near pipe, negative toward the far one.
	ArcApexM       float64 `json:"arc_apex_m"`
	ArcHalfStanceM float64 `json:"arc_half_stance_m"`
	ShadeNearM     float64 `json:"shade_near_m"`

	OutAlongBisectorM []float64 `json:"out_along_bisector_m"`

	competition *CompetitionFields // whose goal and goal circle it is instead; nil is none
}

// In gives the question with what a competition says in its place: the code of play, the goal and the goal circle, and the arc
// and the shade as far as the program has set them.
func (q PositioningQuestion) In(c Competition) PositioningQuestion {
	q.CompetitionID, q.CodeOfPlay, q.competition = &c.ID, c.Fields.CodeOfPlay, &c.Fields
	for _, set := range []struct{ place, value *float64 }{
		{&q.ArcApexM, c.Fields.ArcApexM}, {&q.ArcHalfStanceM, c.Fields.ArcHalfStanceM}, {&q.ShadeNearM, c.Fields.ShadeNearM},
	} {
		if set.value != nil {
			*set.place = *set.value
		}
	}
	return q
}

// DefaultPositioning gives the question that stands for whatever somebody does not say. All but the speed is common
// practice, to be replaced by one's own measures: a ball at the top, a stance of a high-school goalkeeper with a crosse of
// 12 in, an arc as high schools teach it. The speed is the mean of 33 men of high school and college (Vincent and others,
// Sports Biomechanics 2015, PMID 26715237); others throw slower.
func DefaultPositioning() PositioningQuestion {
	keeper := field.CommonSilhouette(true)
	return PositioningQuestion{
		CodeOfPlay: "mens_field", BallXM: 0, BallYM: 9, ReleaseUpM: 1.5, SpeedMS: 31.1,
		BodyWidthM: keeper.BodyWidthM, BodyHeightM: keeper.BodyHeightM,
		CrosseWidthM: keeper.CrosseWidthM, CrosseHeightM: keeper.CrosseHeightM, StickHand: Right,
		ArcApexM: 0.75, ArcHalfStanceM: field.HalfStanceM, ShadeNearM: 0,
		OutAlongBisectorM: []float64{0, 0.5, 1, 1.5},
	}
}

// PositioningLesson answers a [PositioningQuestion]. Nothing of it is stored. It recommends no depth; see [field.Lesson].
type PositioningLesson struct {
	Question      PositioningQuestion `json:"question"` // with the defaults in their places
	GoalWidthM    float64             `json:"goal_width_m"`
	GoalHeightM   float64             `json:"goal_height_m"`
	CreaseRadiusM float64             `json:"crease_radius_m"`

	// What follows from the ball's spot; see [field.Sight].
	DistanceM    float64        `json:"distance_m"`
	BearingDeg   float64        `json:"bearing_deg"`
	GoalAngleDeg float64        `json:"goal_angle_deg"`
	NearPostM    float64        `json:"near_post_m"`
	FarPostM     float64        `json:"far_post_m"`
	CreaseEdgeM  float64        `json:"crease_edge_m"`
	Area         field.Area     `json:"area"`
	BallSide     field.BallSide `json:"ball_side"`

	FootXM      float64 `json:"foot_x_m"`           // of the bisector's crossing of the goal line
	FlightS     float64 `json:"flight_time_s"`      // from the release to the goal line there, without drag
	DragFlightS float64 `json:"drag_flight_time_s"` // an estimate: the drag is from memory

	ArcHow    field.PostHow       `json:"arc_how"`
	AtArc     PositioningDepth    `json:"at_arc"`
	Depths    []PositioningDepth  `json:"depths"` // in the order of the question
	Reactions []PublishedReaction `json:"reactions"`
	Says      []string            `json:"says"`
}

// PositioningDepth is one distance out: what shows past the goalkeeper there, and how much time there is. The net's parts
// are fractions of the opening's width, above of its height; right and left are the goalkeeper's; see [field.NetLeft].
type PositioningDepth struct {
	OutAlongBisectorM float64 `json:"out_along_bisector_m"`
	XM                float64 `json:"x_m"`
	YM                float64 `json:"y_m"`
	DepthM            float64 `json:"depth_m"`
	CoveredLow        float64 `json:"covered_low"`
	CoveredHigh       float64 `json:"covered_high"`
	RightLow          float64 `json:"open_right_low"`
	RightHigh         float64 `json:"open_right_high"`
	LeftLow           float64 `json:"open_left_low"`
	LeftHigh          float64 `json:"open_left_high"`
	Above             float64 `json:"open_above"`
	FlightS           float64 `json:"flight_time_s"`      // from the release to the goalkeeper, without drag
	DragFlightS       float64 `json:"drag_flight_time_s"` // an estimate: the drag is from memory
	CostS             float64 `json:"cost_s"`             // by how much it is shorter than on the goal line
}

// PublishedReaction is a published reaction time; see [field.Reactions].
type PublishedReaction struct {
	Name   string  `json:"name"`
	TimeS  float64 `json:"time_s"`
	Source string  `json:"source"`
}

// TeachPositioning answers a question about where to stand. Errors: Forbidden, and Invalid that names the parameter.
func TeachPositioning(a Actor, q PositioningQuestion) (PositioningLesson, error) {
	if err := MayAny(a, Read, NounLesson); err != nil {
		return PositioningLesson{}, err
	}
	ground, asked, err := q.field()
	if err != nil {
		return PositioningLesson{}, err
	}
	lesson, err := field.Teach(&ground, asked)
	if fault, is := errors.AsType[*field.Fault](err); is {
		return PositioningLesson{}, InvalidField(parameterOf(fault.Field), "%s", fault.Detail)
	}
	if err != nil {
		return PositioningLesson{}, err
	}
	return positioningLesson(&ground, q, lesson), nil
}

// field gives the question as the geometry asks it, on the ground of its code of play.
func (q PositioningQuestion) field() (field.Ground, field.Question, error) {
	var c checks
	oneOf(&c, "code_of_play", q.CodeOfPlay, CodesOfPlay)
	oneOf(&c, "stick_hand", q.StickHand, Hands)
	c.when(len(q.OutAlongBisectorM) == 0, "out_along_bisector_m", "must have a distance")
	ground, known := field.GroundOf(string(q.CodeOfPlay))
	if q.competition != nil {
		c.when(q.CodeOfPlay != q.competition.CodeOfPlay, "code_of_play", "is not that of the competition")
		ground = q.competition.Ground()
	}
	// A ball without a near pipe has no shade, whatever is asked, so it is looked at before it becomes one.
	if known {
		c.arc("", &q.ArcApexM, &q.ArcHalfStanceM, &q.ShadeNearM, ground.GoalWidthM)
	}
	ball := field.Spot{XM: q.BallXM, YM: q.BallYM}
	arc := field.ArcTo(q.ArcApexM)
	arc.HalfStanceM = q.ArcHalfStanceM
	return ground, field.Question{
		Ball: ball, ReleaseUpM: q.ReleaseUpM, SpeedMS: q.SpeedMS,
		Keeper: field.Silhouette{
			BodyWidthM: q.BodyWidthM, BodyHeightM: q.BodyHeightM, CrosseWidthM: q.CrosseWidthM, CrosseHeightM: q.CrosseHeightM,
			StickRight: q.StickHand == Right,
		},
		Arc: arc, ShadeM: field.ShadeToRight(ball, q.ShadeNearM), OutsM: q.OutAlongBisectorM,
	}, Refusal(c.faults)
}

// parameterOf gives the query parameter of a number that the geometry refuses.
func parameterOf(name string) string {
	switch name {
	case "x_m", "y_m":
		return "ball_" + name
	case "apex_m", "half_stance_m":
		return "arc_" + name
	case "shade_m":
		return "shade_near_m"
	}
	return name
}

func positioningLesson(g *field.Ground, q PositioningQuestion, l field.Lesson) PositioningLesson {
	out := PositioningLesson{
		Question: q, GoalWidthM: g.GoalWidthM, GoalHeightM: g.GoalHeightM, CreaseRadiusM: g.CreaseRadiusM,
		DistanceM: l.Sight.DistanceM, BearingDeg: l.Sight.BearingDeg, GoalAngleDeg: l.Sight.GoalAngleDeg,
		NearPostM: l.Sight.NearPostM, FarPostM: l.Sight.FarPostM, CreaseEdgeM: l.Sight.CreaseEdgeM,
		Area: l.Sight.Area, BallSide: l.Sight.Side,
		FootXM: l.Foot.XM, FlightS: l.ToLineS, DragFlightS: l.DragToLineS,
		ArcHow: l.Post.How, AtArc: positioningDepth(l.AtArc), Says: l.Says,
	}
	for _, d := range l.Depths {
		out.Depths = append(out.Depths, positioningDepth(d))
	}
	for _, r := range field.Reactions {
		out.Reactions = append(out.Reactions, PublishedReaction{r.Name, r.Seconds, r.Source})
	}
	return out
}

func positioningDepth(d field.Depth) PositioningDepth {
	return PositioningDepth{
		OutAlongBisectorM: d.OutAlongBisectorM, XM: d.Spot.XM, YM: d.Spot.YM, DepthM: d.DepthM,
		CoveredLow: d.Net.CoveredLow(), CoveredHigh: d.Net.CoveredHigh(),
		RightLow: d.Net.RightLow, RightHigh: d.Net.RightHigh, LeftLow: d.Net.LeftLow, LeftHigh: d.Net.LeftHigh, Above: d.Net.Above,
		FlightS: d.TimeS, DragFlightS: d.DragTimeS, CostS: d.CostS,
	}
}
