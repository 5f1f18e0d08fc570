package openapi_test

import (
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

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
