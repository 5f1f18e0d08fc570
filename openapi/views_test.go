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
		"ViewMark":     {reflect.TypeFor[domain.ViewMark](), []string{"name", "u_px", "v_px", "x_m"}},
		"Click":        {reflect.TypeFor[domain.Click](), []string{"u_px", "v_px"}},
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
	fields := example[domain.ViewFields](t, "putView")
	view := domain.View{Rev: 27, Fields: fields, Found: domain.FindView(fields)}
	want := exampleValue(t, "View")
	assert.InDeltaSlice(t, want["residuals_px"], view.Found.ResidualsPx, 1e-6)
	assert.Empty(t, view.Found.Warnings)
	mapped, err := domain.MapClicks(view, example[domain.Clicks](t, "mapClicks").Clicks)
	require.NoError(t, err)
	text, err := json.Marshal(mapped)
	require.NoError(t, err)
	var got map[string]any
	require.NoError(t, json.Unmarshal(text, &got))
	said := exampleValue(t, "MappedClicks")
	near(t, said, got, "")
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
