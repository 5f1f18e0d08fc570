package openapi

import (
	"fmt"
	"slices"

	"go.yaml.in/yaml/v3"
)

// Shape is what the contract says of how a JSON value is put together: where null may stand, which members an object may
// and must have, and how many there may be of a thing. Types, codes and ranges are the domain's to check. A nil Shape says nothing.
type Shape struct {
	Null     bool              // may be null
	Members  map[string]*Shape // of an object: its members by name
	Closed   bool              // it has no members but these
	Values   *Shape            // of an object with members of any name: what each is
	Required []string          // the members that it must have
	Items    *Shape            // of an array: what each item is
	Most     int               // the most members or items; 0 where the contract sets no limit
}

// deepest is how many levels the contract's bodies have at most; a schema that contains itself would have no end.
const deepest = 20

// shape gives the shape that a schema asks for.
func (d *document) shape(s schema, depth int) (*Shape, error) {
	if depth > deepest {
		return nil, fmt.Errorf("the schema is nested more than %d levels deep, or contains itself", deepest)
	}
	s, err := resolve(s, s.Ref, "schemas", d.Components.Schemas)
	if err != nil {
		return nil, err
	}
	out := &Shape{Null: s.nullable(), Required: s.Required, Most: max(s.MaxProperties, s.MaxItems)}
	for _, one := range s.OneOf { // of an object or null: the object
		if one.Type == "null" {
			continue
		}
		found, err := d.shape(one, depth+1)
		if err != nil {
			return nil, err
		}
		if found.Members != nil || found.Items != nil || found.Values != nil {
			found.Null = found.Null || out.Null
			out = found
		}
	}
	if s.Items != nil {
		if out.Items, err = d.shape(*s.Items, depth+1); err != nil {
			return nil, err
		}
	}
	return out, d.membersOf(s, out, depth)
}

// membersOf puts the members of a schema into its shape.
func (d *document) membersOf(s schema, out *Shape, depth int) error {
	for name, member := range s.Properties {
		found, err := d.shape(member, depth+1)
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		if out.Members == nil {
			out.Members = map[string]*Shape{}
		}
		out.Members[name] = found
	}
	switch s.Additional.Kind {
	case yaml.MappingNode:
		var values schema
		if err := s.Additional.Decode(&values); err != nil {
			return err
		}
		found, err := d.shape(values, depth+1)
		out.Values = found
		return err
	case yaml.ScalarNode:
		out.Closed = s.Additional.Value == "false"
	}
	return nil
}

// Member gives the shape of a member; known is false when the object may not have it.
func (s *Shape) Member(name string) (shape *Shape, known bool) {
	if s == nil {
		return nil, true
	}
	if found, named := s.Members[name]; named {
		return found, true
	}
	return s.Values, s.Values != nil || !s.Closed
}

// Item gives the shape of an array's items.
func (s *Shape) Item() *Shape {
	if s == nil {
		return nil
	}
	return s.Items
}

// Lacks gives the members that an object must have and does not, of those whose names it has.
func (s *Shape) Lacks(has []string) []string {
	if s == nil {
		return nil
	}
	var missing []string
	for _, name := range s.Required {
		if !slices.Contains(has, name) {
			missing = append(missing, name)
		}
	}
	return missing
}
