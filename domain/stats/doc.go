// Package stats holds statistics that know no lacrosse: intervals for proportions and their differences, beta
// distributions and mixtures of them, rates that lean on peers, predictions, lists of findings, the order of overlapping
// remedies, logistic fits and their scores, charts of change, agreement of two observers. Its functions are pure, take
// plain numbers and give plain numbers. What cannot be computed is NaN or an error, never a panic.
package stats
