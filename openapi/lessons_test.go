package openapi_test

import (
	"encoding/json"
	"errors"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// TestLessonSchemasAgree holds what a lesson is said to be to the types that are written.
func TestLessonSchemasAgree(t *testing.T) {
	raw := rawSchemas(t)
	for name, goType := range map[string]reflect.Type{
		"PositioningQuestion": reflect.TypeFor[domain.PositioningQuestion](),
		"PositioningLesson":   reflect.TypeFor[domain.PositioningLesson](),
		"PositioningDepth":    reflect.TypeFor[domain.PositioningDepth](),
		"PublishedReaction":   reflect.TypeFor[domain.PublishedReaction](),
	} {
		names, nulls := jsonNames(goType)
		if name == "PositioningQuestion" {
			assert.Equal(t, []string{"competition_id"}, nulls)
		} else {
			assert.Empty(t, nulls, name)
		}
		assert.Equal(t, names, propertyNames(raw[name]), name)
		assert.Equal(t, names, requiredOf(raw[name]), name)
		for _, field := range names {
			assert.Equal(t, field == "competition_id", mayBeNull(property(raw[name], field)), "%s.%s", name, field)
		}
	}
}

// TestParametersOfALessonAreItsQuestion: each member of the question is a query parameter, in the same order, and what the
// contract says of its default is what the domain takes.
func TestParametersOfALessonAreItsQuestion(t *testing.T) {
	names := propertyNames(rawSchemas(t)["PositioningQuestion"])
	assert.Equal(t, names, operation(t, "getPositioningLesson").Query)
	var defaults map[string]any
	text, err := json.Marshal(domain.DefaultPositioning())
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, &defaults))
	item := model(t).Paths.PathItems.GetOrZero("/v1/lessons/positioning")
	for _, p := range item.Get.Parameters {
		schema := p.Schema.Schema()
		if p.Name == "competition_id" {
			assert.Nil(t, defaults[p.Name])
			continue
		}
		if len(schema.Enum) > 0 {
			assert.Contains(t, p.Description, "Left out it is `"+defaults[p.Name].(string)+"`.", p.Name)
			continue
		}
		require.NotNil(t, schema.Default, p.Name)
		var said any
		require.NoError(t, json.Unmarshal(asJSON(t, schema.Default), &said))
		assert.Equal(t, defaults[p.Name], said, p.Name)
	}
}

// TestLimitsOfALessonAreTheDomains probes the parameters on both sides of the limits that the contract states. Where the ball
// may be depends on the ground besides, and where the arc may end on the goal: their limits are only the widest.
func TestLimitsOfALessonAreTheDomains(t *testing.T) {
	refusal := func(name string, value any) string {
		asked := anyOf(t, domain.DefaultPositioning()).(map[string]any)
		asked[name] = value
		text, err := json.Marshal(asked)
		require.NoError(t, err)
		var q domain.PositioningQuestion
		require.NoError(t, json.Unmarshal(text, &q))
		if _, err = domain.TeachPositioning(domain.Actor{Role: domain.Coach}, q); err == nil {
			return ""
		}
		refused, is := errors.AsType[*domain.Error](err)
		require.True(t, is, "%v", err)
		return refused.Fields[0].Pointer
	}
	probed := 0
	for _, p := range model(t).Paths.PathItems.GetOrZero("/v1/lessons/positioning").Get.Parameters {
		schema := p.Schema.Schema()
		switch {
		case p.Name == "competition_id": // it has no limits; see the tests of api
			continue
		case len(schema.Enum) > 0:
			assert.Equal(t, p.Name, refusal(p.Name, "no_such_code"))
		case p.Name == "out_along_bisector_m":
			assert.Empty(t, refusal(p.Name, make([]float64, *schema.MaxItems)))
			assert.Equal(t, p.Name, refusal(p.Name, make([]float64, *schema.MaxItems+1)))
			assert.EqualValues(t, 1, *schema.MinItems)
			assert.Equal(t, p.Name, refusal(p.Name, []float64{}))
			assert.Equal(t, p.Name+"/0", refusal(p.Name, []float64{-0.001}))
		default:
			least, beyond := schema.Minimum, -0.001
			if schema.ExclusiveMinimum != nil {
				least, beyond = &schema.ExclusiveMinimum.B, 0
				assert.Empty(t, refusal(p.Name, *least+0.001), p.Name)
			} else if !strings.HasPrefix(p.Name, "ball_") {
				assert.Empty(t, refusal(p.Name, *least), p.Name)
			}
			assert.Equal(t, p.Name, refusal(p.Name, *least+beyond))
			if !strings.HasPrefix(p.Name, "ball_") {
				assert.Empty(t, refusal(p.Name, *schema.Maximum), p.Name)
			}
			assert.Equal(t, p.Name, refusal(p.Name, *schema.Maximum+0.001))
		}
		probed++
	}
	assert.Equal(t, 14, probed)
}

// TestExampleOfALessonIsWorkedOut asks the domain what the example asks.
func TestExampleOfALessonIsWorkedOut(t *testing.T) {
	said := exampleValue(t, "PositioningLesson")
	question, err := json.Marshal(said["question"])
	require.NoError(t, err)
	var q domain.PositioningQuestion
	require.NoError(t, json.Unmarshal(question, &q))
	lesson, err := domain.TeachPositioning(domain.Actor{Role: domain.Recorder}, q)
	require.NoError(t, err)
	near(t, any(said), anyOf(t, lesson), "")
}
