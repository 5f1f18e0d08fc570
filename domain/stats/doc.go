// Package stats holds statistics that know no lacrosse: intervals for a proportion, beta distributions, logistic fits and
// their scores, charts of change, agreement of two observers. Its functions are pure, take plain numbers and give plain
// numbers. What cannot be computed is NaN or an error, never a panic.
package stats
