package openapi_test

import (
	"encoding/json"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/domain/stats"
)

// TestPartsOfAFitAgree holds what a fit is said to hold to the types that are stored as its JSON.
func TestPartsOfAFitAgree(t *testing.T) {
	raw := rawSchemas(t)
	for name, goType := range map[string]reflect.Type{
		"FitScores":      reflect.TypeFor[judgement.DifficultyScores](),
		"CalibrationBin": reflect.TypeFor[stats.CalibrationBin](),
		"HabitEffect":    reflect.TypeFor[judgement.HabitEffect](),
		"ShotModel":      reflect.TypeFor[judgement.ShotModel](),
		"FitModel":       reflect.TypeFor[judgement.FitModel](),
	} {
		names, nulls := jsonNames(goType)
		assert.Empty(t, nulls, name)
		assert.Equal(t, names, propertyNames(raw[name]), name)
		assert.Equal(t, names, requiredOf(raw[name]), name)
	}
}

// TestExamplesOfFitsCanBeUsed reads the examples back as the service reads stored fits.
func TestExamplesOfFitsCanBeUsed(t *testing.T) {
	key := judgement.FitKey{CodeOfPlay: "mens_field", Level: "high_school"}
	for name, enough := range map[string]bool{"Fit": false, "FitOfEnough": true} {
		var stored struct {
			domain.FitFields
			domain.FitFound
		}
		raw := asJSON(t, model(t).Components.Examples.GetOrZero(name).Value)
		require.NoError(t, json.Unmarshal(raw, &stored), name)
		fits, err := judgement.ReadFits([]domain.Fit{{Fields: stored.FitFields, Found: stored.FitFound}})
		require.NoError(t, err, name)
		require.Contains(t, fits, key, name)
		assert.Equal(t, enough, fits[key].Difficulty.Enough, name)
		assert.Equal(t, enough, fits[key].Difficulty.Scores != nil, name)
		assert.Len(t, fits[key].Habits.Effects, 1, name)
	}
}
