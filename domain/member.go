package domain

import "fmt"

// MemberFields is somebody with a role in the program. Tokens belong to members, so that a new token never
// changes who charted.
type MemberFields struct {
	Name      string `db:"name"       json:"name"`
	Role      Role   `db:"role"       json:"role"`
	TeamIDs   []ID   `db:"team_ids"   json:"team_ids"`   // a coach's and a recorder's own teams
	GoalieIDs []ID   `db:"goalie_ids" json:"goalie_ids"` // a viewer's goalies
}

// Member is the stored member.
type Member = Record[MemberFields, None]

// Check gives the faults of the fields.
func (f MemberFields) Check() []FieldError {
	var c checks
	c.name("/name", f.Name)
	oneOf(&c, "/role", f.Role, Roles)
	c.ids("/team_ids", f.TeamIDs)
	c.ids("/goalie_ids", f.GoalieIDs)
	return c.faults
}

func (c *checks) ids(pointer string, ids []ID) {
	c.when(ids == nil, pointer, "must be a list")
	c.when(len(ids) > MaxItems, pointer, "must have at most %d items", MaxItems)
	seen := map[ID]bool{}
	for i, id := range ids {
		c.when(seen[id], fmt.Sprintf("%s/%d", pointer, i), "is there twice")
		seen[id] = true
	}
}
