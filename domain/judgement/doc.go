// Package judgement says what charted shots tell about a goalie's targets: each rate with its count, its interval,
// the chance that it lies below its target and the state that follows from it; what the goalie's peers add to that; which
// gaps are to be believed, what closing them is worth in goals a game, and in which order; whether a block helped; and
// which shots to watch side by side. It judges rates, never goalies.
//
// The way of a week: [RateOf] counts and judges each rate alone, [Peers.Judge] lets it lean on the peers', [ListOwn] marks
// what is to be believed, [Choice.Order] puts it in order, [PairsOf] finds the shots to show. A board goes from
// [Peers.Board] to [ListBoard]. A block starts with [Judge.Baselines], which keeps what [Freeze] gives, and ends with
// [Baseline.Help].
package judgement
