// Package planning turns rates into a week's work: what to work on, the drills that the rules table gives for it, what
// the gates held back and why, what recorders should read next, what went well, and how the blocks go.
package planning
