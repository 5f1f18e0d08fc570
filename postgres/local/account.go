package local

import (
	"os"
	"slices"
	"strings"
)

// account is the user that the server's processes run as. Postgres refuses to run as root, so root lends it another.
type account struct {
	name     string
	uid, gid int
	// other is false when the account is simply our own.
	other bool
}

// String names the account in messages.
func (a account) String() string {
	if a.name == "" {
		return "the current user"
	}
	return "user " + a.name
}

// environment is ours without what would change a server's behaviour behind our back: the PG variables, which are meant
// for clients, and the locale, which would translate the log that is read here.
func environment() []string {
	env := slices.DeleteFunc(os.Environ(), func(setting string) bool {
		name, _, _ := strings.Cut(setting, "=")
		return strings.HasPrefix(name, "PG") || strings.HasPrefix(name, "LC_") || name == "LANG" || name == "LANGUAGE"
	})
	return append(env, "LC_ALL=C")
}
