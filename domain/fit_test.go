package domain

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

func TestFitFields(t *testing.T) {
	good := FitFields{CodeOfPlay: "box", Level: "12u", FittedOn: Date{2026, 4, 12}}
	assert.Empty(t, good.Check())
	for pointer, spoil := range map[string]func(*FitFields){
		"/code_of_play": func(f *FitFields) { f.CodeOfPlay = "chess" },
		"/level":        func(f *FitFields) { f.Level = "" },
		"/fitted_on":    func(f *FitFields) { f.FittedOn = Date{} },
	} {
		bad := good
		spoil(&bad)
		faults := bad.Check()
		if assert.Len(t, faults, 1, pointer) {
			assert.Equal(t, pointer, faults[0].Pointer)
		}
	}
}

// It is another day on the two sides of the Pacific.
func TestTheDayOfAProgramIsItsZones(t *testing.T) {
	at := time.Date(2026, 4, 12, 11, 0, 0, 0, time.UTC)
	assert.Equal(t, Date{2026, 4, 13}, ProgramFields{TimeZone: "Pacific/Auckland"}.DayAt(at.Add(time.Hour)))
	assert.Equal(t, Date{2026, 4, 12}, ProgramFields{TimeZone: "America/New_York"}.DayAt(at))
	assert.Equal(t, Date{2026, 4, 11}, ProgramFields{TimeZone: "Pacific/Honolulu"}.DayAt(at.Add(-2*time.Hour)))
}
