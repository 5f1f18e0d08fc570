package pages

import (
	"io"

	"cagework/domain"
)

// MeView is what the page of a member shows: who they are, and whom they have to do with.
type MeView struct {
	Name    string
	Role    domain.Role
	Program string
	Week    domain.Week
	Weeks   bool // they may read weeks
	Teams   []domain.Named
	Goalies []domain.Named
}

// Me writes the page of a member.
func Me(w io.Writer, v MeView) error { return draw(w, "me.html", v) }
