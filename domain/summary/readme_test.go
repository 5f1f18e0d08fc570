package summary

import (
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
)

// figures gives the numbers of a summary, their names by record and name, down through all that it holds.
func figures(v reflect.Type, found map[string]string, seen map[reflect.Type]bool) {
	switch v.Kind() {
	case reflect.Pointer, reflect.Slice, reflect.Array:
		figures(v.Elem(), found, seen)
		return
	case reflect.Struct:
	default:
		return
	}
	if seen[v] || v == reflect.TypeFor[domain.Date]() || v == reflect.TypeFor[domain.Week]() {
		return
	}
	seen[v] = true
	for i := range v.NumField() {
		f := v.Field(i)
		name := f.Tag.Get("json")
		if name == "-" || name == "" && !f.Anonymous {
			continue
		}
		kind := f.Type
		for kind.Kind() == reflect.Pointer {
			kind = kind.Elem()
		}
		if kind.Kind() == reflect.Float64 || kind.Kind() == reflect.Int || kind == reflect.TypeFor[Thousandths]() {
			found[v.Name()+"."+name] = name
		}
		figures(f.Type, found, seen)
	}
}

// A number that a coach is shown and that nobody explains is a number that is misread.
func TestReadmeExplainsEveryFigure(t *testing.T) {
	raw, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	require.NoError(t, err)
	found := map[string]string{}
	for _, v := range []any{
		GoalieWeek{}, TeamWeek{}, ProgramWeek{}, SpanLine{}, TeamLine{}, judgement.DifficultyScores{}, judgement.HabitEffect{},
	} {
		figures(reflect.TypeOf(v), found, map[reflect.Type]bool{})
	}
	require.Greater(t, len(found), 80)
	for where, name := range found {
		assert.Contains(t, string(raw), "`"+name+"`", where)
	}
}
