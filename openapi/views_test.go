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

// TestPartsOfAViewAgree holds marks, clicks and spots to the types that are read and written.
func TestPartsOfAViewAgree(t *testing.T) {
	raw := rawSchemas(t)
	for name, c := range map[string]struct {
		goType   reflect.Type
		required []string
	}{
		"ViewMark":     {reflect.TypeFor[domain.ViewMark](), []string{"name", "u_px", "v_px"}},
		"Click":        {reflect.TypeFor[domain.Click](), []string{"u_px", "v_px"}},
		"KnownMark":    {reflect.TypeFor[domain.KnownMark](), []string{"name", "x_m", "y_m", "up_m", "source", "unconfirmed"}},
		"KnownMarks":   {reflect.TypeFor[domain.KnownMarks](), []string{"competition_id", "code_of_play", "ground", "goal"}},
		"MarkPlace":    {reflect.TypeFor[domain.MarkPlace](), []string{"name", "x_m", "y_m", "up_m", "unconfirmed"}},
		"ClickRefusal": {reflect.TypeFor[domain.ClickRefusal](), []string{"code", "detail"}},
		"MappedClick":  {reflect.TypeFor[domain.MappedClick](), []string{"index", "spot", "refusal"}},
		"MappedClicks": {reflect.TypeFor[domain.MappedClicks](), []string{"view_rev", "items"}},
	} {
		names, nulls := jsonNames(c.goType)
		assert.Equal(t, names, propertyNames(raw[name]), name)
		assert.Equal(t, c.required, requiredOf(raw[name]), name)
		for _, field := range names {
			assert.Equal(t, slices.Contains(nulls, field), mayBeNull(property(raw[name], field)), "%s.%s", name, field)
		}
	}
	spot, spotNulls := jsonNames(reflect.TypeFor[domain.MappedSpot]())
	assert.Equal(t, spot, propertyNames(raw["MappedSpot"]))
	assert.Equal(t, spot, requiredOf(raw["MappedSpot"]))
	assert.Equal(t, []string{"y_m", "up_m"}, spotNulls)
	assert.Equal(t, domain.MaxClicks, property(raw["Clicks"], "clicks")["maxItems"])
}

// TestExamplesOfAViewAreWorkedOut asks the domain for what the examples say that it found.
func TestExamplesOfAViewAreWorkedOut(t *testing.T) {
	view := domain.View{Rev: 27, Fields: example[domain.ViewFields](t, "putView")}
	competition := domain.Competition{Fields: example[domain.CompetitionFields](t, "putCompetition")}
	var faults []domain.FieldError
	view.Found.Places, faults = domain.FindPlaces(view.Fields, competition.Fields)
	require.Empty(t, faults)
	view.Found = domain.FindView(view)
	want := exampleValue(t, "View")
	near(t, want["places"], anyOf(t, view.Found.Places), "places")
	competition.ID = idOf(t, "getCompetitionMarks")
	near(t, any(exampleValue(t, "KnownMarks")), anyOf(t, domain.MarksOf(competition)), "marks")
	assert.InDeltaSlice(t, want["residuals_px"], view.Found.ResidualsPx, 1e-6)
	assert.Empty(t, view.Found.Warnings)
	mapped, err := domain.MapClicks(view, example[domain.Clicks](t, "mapClicks").Clicks)
	require.NoError(t, err)
	near(t, any(exampleValue(t, "MappedClicks")), anyOf(t, mapped), "")
}

// anyOf gives a value as a reader of its JSON has it.
func anyOf(t *testing.T, v any) any {
	t.Helper()
	text, err := json.Marshal(v)
	require.NoError(t, err)
	var got any
	require.NoError(t, json.Unmarshal(text, &got))
	return got
}

// idOf gives the id in an operation's path.
func idOf(t *testing.T, operationID string) domain.ID {
	t.Helper()
	id, err := domain.ParseID(operation(t, operationID).PathExamples["id"])
	require.NoError(t, err)
	return id
}

// near holds a JSON value to another but for what arithmetic on another machine may change.
func near(t *testing.T, want, got any, at string) {
	t.Helper()
	switch want := want.(type) {
	case map[string]any:
		for name := range want {
			near(t, want[name], got.(map[string]any)[name], at+"/"+name)
		}
	case []any:
		require.Len(t, got, len(want), at)
		for i := range want {
			near(t, want[i], got.([]any)[i], at)
		}
	case float64:
		assert.InDelta(t, want, got, 1e-6, at)
	default:
		assert.Equal(t, want, got, at)
	}
}

func exampleValue(t *testing.T, name string) map[string]any {
	t.Helper()
	var value map[string]any
	require.NoError(t, json.Unmarshal(asJSON(t, model(t).Components.Examples.GetOrZero(name).Value), &value))
	return value
}
