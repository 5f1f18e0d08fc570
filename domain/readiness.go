package domain

import "strings"

// Readiness says what the service can do just now, and why not what it cannot.
type Readiness struct {
	Reads    bool
	Writes   bool
	Reasons  []string // why something is not possible
	Warnings []string // hinder nothing, but somebody should know
}

// Ready tells whether everything is possible.
func (r Readiness) Ready() bool { return r.Reads && r.Writes }

// Reason gives all reasons as one sentence, "" when everything is possible.
func (r Readiness) Reason() string { return strings.Join(r.Reasons, "; ") }
