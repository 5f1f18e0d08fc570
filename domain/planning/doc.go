// Package planning turns rates into a week's work: the one thing to work on, the drill that the rules table gives
// for it, and what the gates held back and why.
package planning
