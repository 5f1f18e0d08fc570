package openapi_test

import (
	"encoding/json"
	"reflect"
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
		assert.Empty(t, nulls, name)
		assert.Equal(t, names, propertyNames(raw[name]), name)
		assert.Equal(t, names, requiredOf(raw[name]), name)
		for _, field := range names {
			assert.False(t, mayBeNull(property(raw[name], field)), "%s.%s", name, field)
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
