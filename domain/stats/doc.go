// Package stats holds statistics that know no lacrosse: intervals for proportions and their differences, beta
// distributions and mixtures of them, rates that lean on peers, predictions, lists of findings, and the order of
// overlapping remedies. Its functions are pure, take plain numbers and give plain numbers. What cannot be computed is
// NaN, never a panic.
package stats
