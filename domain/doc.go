// Package domain holds the records of a lacrosse program's goalie development, the trade's codes, what makes a
// record valid, who may do what ([May]), the little language in which targets are written ([Clause]) and the
// interfaces of the stores.
//
// It is pure: it knows no HTTP, no SQL and no clock. Lengths are metres, speeds metres per second, and each
// name carries its unit. A record is a [Record] of its fields (what a client writes) and of what the service
// found out by itself.
package domain
