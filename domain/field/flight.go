package field

import (
	"fmt"
	"math"
)

// What the estimate of drag stands on. The coefficient is that of a smooth sphere below the drag crisis, FROM MEMORY: no
// paper on the drag of a lacrosse ball was found. The ball's mass is the middle of 141.7 and 148.8 g, from the 5 to 5 1/4
// oz of the NCAA rules of 2015 and 2016; the air is that of 20 degrees at sea level.
const (
	DragCoefficient = 0.5
	AirKGM3         = 1.204
	BallMassKG      = 0.1453
)

// DragPerM is by what fraction a ball's speed falls over a metre: air density times drag coefficient times the ball's
// cross-section, over twice its mass. About 0.0066.
const DragPerM = AirKGM3 * DragCoefficient * (math.Pi * BallDiameterM * BallDiameterM / 4) / (2 * BallMassKG)

// FlightS gives the seconds that a ball at a speed in metres a second takes over metres, if nothing slowed it. ok is false
// for a speed that is not above 0 or a distance below 0.
func FlightS(speedMS, overM float64) (s float64, ok bool) {
	if !(speedMS > 0 && overM >= 0) || math.IsInf(speedMS, 1) || math.IsInf(overM, 1) {
		return 0, false
	}
	return overM / speedMS, true
}

// DragFlightS is FlightS with the estimate of drag, which is from memory: with a deceleration of k v² the time over L is
// (e^(kL) - 1)/(k v). Over 10 m it is some 3 % longer.
func DragFlightS(speedMS, overM float64) (s float64, ok bool) {
	if _, ok := FlightS(speedMS, overM); !ok {
		return 0, false
	}
	return math.Expm1(DragPerM*overM) / (DragPerM * speedMS), true
}

// Reaction is a published reaction time.
type Reaction struct {
	Name    string
	Seconds float64
	Source  string
}

// Reactions are published reaction times, none of them of lacrosse goalkeepers: no paper was found that measured any.
var Reactions = []Reaction{
	{"simple reaction to something seen, students", 0.190, "study notes after Kosinski's literature review"},
	{"simple reaction", 0.220, "Laming 1968, by the same notes"},
	{"recognition, to answer one signal and not others", 0.384, "Laming 1968, by the same notes"},
}

// CompareReaction says how a flight time stands to the published reaction times. It is a statement, not a verdict: who
// reads the release begins before the ball leaves the stick.
func CompareReaction(flightS float64) string {
	return fmt.Sprintf("The ball takes %.0f ms. Published times from a signal to the first movement are %.0f to %.0f ms for a simple "+
		"reaction and %.0f ms when one signal has to be told from others; none was measured on lacrosse goalkeepers, and a goalkeeper "+
		"who reads the release starts before it.",
		1000*flightS, 1000*Reactions[0].Seconds, 1000*Reactions[1].Seconds, 1000*Reactions[2].Seconds)
}
