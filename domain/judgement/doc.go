// Package judgement says what charted shots tell about a goalie's targets: each rate with its count, its interval,
// the chance that it lies below its target and the state that follows from it. It judges rates, never goalies.
package judgement
