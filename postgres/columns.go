package postgres

import (
	"fmt"
	"reflect"
	"strings"

	"cagework/domain"
)

// columns knows which column each field of a struct goes to, by its db tag; embedded structs are part of it.
type columns struct {
	names []string
	paths [][]int
}

// The columns of records that are also read beside others.
var (
	gameColumns        = columnsOf[domain.GameFields]()
	competitionColumns = columnsOf[domain.CompetitionFields]()
)

// columnsOf reads the db tags of T. A field tagged "-" has no column.
func columnsOf[T any]() columns {
	var c columns
	c.add(reflect.TypeFor[T](), nil)
	return c
}

func (c *columns) add(t reflect.Type, prefix []int) {
	for i := range t.NumField() {
		f := t.Field(i)
		path := append(append([]int{}, prefix...), i)
		switch name := f.Tag.Get("db"); {
		case f.Anonymous:
			c.add(f.Type, path)
		case name == "-":
		case name == "":
			panic(fmt.Sprintf("%s.%s has no db tag", t, f.Name)) // seen by the first test that opens the stores
		default:
			c.names = append(c.names, name)
			c.paths = append(c.paths, path)
		}
	}
}

// values gives the fields of v, a T, in the order of the columns.
func (c columns) values(v any) []any {
	rv := reflect.ValueOf(v)
	out := make([]any, len(c.paths))
	for i, path := range c.paths {
		out[i] = rv.FieldByIndex(path).Interface()
	}
	return out
}

// pointers gives where to scan the columns to in p, a *T.
func (c columns) pointers(p any) []any {
	rv := reflect.ValueOf(p).Elem()
	out := make([]any, len(c.paths))
	for i, path := range c.paths {
		out[i] = rv.FieldByIndex(path).Addr().Interface()
	}
	return out
}

// qualified writes "table.column, table.column".
func (c columns) qualified(table string) string {
	parts := make([]string, len(c.names))
	for i, n := range c.names {
		parts[i] = table + "." + n
	}
	return strings.Join(parts, ", ")
}
