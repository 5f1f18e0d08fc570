package domain

import "context"

// Me is the store behind the question who the caller is. Every member may ask it.
type Me interface {
	// Get gives the caller and their program.
	Get(ctx context.Context, a Actor) (Member, Program, error)
	// See gives the teams and goalies that the caller has to do with on a day, by name.
	See(ctx context.Context, a Actor, on Date) (Sight, error)
}

// Sight is whom a member has to do with: a director all teams with the goalies on their rosters, a coach and a recorder their
// own teams with theirs, a viewer their goalies. Both are in the order of names.
type Sight struct {
	Teams, Goalies []Named
}

// Named is a record of which the name alone is told.
type Named struct {
	ID   ID
	Name string
}
