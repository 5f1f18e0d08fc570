package pgtest

import "context"

// What tests need from the inside.

// ErrAbsent is what a source says that has no server.
var ErrAbsent = errAbsent

// Resolve goes through sources that the test makes up.
func Resolve(ctx context.Context, open map[string]func(context.Context) (string, error), order ...string) error {
	var all []source
	for _, name := range order {
		all = append(all, source{name: name, open: open[name]})
	}
	_, err := resolve(ctx, all)
	return err
}

// MakeTemplate makes a template by a recipe of the test's choice, on this process's server.
func MakeTemplate(ctx context.Context, hash string, migrate func(context.Context, string) error) (string, error) {
	s, err := theServer()
	if err != nil {
		return "", err
	}
	return s.template(ctx, recipe{hash: func() string { return hash }, migrate: migrate})
}

// The environment's variable and the roles.
const (
	Variable      = variable
	FromVariable  = fromVariable
	ImageVariable = imageVariable
	ServiceRole   = serviceRole
	LoginRole     = loginRole
)
