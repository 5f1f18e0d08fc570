package domain

import "context"

// Me is the store behind the question who the caller is. Every member may ask it.
type Me interface {
	Get(ctx context.Context, a Actor) (Member, Program, error)
}
