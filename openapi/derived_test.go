package openapi_test

import (
	"encoding/json"
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// TestDerivedIsAsTheServiceWritesIt holds what follows from a shot to its schema.
func TestDerivedIsAsTheServiceWritesIt(t *testing.T) {
	schema := rawSchemas(t)["ShotDerived"]
	names, nulls := jsonNames(reflect.TypeFor[domain.ShotDerived]())
	assert.Equal(t, names, propertyNames(schema))
	assert.Equal(t, names, requiredOf(schema))
	for _, name := range names {
		assert.Equal(t, slices.Contains(nulls, name), mayBeNull(property(schema, name)), name)
	}
}

// TestExamplesOfAShotAreWorkedOut derives anew what the examples of a shot say, by the examples of its competition and goalie.
func TestExamplesOfAShotAreWorkedOut(t *testing.T) {
	var competition domain.CompetitionFields
	var goalie domain.GoalieFields
	into := func(v, out any) {
		text, err := json.Marshal(v)
		require.NoError(t, err)
		require.NoError(t, json.Unmarshal(text, out))
	}
	into(exampleValue(t, "Competition"), &competition)
	into(exampleValue(t, "Goalie"), &goalie)
	page := exampleValue(t, "ShotPage")["items"].([]any)
	for name, shot := range map[string]any{
		"Shot": exampleValue(t, "Shot"), "ShotPatched": exampleValue(t, "ShotPatched"), "ShotPage": page[0],
		"UndoResult": exampleValue(t, "UndoResult")["record"],
	} {
		said := shot.(map[string]any)
		var fields domain.ShotFields
		into(said, &fields)
		got := anyOf(t, fields.Derived(domain.ShotFound{}, domain.ShotPlace{Competition: competition, Goalie: &goalie}))
		near(t, said["derived"], got, name)
	}
}
