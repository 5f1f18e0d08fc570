// Package stats holds statistics that know no lacrosse: intervals for a proportion and beta distributions. Its
// functions are pure, take plain numbers and give plain numbers. What cannot be computed is NaN, never a panic.
package stats
