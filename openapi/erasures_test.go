package openapi_test

import (
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"

	"cagework/domain"
)

// TestPartsOfAnErasureAgree holds what a receipt is said to hold to what the domain writes.
func TestPartsOfAnErasureAgree(t *testing.T) {
	raw := rawSchemas(t)
	for name, goType := range map[string]reflect.Type{
		"ErasedCount": reflect.TypeFor[domain.ErasedCount](), "ErasedRecord": reflect.TypeFor[domain.ErasedRecord](),
	} {
		names, nulls := jsonNames(goType)
		assert.Empty(t, nulls, name)
		assert.Equal(t, names, propertyNames(raw[name]), name)
		assert.Equal(t, names, requiredOf(raw[name]), name)
	}
	names, _ := jsonNames(reflect.TypeFor[domain.ErasureFields]())
	assert.ElementsMatch(t, append(names, "id", "rev"), propertyNames(raw["Erasure"]))
	assert.ElementsMatch(t, append(names, "id", "rev"), requiredOf(raw["Erasure"]))
}
